"""Differences of several boats where Student's t and the normal distribution give them exactly."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats
from scipy.optimize import minimize_scalar

from slackwater.analysis.statistics import random_effects
from slackwater.analysis.statistics.pooled_differences import (
    PooledDifferences,
    _ByProfile,
    _Profile,
    mean_of_boats,
    next_boat,
)
from slackwater.analysis.statistics.random_effects import (
    Pooled,
    heterogeneity_at,
    heterogeneity_interval,
    pool,
    weighed,
)

NAN = np.nan
_CAUTION = 0.85  # as chosen by simulation, see the module
#: Five boats whose trials err by next to nothing: all they differ by is their own.
OWN = np.array([0.02, 0.05, 0.04, 0.07, 0.03])
SURE = np.full(5, 1e-14)
N, MEAN, SD = 5, OWN.mean(), OWN.std(ddof=1)


def sweep(*estimates: np.ndarray, variances: np.ndarray = SURE) -> Pooled:
    return pool(np.stack(estimates), np.stack([variances] * len(estimates)))


# --- the mean ------------------------------------------------------------------------------------


def test_the_mean_of_boats_is_a_t_test() -> None:
    found = mean_of_boats(sweep(OWN))
    theirs = stats.ttest_1samp(OWN, 0.0)
    assert float(found.difference[0]) == pytest.approx(MEAN)
    half = stats.t.isf(0.025, N - 1) * SD / np.sqrt(N)
    assert float(found.half_width[0]) == pytest.approx(half, rel=5e-3)
    assert float(found.p_values()[0]) == pytest.approx(theirs.pvalue, rel=1e-2)
    assert found.degrees.tolist() == [4.0]
    assert found.confidence == 0.95
    wider = mean_of_boats(sweep(OWN), confidence=0.99)
    assert float(wider.half_width[0]) == pytest.approx(half / stats.t.isf(0.025, 4) * stats.t.isf(0.005, 4), rel=5e-3)  # fmt: skip


def test_boats_that_agree_are_known_as_well_as_their_trials_are() -> None:
    """No scatter at all: the standard error is that of a common change, 0.02 / 2, with three freedoms."""
    one = pool(np.full((1, 4), 0.03), np.full((1, 4), 4e-4))
    found = mean_of_boats(one)
    assert float(found.half_width[0]) == pytest.approx(stats.t.isf(0.025, 3) * 0.01)
    assert float(found.p_values()[0]) == pytest.approx(2 * stats.t.sf(3.0, 3))
    assert not found.established[0]
    above = found.above(0.0)
    assert float(above.p_values[0]) == pytest.approx(stats.t.sf(3.0, 3))
    assert float(found.above(0.06).p_values[0]) == pytest.approx(
        stats.norm.cdf(3.0)
    )  # the larger of two


def test_positions_share_the_error_and_leave_in_steps() -> None:
    """At 0.03 and 0.01 a boat, errors alike: the first is beyond half the error, the second has it all."""
    estimates = np.array([[0.05] * 4, [0.033] * 4])
    found = mean_of_boats(pool(estimates, np.full((2, 4), 4e-4)))
    halved, whole = (stats.t.isf(tail, 3) * 0.01 for tail in (0.0125, 0.025))
    assert halved > 0.033 > whole
    assert found.established.tolist() == [True, True]
    assert_allclose(found.half_width, halved)
    assert_allclose(found.floor, [halved, whole])
    assert found.family.tolist() == 2
    alone = mean_of_boats(pool(estimates, np.full((2, 4), 4e-4)), simultaneous=False)
    assert_allclose(alone.half_width, whole)
    assert alone.family.tolist() == 1
    assert_allclose(alone.p_values(), 2 * stats.t.sf([5.0, 3.3], 3))


def test_two_boats_have_a_mean_and_three_a_next_one() -> None:
    estimates = np.array([[0.02, 0.03, 0.04], [0.02, 0.03, NAN], [0.02, NAN, NAN]])
    one = pool(estimates, np.full((3, 3), 1e-4))
    assert mean_of_boats(one).given.tolist() == [True, True, False]
    assert next_boat(one).given.tolist() == [True, False, False]
    assert np.isnan(next_boat(one).difference).tolist() == [False, True, True]
    assert mean_of_boats(one).family.tolist() == 2
    # Of a batch a position is given where it is in all.
    both = pool(np.stack([estimates, estimates[[0, 2, 1]]]), np.full((2, 3, 3), 1e-4))
    assert mean_of_boats(both).given.tolist() == [True, False, False]


# --- the next boat -------------------------------------------------------------------------------


def test_the_next_boat_is_predicted_as_students_t_has_it() -> None:
    """Known from five: s times the root of 1 + 1/5, at 85 % of the error that may be made."""
    found = next_boat(sweep(OWN))
    spread = SD * np.sqrt(1 + 1 / N)
    assert float(found.half_width[0]) == pytest.approx(
        stats.t.isf(0.025 * _CAUTION, N - 1) * spread, rel=1e-2
    )
    p = 2 * stats.t.sf(MEAN / spread, N - 1) / _CAUTION
    assert float(found.p_values()[0]) == pytest.approx(p, rel=1e-2)
    one_sided = stats.t.sf(MEAN / spread, N - 1) / _CAUTION
    assert float(found.above(0.0).p_values[0]) == pytest.approx(one_sided, rel=1e-2)


def test_she_is_never_known_better_than_the_mean() -> None:
    one = pool(np.full((1, 4), 0.03), np.full((1, 4), 4e-4))
    assert float(next_boat(one).half_width[0]) == pytest.approx(
        float(mean_of_boats(one).half_width[0])
    )
    assert float(next_boat(one).p_values()[0]) == pytest.approx(
        float(mean_of_boats(one).p_values()[0])
    )


@pytest.mark.parametrize(("sides", "tails"), [("both", 2), ("one", 1), ("margins", 1)])
def test_without_heterogeneity_the_profile_is_normal(sides: str, tails: int) -> None:
    one = pool(np.full((1, 4), 0.03), np.full((1, 4), 4e-4))
    reach = _ByProfile(_Profile.of(one, for_next=False), 0.95, sides)  # type: ignore[arg-type]
    assert_allclose(reach.widths(np.array(1)), 0.01 * stats.norm.isf(0.05 / tails))
    assert_allclose(reach.widths(np.array(3)), 0.01 * stats.norm.isf(0.05 / tails / 3))
    p = reach.p_values(np.array([0.015]), np.array(1))
    assert_allclose(p, tails * stats.norm.sf(1.5))
    wrong = reach.p_values(np.array([-0.015]), np.array(1))
    assert_allclose(wrong, tails * stats.norm.sf(1.5) if tails == 2 else stats.norm.cdf(1.5))
    assert reach.p_values(np.array([0.015]), np.array(40)).tolist() == [1.0]
    half = _ByProfile(_Profile.of(one, for_next=False), 0.95, sides, 0.5)  # type: ignore[arg-type]
    assert_allclose(half.widths(np.array(1)), 0.01 * stats.norm.isf(0.025 / tails))


def test_a_mean_that_moves_with_the_heterogeneity_is_told_from_that_of_the_pool() -> None:
    """One precise boat and two that differ: the weighted mean lies elsewhere at each heterogeneity."""
    estimates, variances = np.array([[0.0, 0.06, 0.09]]), np.array([[1e-6, 4e-4, 9e-4]])
    one = pool(estimates, variances)
    profile = _Profile.of(one, for_next=True)
    means = one.mean + profile.off
    assert np.ptp(means) > 0.005
    assert (means >= -1e-12).all()
    assert (means <= 0.05 + 1e-9).all()  # never beyond the plain mean
    assert_allclose(profile.weights.sum(axis=0), 1.0)
    # Chances on both sides of the pool's mean, normal by normal.
    chance = sum(
        w * (stats.norm.sf((0.1 - off) / sd) + stats.norm.cdf((-0.1 - off) / sd))
        for w, off, sd in zip(
            profile.weights[:, 0], profile.off[:, 0], profile.deviation[:, 0], strict=True
        )
    )
    assert float(profile.beyond(np.array([0.1]))[0]) == pytest.approx(chance)
    assert (profile.beyond(profile.at_most()) < 1e-15).all()
    for_mean = _Profile.of(one, for_next=False)
    spread = profile.deviation**2 - for_mean.deviation**2
    # Her own part is the heterogeneity at each node.
    again = np.array([weighed(one.estimates, one.allowed, each)[1] for each in spread])
    assert_allclose(for_mean.deviation**2, 1 / again, rtol=1e-9)


def test_positions_of_more_and_of_fewer_boats_are_each_by_themselves() -> None:
    estimates = np.array([OWN, [0.02, 0.05, 0.04, NAN, NAN], [NAN] * 5])
    variances = np.full((3, 5), 1e-5)
    together = next_boat(pool(estimates, variances), simultaneous=False)
    for p, count in ((0, 5), (1, 3)):
        alone: PooledDifferences = next_boat(pool(estimates[[p], :count], variances[[p], :count]))
        assert float(together.half_width[p]) == pytest.approx(float(alone.half_width[0]), rel=1e-9)
        assert float(together.p_values()[p]) == pytest.approx(float(alone.p_values()[0]), rel=1e-9)


# --- random effects ------------------------------------------------------------------------------


def test_what_tells_nothing_is_left_out() -> None:
    estimates = np.array([0.02, 0.05, NAN, 0.04, 0.9, 0.8])
    variances = np.array([1e-4, 2e-4, 1e-4, 3e-4, 0.0, NAN])
    found, alone = pool(estimates, variances), pool(estimates[[0, 1, 3]], variances[[0, 1, 3]])
    assert int(found.count) == 3
    for name in (
        "mean",
        "standard_error",
        "heterogeneity",
        "q",
        "q_p_value",
        "df",
        "inconsistency",
    ):
        assert float(getattr(found, name)) == pytest.approx(float(getattr(alone, name)))
    assert found.weights[[2, 4, 5]].tolist() == [0.0, 0.0, 0.0]
    assert float(found.weights.sum()) == pytest.approx(1.0)
    assert np.isnan(found.allowed[[2, 4, 5]]).all()


def test_one_boat_has_a_mean_and_no_error() -> None:
    found = pool(np.array([0.02]), np.array([1e-4]))
    assert float(found.mean) == 0.02
    assert (float(found.df), float(found.heterogeneity), float(found.q)) == (0.0, 0.0, 0.0)
    assert np.isnan(found.standard_error)
    assert np.isnan(found.q_p_value)
    assert float(found.inconsistency) == 0.0
    assert pool(np.array([NAN]), np.array([NAN])).weights.tolist() == [0.0]


def test_inconsistency_is_the_part_beyond_the_errors() -> None:
    """Two boats 4 errors apart: Q is 8 on one degree of freedom, so seven eighths."""
    found = pool(np.array([0.0, 0.04]), np.full(2, 1e-4))
    assert float(found.q) == pytest.approx(8.0)
    assert float(found.q_p_value) == pytest.approx(stats.chi2.sf(8.0, 1))
    assert float(found.inconsistency) == pytest.approx(7 / 8)
    assert float(pool(np.array([0.0, 0.01]), np.full(2, 1e-4)).inconsistency) == 0.0
    # Their own variance is half the squared difference, less that of their errors.
    assert float(found.heterogeneity) == pytest.approx(8e-4 - 1e-4)


def test_few_degrees_of_freedom_stretch_an_error_as_far_as_t_reaches() -> None:
    found = pool(np.array([0.0, 0.001, 0.002]), np.full(3, 1e-4), np.array([2.0, 5.0, np.inf]))
    stretch = (stats.t.ppf(0.975, [2, 5, 1e12]) / stats.norm.ppf(0.975)) ** 2
    assert_allclose(found.allowed, 1e-4 * stretch, rtol=1e-6)
    assert float(found.standard_error) == pytest.approx(np.sqrt(1 / (1 / found.allowed).sum()))
    assert float(found.mean) == pytest.approx(
        np.average([0, 0.001, 0.002], weights=1 / stretch), rel=1e-6
    )


def restricted(square: float, y: np.ndarray, v: np.ndarray) -> float:
    """Less twice the restricted log-likelihood (Viechtbauer 2005), but for a constant."""
    w = 1 / (v + square)
    mean = (w * y).sum() / w.sum()
    return float(np.log(v + square).sum() + np.log(w.sum()) + (w * (y - mean) ** 2).sum())


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_restricted_likelihood_is_at_its_top(seed: int) -> None:
    rng = np.random.default_rng(seed)
    v = rng.uniform(0.5, 4, 7)
    y = rng.normal(0, np.sqrt(v + 3))
    top = minimize_scalar(
        restricted, bounds=(0, 60), args=(y, v), method="bounded", options={"xatol": 1e-10}
    )
    found = pool(y, v, method="reml")
    expected = top.x if top.fun < restricted(0.0, y, v) else 0.0
    assert float(found.heterogeneity) == pytest.approx(expected, rel=1e-5, abs=1e-6)
    assert float(pool(np.full(4, 1.0), np.full(4, 0.1), method="reml").heterogeneity) == 0.0


def test_the_steps_to_a_heterogeneity_are_few(monkeypatch: pytest.MonkeyPatch) -> None:
    """One where errors are alike, since the reciprocal of the sum is a straight line there; else a handful."""
    rng = np.random.default_rng(6)
    y, v, square = rng.normal(0, 2, (20, 6)), rng.uniform(0.1, 3, (20, 6)), np.full(20, 3.0)
    patient = heterogeneity_at(y, v, square)
    monkeypatch.setattr(random_effects, "_STEPS", 2)
    line = np.array([[0.0, 2.0, 4.0]])
    assert_allclose(heterogeneity_at(line, np.full((1, 3), 0.5), np.array([2.0])), 3.5, rtol=1e-12)
    monkeypatch.setattr(random_effects, "_STEPS", 8)
    assert_allclose(heterogeneity_at(y, v, square), patient, rtol=1e-9, atol=1e-9)


def test_a_heterogeneity_at_a_sum_of_squares() -> None:
    """Of errors that are alike: the squares of the estimates over the sum, less that of an error."""
    y, square = np.array([[0.0, 2.0, 4.0]]), np.array([2.0])
    assert_allclose(heterogeneity_at(y, np.full((1, 3), 0.5), square), 8 / 2 - 0.5)
    assert heterogeneity_at(y, np.full((1, 3), 5.0), square).tolist() == [0.0]
    assert_allclose(heterogeneity_at(100 * y, np.full((1, 3), 0.5), square), 80_000 / 2 - 0.5)
    assert_allclose(heterogeneity_at(y / 100, np.full((1, 3), 5e-5), square), 8e-4 / 2 - 5e-5)
    low, high = heterogeneity_interval(y, np.full((1, 3), 0.5), 0.9)
    assert_allclose(low, 8 / stats.chi2.ppf(0.95, 2) - 0.5)
    assert_allclose(high, 8 / stats.chi2.ppf(0.05, 2) - 0.5)
    alone = heterogeneity_interval(np.array([1.0, NAN]), np.array([0.1, 0.1]))
    assert [float(each) for each in alone] == [0.0, 0.0]
