"""What the noise of a trial is made of."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.reduction.run_noise import pool_run_noise
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.noise import PriorNoise, estimate_noise

PRIOR = PriorNoise(between_sessions=36e-6, session_by_set_point=9e-6, within_session=4e-6, df=11.0)


def layout(order: str, present: np.ndarray):
    return contrasts(list(order), "A", "B", present)


def complete(order: str, points: int):
    return layout(order, np.ones((len(order), points), bool))


def worlds(order, points, shared, specific, trials=4000, seed=1):
    rng = np.random.default_rng(seed)
    size = (trials, len(order), points)
    return rng.normal(0, shared, (*size[:2], 1)) + rng.normal(0, 1, size) * specific


def test_without_repeats_and_without_prior_nothing_is_known() -> None:
    assert estimate_noise(np.zeros((2, 3)), np.zeros(3), complete("AB", 3)) is None


def test_without_repeats_the_prior_is_all_that_is_known() -> None:
    noise = estimate_noise(np.zeros((2, 3)), np.array([1e-6, 0.0, 0.0]), complete("AB", 3), PRIOR)
    assert noise is not None
    assert noise.shared == pytest.approx(36e-6)
    # Runs of this trial count where they are known, those of earlier trials where not.
    assert_allclose(noise.specific, [10e-6, 13e-6, 13e-6])
    assert noise.shared_df == noise.specific_df == 11
    single = estimate_noise(np.zeros((2, 1)), np.zeros(1), complete("AB", 1), PRIOR)
    assert single is not None
    assert_allclose(single.total, [49e-6])
    assert single.specific_df == 0


def test_components_are_right_on_average() -> None:
    """Mean squares are unbiased: 4000 trials of ABBAAB, shared 0.6 %, set points 0.3 %."""
    values = worlds("ABBAAB", 8, 0.006, 0.003)
    noise = estimate_noise(values, np.zeros(8), complete("ABBAAB", 8))
    assert noise is not None
    # 4 degrees of freedom a trial: standard error of the mean 0.7/sqrt(4000) = 1.1 %; three.
    unit = (noise.ratio - 1) / (8 / noise.specific.mean(axis=-1))
    assert unit.mean() == pytest.approx(36e-6, rel=0.04)
    assert noise.specific.mean() == pytest.approx(9e-6, rel=0.04)
    assert (noise.shared >= 0).all()
    assert (noise.shared_df, noise.specific_df) == (4.0, 10.0)


def test_a_noisy_set_point_is_seen_as_such() -> None:
    own = np.array([0.003, 0.003, 0.003, 0.009])
    values = worlds("ABBAABBA", 4, 0.005, own)
    noise = estimate_noise(values, np.zeros(4), complete("ABBAABBA", 4))
    assert noise is not None
    spread = np.sqrt(np.median(noise.specific, axis=0))
    assert spread[3] > 1.3 * spread[:3].max()  # drawn together by POOLING_DF, and still apart


def test_known_run_noise_is_a_part_and_a_floor() -> None:
    values = worlds("ABBA", 3, 0.0, 0.001, trials=1)[0]
    noise = estimate_noise(values, np.full(3, 1e-4), complete("ABBA", 3))
    assert noise is not None
    assert (noise.runs <= noise.specific).all()
    assert (noise.specific > 0.5e-4).all()  # the runs alone give this much


def test_one_set_point_is_one_mean_square() -> None:
    values = np.array([[1.0], [5.0], [7.0], [3.0]])
    noise = estimate_noise(values, np.array([0.5]), complete("ABBA", 1))
    assert noise is not None
    assert_allclose(noise.total, [2.0])
    assert_allclose(noise.runs, [0.5])
    assert noise.shared_df == 2
    assert_allclose(noise.effective_df(), [2.0])


def test_one_set_point_with_prior_joins_the_degrees_of_freedom() -> None:
    values = np.array([[1.0], [5.0], [7.0], [3.0]])
    prior = PriorNoise(3.0, 1.0, 0.0, df=6.0)
    noise = estimate_noise(values, np.zeros(1), complete("ABBA", 1), prior)
    assert noise is not None
    assert_allclose(noise.total, [(2 * 2.0 + 6 * 4.0) / 8])
    assert noise.shared_df == 8


def test_what_a_prior_lets_expect_at_one_set_point_is_the_sum_of_its_parts() -> None:
    """A square of 2 is 2.5 times 0.4 + 0.4, which chance gives in 16 % (F, 2 and 6): it fits."""
    values = np.array([[1.0], [5.0], [7.0], [3.0]])
    prior = PriorNoise(0.4, 0.4, 0.0, df=6.0)
    noise = estimate_noise(values, np.zeros(1), complete("ABBA", 1), prior)
    assert noise is not None
    assert noise.prior_fits
    assert_allclose(noise.total, [(2 * 2.0 + 6 * 0.8) / 8])


def test_prior_draws_the_estimate_to_itself() -> None:
    values = worlds("ABBAABBA", 4, 0.008, 0.0025, trials=1)[0]
    alone = estimate_noise(values, np.zeros(4), complete("ABBAABBA", 4))
    joined = estimate_noise(values, np.zeros(4), complete("ABBAABBA", 4), PRIOR)
    assert alone is not None
    assert joined is not None
    low, high = sorted((36e-6, float(alone.shared)))
    assert low < joined.shared < high
    assert joined.shared_df == alone.shared_df + 11
    assert joined.specific_df == alone.specific_df + 11


def test_set_points_without_a_repeat_do_not_lower_what_is_known_of_the_others() -> None:
    order = "ABBAABBA"
    present = np.ones((len(order), 8), bool)
    present[2:, 3:] = False  # five set points have one session of each, and nothing left over
    values = worlds(order, 8, 0.006, 0.003, trials=1)[0]
    noise = estimate_noise(np.where(present, values, np.nan), np.zeros(8), layout(order, present))
    assert noise is not None
    # Three set points of 8 - 2 each, less the 6 between sessions.
    assert noise.specific_df == 12


def test_missing_values_change_little_when_they_are_few() -> None:
    values = worlds("ABBAAB", 8, 0.006, 0.003, trials=1)[0]
    present = np.ones(values.shape, bool)
    present[2, 5] = False
    gaps = np.where(present, values, np.nan)
    whole = estimate_noise(values, np.zeros(8), complete("ABBAAB", 8))
    found = estimate_noise(gaps, np.zeros(8), layout("ABBAAB", present))
    assert whole is not None
    assert found is not None
    assert found.shared_df == 4
    assert float(found.shared) == pytest.approx(float(whole.shared), rel=0.2)
    assert np.isfinite(found.total).all()


def test_a_set_point_with_one_value_each_borrows_its_noise() -> None:
    values = worlds("ABBA", 4, 0.006, 0.003, trials=1)[0]
    present = np.ones(values.shape, bool)
    present[2:, 3] = False
    noise = estimate_noise(np.where(present, values, np.nan), np.zeros(4), layout("ABBA", present))
    assert noise is not None
    assert np.isfinite(noise.total).all()
    assert noise.specific[3] > 0


def test_a_batch_is_each_trial_by_itself() -> None:
    values = worlds("ABBAAB", 3, 0.006, 0.003, trials=6)
    batch = estimate_noise(values, np.full(3, 1e-6), complete("ABBAAB", 3))
    assert batch is not None
    for i, each in enumerate(values):
        alone = estimate_noise(each, np.full(3, 1e-6), complete("ABBAAB", 3))
        assert alone is not None
        assert_allclose(batch.shared[i], alone.shared, rtol=1e-10)
        assert_allclose(batch.specific[i], alone.specific, rtol=1e-10)


def test_scale_carries_through() -> None:
    values = worlds("ABBAAB", 5, 0.006, 0.003, trials=1)[0]
    one = estimate_noise(values, np.full(5, 1e-6), complete("ABBAAB", 5))
    ten = estimate_noise(10 * values, np.full(5, 1e-4), complete("ABBAAB", 5))
    assert one is not None
    assert ten is not None
    assert_allclose(ten.total, 100 * one.total, rtol=1e-4)  # the search stops at 1e-6 of its range
    assert ten.ratio == pytest.approx(float(one.ratio), rel=1e-4)


def test_effective_df_lies_between_the_two() -> None:
    noise = estimate_noise(
        worlds("ABBAAB", 8, 0.006, 0.003)[:50], np.zeros(8), complete("ABBAAB", 8)
    )
    assert noise is not None
    df = noise.effective_df()
    assert (df > 0).all()
    assert (df <= noise.shared_df + noise.specific_df + 1e-9).all()


# --- run noise -----------------------------------------------------------------------------------


def test_pooling_never_makes_a_set_point_quieter() -> None:
    variance = np.array([1.0, 1.2, 0.1, 9.0])
    pooled = pool_run_noise(variance, np.full(4, 4.0))
    assert (pooled >= variance).all()
    assert pooled[2] > 0.2  # lifted to twice its own: that quiet it is by luck in part
    assert pooled[3] == 9.0


def test_pooling_leaves_what_it_cannot_better() -> None:
    assert pool_run_noise(np.array([2.0]), np.array([3.0])).tolist() == [2.0]
    assert pool_run_noise(np.array([np.nan, 0.0]), np.zeros(2)).tolist() == [0.0, 0.0]
    found = pool_run_noise(np.array([1.0, np.nan, 1.0]), np.array([4.0, 0.0, 4.0]))
    assert np.isfinite(found).all()


def test_a_prior_that_knows_no_set_point_adds_nothing_to_what_is_known_of_them() -> None:
    """Its degrees of freedom are those of what sessions share, and of that alone."""
    values = worlds("ABBAAB", 8, 0.006, 0.003, trials=1)[0]
    prior = PriorNoise(
        between_sessions=36e-6, session_by_set_point=None, within_session=4e-6, df=11
    )
    alone = estimate_noise(values, np.zeros(8), complete("ABBAAB", 8))
    joined = estimate_noise(values, np.zeros(8), complete("ABBAAB", 8), prior)
    assert alone is not None
    assert joined is not None
    assert joined.specific_df == alone.specific_df == 10.0
    assert_allclose(joined.specific, alone.specific)
    assert joined.shared_df == 4.0 + 11.0


def test_the_inverse_of_the_trigamma_function_is_one_over_all_that_variances_may_show() -> None:
    """Against scipy's polygamma, from hardly any excess to far more than there is."""
    from scipy.special import polygamma

    from slackwater.analysis.reduction.run_noise import _trigamma_inverse

    excess = np.geomspace(1e-4, 1e2, 25)
    assert_allclose(polygamma(1, _trigamma_inverse(excess)), excess, rtol=1e-6)
