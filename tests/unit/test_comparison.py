"""Session values to differences: estimate, interval, noise floor."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics.comparison import Differences, compare
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.noise import PriorNoise


def layout(order: str, points: int, present: Any = None):
    there = np.ones((len(order), points), bool) if present is None else present
    return contrasts(list(order), "A", "B", there)


def world(order: str = "ABBAAB", points: int = 5, seed: int = 1, gain: Any = 0.0) -> np.ndarray:
    rng = np.random.default_rng(seed)
    fitted = np.array([letter == "B" for letter in order])[:, None]
    noise = rng.normal(0, 0.006, (len(order), 1)) + rng.normal(0, 0.003, (len(order), points))
    return np.log(np.linspace(8, 24, points)) + noise + fitted * np.asarray(gain)


def found(values: np.ndarray, order: str = "ABBAAB", **options: Any) -> Differences:
    present = np.isfinite(values)
    got = compare(values, np.zeros(values.shape[-1]), layout(order, 0, present), **options)
    assert got is not None
    return got


def test_the_difference_is_that_of_the_means() -> None:
    values = world(gain=0.02)
    mean = {c: values[[i for i, o in enumerate("ABBAAB") if o == c]].mean(axis=0) for c in "AB"}
    assert_allclose(found(values).difference, mean["B"] - mean["A"], atol=1e-12)


def test_interval_floor_and_establishment_belong_together() -> None:
    got = found(world(gain=0.03))
    assert_allclose(got.high - got.difference, got.half_width)
    assert_allclose(got.difference - got.low, got.floor)  # the side of zero
    unchanged = found(world())
    assert not unchanged.established.any()
    assert_allclose(unchanged.high - unchanged.difference, unchanged.half_width)
    assert_allclose(unchanged.difference - unchanged.low, unchanged.half_width)
    assert (got.established == (np.abs(got.difference) > got.floor)).all()
    assert got.established.all()
    assert got.family == 5


@pytest.mark.parametrize("agreeing", [True, False])
def test_with_one_set_point_no_bound_is_narrower_than_the_runs_alone_allow(agreeing: bool) -> None:
    """Sessions that agree by luck are held to their runs: 1.96 is that of normal theory, 2.776 of t(4)."""
    runs = 4e-4
    scatter = np.array([0.0, 0.0, 1e-3, 1e-3, -1e-3, -1e-3]) * (1 if agreeing else 100)
    values = scatter[:, None]
    got = compare(values, np.array([runs]), layout("ABBAAB", 1))
    assert got is not None
    a, b = scatter[[0, 3, 4]], scatter[[1, 2, 5]]
    between = (a.var(ddof=1) + b.var(ddof=1)) / 2
    of_runs, of_sessions = (1.959964 * np.sqrt(runs * 2 / 3), 2.776445 * np.sqrt(between * 2 / 3))
    assert bool(of_runs > of_sessions) is agreeing
    assert_allclose(got.half_width[0], max(of_runs, of_sessions), rtol=1e-6)


def test_a_set_point_that_scatters_far_more_widens_its_own_interval() -> None:
    """By more than the scatter that is told of it, which the model of the sweep has drawn to the others."""
    values = world("ABBAABBA", 8)
    plain = found(values, "ABBAABBA")
    values[:, 4] += 0.05 * np.array([1, 1, -1, -1, 1, -1, 1, -1])
    humped = found(values, "ABBAABBA")
    assert_allclose(plain.half_width / plain.half_width.min(), 1.0, atol=0.6)
    told = np.sqrt(humped.noise.total[4] / humped.noise.total[0])
    assert humped.half_width[4] > 1.5 * told * humped.half_width[0]


def test_a_batch_is_each_trial_by_itself() -> None:
    trials = np.stack([world(seed=s, gain=0.012 * (s % 3)) for s in range(12)])
    batch = compare(trials, np.full(5, 1e-6), layout("ABBAAB", 5))
    assert batch is not None
    for i, values in enumerate(trials):
        alone = compare(values, np.full(5, 1e-6), layout("ABBAAB", 5))
        assert alone is not None
        for name in ("difference", "standard_error", "half_width", "floor"):
            assert_allclose(getattr(batch, name)[i], getattr(alone, name), rtol=1e-9)
        assert batch.df == alone.df == 4
        inside = [each.inside(-0.02, 0.02).p_values for each in (batch, alone)]
        assert_allclose(inside[0][i], inside[1], rtol=1e-9)
        assert (batch.established[i] == alone.established).all()
        assert_allclose(batch.p_values()[i], alone.p_values(), rtol=1e-9)


def test_stepping_down_lowers_the_floor_of_what_is_left() -> None:
    got = found(world(gain=[0.05, 0.05, 0.05, 0.0, 0.0]))
    assert got.established.tolist()[:3] == [True, True, True]
    assert (got.floor <= got.half_width).all()
    assert (got.floor[3:] < got.half_width[3:]).all()
    plain = found(world(gain=0.0))
    assert not plain.established.any()
    assert_allclose(plain.floor, plain.half_width)  # nothing left the family


def test_stepping_down_never_takes_back() -> None:
    """What the single step establishes, the steps down establish too."""
    for seed in range(40):
        got = found(world(seed=seed, gain=[0.03, 0.015, 0.01, 0.005, 0.0]))
        single_step = np.abs(got.difference) > got.half_width
        assert (got.established | ~single_step).all()


def test_each_by_itself_is_narrower_than_all_together() -> None:
    values = world(gain=0.01)
    alone, together = found(values, simultaneous=False), found(values)
    assert (alone.half_width < together.half_width).all()
    assert alone.family == 1
    assert_allclose(alone.floor, alone.half_width)
    assert_allclose(alone.difference, together.difference)


def test_more_confidence_is_wider() -> None:
    values = world()
    widths = [found(values, confidence=c).half_width for c in (0.8, 0.95, 0.99)]
    assert (widths[0] < widths[1]).all()
    assert (widths[1] < widths[2]).all()


def test_known_errors_widen_and_are_not_estimated() -> None:
    values = world(gain=0.02)
    plain, known = found(values), found(values, known=np.full(5, 1e-4))
    common = found(values, common=np.full(5, 1e-4))
    assert (known.half_width > common.half_width).all()  # the largest of five, or one for all
    assert (common.half_width > plain.half_width).all()
    assert_allclose(known.standard_error, plain.standard_error)
    assert (known.p_values() > common.p_values()).all()
    assert (common.p_values() > plain.p_values()).all()


@pytest.mark.parametrize("kind", ["known", "common"])
def test_a_known_error_that_outweighs_the_sessions_is_normal(kind: str) -> None:
    """The largest of five independent normal deviates, or a single one: 2.57 or 1.96."""
    got = found(world("ABBAABBA" * 3), "ABBAABBA" * 3, **{kind: np.full(5, 0.1**2)})
    five = stats.norm.ppf(0.5 + 0.95**0.2 / 2)
    expected = 0.1 * (five if kind == "known" else stats.norm.ppf(0.975))
    # The sessions add 0.2 % of the error in quadrature; the tables end where 0.1 % is not shared.
    assert_allclose(got.half_width, expected, rtol=0.02)


PRIOR = PriorNoise(between_sessions=36e-6, session_by_set_point=9e-6, within_session=4e-6, df=11)


def test_prior_noise_makes_one_session_each_testable() -> None:
    values = world("AB", gain=0.05)
    assert compare(values, np.zeros(5), layout("AB", 5)) is None
    got = found(values, "AB", prior=PRIOR)
    assert got.established.all()
    # One session each: variance of a difference is twice that of a session value.
    assert_allclose(got.standard_error, np.sqrt(2 * (36e-6 + 9e-6 + 4e-6)), rtol=1e-9)


def test_prior_noise_steadies_few_sessions() -> None:
    widths = [
        np.array([found(world("ABBA", seed=s), "ABBA", prior=p).half_width for s in range(30)])
        for p in (None, PRIOR)
    ]
    assert np.median(widths[1]) < 0.7 * np.median(widths[0])
    assert np.median(np.abs(np.diff(widths[1], axis=0))) < 0.5 * np.median(
        np.abs(np.diff(widths[0], axis=0))
    )


def test_a_prior_that_the_sessions_contradict_is_left_out() -> None:
    """Session by session of a batch: what contradicts in one trial fits in another."""
    quiet, loud = world("ABBA", seed=4), world("ABBA", seed=4)
    loud[1] += 0.05
    loud[3] += 0.06
    batch = compare(np.stack([quiet, loud]), np.zeros(5), layout("ABBA", 5), prior=PRIOR)
    alone = found(loud, "ABBA")
    assert batch is not None
    assert batch.noise.prior_fits is not None
    assert batch.noise.prior_fits.tolist() == [True, False]
    assert_allclose(batch.half_width[1], alone.half_width, rtol=1e-9)


def test_a_missing_set_point_is_not_given_and_leaves_the_family() -> None:
    values = world(gain=0.02)
    values[[1, 2, 5], 3] = np.nan  # the modified configuration was never run there
    got = found(values)
    assert np.isnan(got.difference).tolist() == [False, False, False, True, False]
    assert np.isnan(got.half_width[3])
    assert not got.established[3]
    assert got.family == 4
    assert np.isfinite(np.delete(got.p_values(), 3)).all()


def test_one_missing_session_value() -> None:
    values = world(gain=0.03)
    values[0, 2] = np.nan
    got = found(values)
    assert np.isfinite(got.half_width).all()
    assert got.standard_error[2] > np.delete(got.standard_error, 2).min()


def test_one_set_point_is_students_t_test() -> None:
    values = world(points=1, gain=0.01)
    got = found(values)
    known = stats.ttest_ind(values[[1, 2, 5], 0], values[[0, 3, 4], 0])
    assert got.p_values()[0] == pytest.approx(known.pvalue, rel=1e-9)
    assert_allclose([got.low[0], got.high[0]], known.confidence_interval(), rtol=1e-9)
    assert got.df == 4


def test_swapping_the_configurations_changes_signs_only() -> None:
    values = world(gain=0.01)
    forth = found(values)
    turned = contrasts(list("ABBAAB"), "B", "A", np.ones(values.shape, bool))
    back = compare(values, np.zeros(5), turned)
    assert back is not None
    assert_allclose(back.difference, -forth.difference, atol=1e-15)
    assert_allclose(back.half_width, forth.half_width, rtol=1e-12)


def test_a_level_of_the_whole_sweep_cancels() -> None:
    """Other units shift every logarithm alike; nothing else may change."""
    values = world(gain=0.01)
    one, other = found(values), found(values + np.log(1.852 / 3.6))
    assert_allclose(other.difference, one.difference, atol=1e-12)
    assert_allclose(other.floor, one.floor, rtol=1e-9)


def test_equivalence_wants_both_sides() -> None:
    got = found(world("ABBAABBA" * 2, gain=0.0), "ABBAABBA" * 2)
    wide, narrow = got.inside(-0.05, 0.05), got.inside(-0.001, 0.001)
    assert wide.established.all()
    assert (wide.p_values < 0.05).all()
    assert not narrow.established.any()
    assert (narrow.p_values > 0.05).all()
    assert (got.inside(-0.05, -0.04).p_values > 0.5).all()


def test_no_loss_is_one_side_of_equivalence() -> None:
    """One-sided: as much is asked of the side of the loss, nothing of the other."""
    order = "ABBAABBA" * 2
    got = found(world(order, gain=0.03), order)
    assert got.above(-0.01).established.all()
    assert not got.inside(-0.01, 0.01).established.any()
    back = found(-world(order, gain=0.03), order)
    assert_allclose(back.above(0.01, -1).p_values, got.above(-0.01).p_values)


def test_single_sweeps_have_single_one_sided_tests() -> None:
    values = world(points=1, gain=0.01)
    got = found(values)
    a, b = values[[0, 3, 4], 0], values[[1, 2, 5], 0]
    lower = stats.ttest_ind(b, a - 0.02, alternative="greater").pvalue
    upper = stats.ttest_ind(b, a + 0.02, alternative="less").pvalue
    assert got.inside(-0.02, 0.02).p_values[0] == pytest.approx(max(lower, upper), rel=1e-9)
    assert got.above(-0.02).p_values[0] == pytest.approx(lower, rel=1e-9)
