"""Tries, components of variance, power and looks on numbers that are plain.

What these are as a whole is held against published tables and other libraries in tests/reference; here stand
the ends of their ranges, their defaults and what they say where there is nothing to tell.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics.crossed import between_groups, connected
from slackwater.analysis.statistics.sequential import (
    boundary_constant,
    boundary_limits,
    crossing_probability,
    look_confidences,
)
from slackwater.analysis.statistics.t_power import t_power, t_power_unequal, t_sample_size
from slackwater.analysis.statistics.tries import levels_of, standings, trend_of
from slackwater.analysis.statistics.variance import (
    component_interval,
    difference_interval,
    mean_square_interval,
)

NAN = np.nan


# --- tries -----------------------------------------------------------------------------------------


def test_levels_of_tries_with_all_that_stands_behind_them() -> None:
    values = np.array([1.0, 3.0, 10.0, 4.0, 8.0, 20.0])
    session, way = np.array([0, 0, 0, 1, 1, 2]), np.array([0, 0, 1, 0, 0, 1])
    found = levels_of(values, session, way, 3, 2)
    assert found.counts.tolist() == [[2, 1], [2, 0], [0, 1]]
    assert_allclose(found.means, [[2.0, 10.0], [6.0, NAN], [NAN, 20.0]])
    assert_allclose(found.values, [6.0, NAN, NAN])
    # Squares 2 and 8 on two freedoms: six tries less the four cells that hold any.
    assert (found.scatter, found.df) == (5.0, 2.0)
    assert_allclose(found.variance, [5 * (1 / 2 + 1) / 4, NAN, NAN])
    single = levels_of(np.array([1.0, 5.0]), np.array([0, 0]), np.array([0, 1]), 1, 2)
    assert (single.scatter, single.df, single.values.tolist(), single.variance.tolist()) == (
        0.0,
        0.0,
        [3.0],
        [0.0],
    )
    three = levels_of(np.array([1.0, 2, 6]), np.zeros(3, int), np.arange(3), 1, 3)
    assert three.values.tolist() == [3.0]


def test_a_trend_takes_tries_enough() -> None:
    cell, order = np.array([0, 0, 0]), np.arange(3.0)
    slope, error, df = trend_of(np.array([0.0, 2.0, 1.0]), cell, order)
    known = stats.linregress(order, [0.0, 2.0, 1.0])
    assert (slope, error, df) == pytest.approx((known.slope, known.stderr, 1.0))
    more = trend_of(np.array([0.0, 2.0, 1.0, 5.0]), np.zeros(4, int), np.arange(4.0))
    theirs = stats.linregress(np.arange(4.0), [0.0, 2.0, 1.0, 5.0])
    assert more == pytest.approx((theirs.slope, theirs.stderr, 2.0))
    few = trend_of(np.array([0.0, 2.0]), cell[:2], order[:2])
    assert np.isnan(few[:2]).all()
    assert few[2] == 0.0
    alike = trend_of(np.array([0.0, 2.0, 1.0, 5.0]), np.zeros(4, int), np.ones(4))
    assert np.isnan(alike[:2]).all()
    assert alike[2] == 0.0


def test_a_try_stands_so_many_deviations_from_the_middle_of_its_like() -> None:
    """Off by -1, 0, 2 and -4, 0, 1: the middle of 0, 0, 1, 1, 2, 4 is 1, which is 1.4826 over the deviation."""
    found = standings(np.array([9.0, 10, 12, 96, 100, 101]), np.array([0, 0, 0, 1, 1, 1]))
    assert_allclose(found, np.array([-1, 0, 2, -4, 0, 1]) / 1.4826)
    small = standings(np.array([9.0, 10, 12, 96, 100, 101]) / 100, np.array([0, 0, 0, 1, 1, 1]))
    assert_allclose(small, found)
    assert standings(np.array([1.0, 1, 1, 9]), np.zeros(4, int)).tolist() == [0.0] * 4


# --- components ------------------------------------------------------------------------------------


def test_intervals_of_mean_squares_where_there_is_no_freedom() -> None:
    assert mean_square_interval(2.0, 0) is None
    low, high = mean_square_interval(2.0, 5, 0.9) or (0, 0)
    assert (low, high) == pytest.approx(
        (10 / stats.chi2.ppf(0.95, 5), 10 / stats.chi2.ppf(0.05, 5))
    )
    assert difference_interval(2.0, 0, 1.0, 5) is None
    for second, df in ((0.0, 5), (1.0, 0)):
        assert difference_interval(2.0, 5, second, df) == mean_square_interval(2.0, 5)
    ends = difference_interval(2.0, 5, 1.0, 8)
    assert ends is not None
    assert 0 <= ends[0] < 1.0 < ends[1]
    # Where chance made the first smaller, the upper end is as if both were alike.
    small, level = component_interval(0.5, 5, 1.0, 8), difference_interval(1.0, 5, 1.0, 8)
    assert small is not None
    assert level is not None
    assert small == (0.0, level[1])
    assert component_interval(2.0, 0, 1.0, 5) is None


@pytest.mark.parametrize(("df", "other", "confidence"), [(5, 8, 0.95), (3, 30, 0.9), (40, 2, 0.8)])
def test_the_difference_of_two_variances_where_its_interval_is_exact(
    df: float, other: float, confidence: float
) -> None:
    """Ting and others (1990): its ends pass nought just where Fisher's F does, and where one variance is as
    good as known they are those of the other."""
    tail = (1 - confidence) / 2
    for quantile, end in ((stats.f.isf(tail, df, other), 0), (stats.f.ppf(tail, df, other), 1)):
        at, beyond = (
            difference_interval(2 * quantile * more, df, 2.0, other, confidence)
            for more in (1, 1.001)
        )
        assert at is not None
        assert beyond is not None
        assert at[end] == pytest.approx(0.0, abs=1e-9)
        assert 0 < beyond[end] < 0.1 * quantile
    assert difference_interval(1e-9, df, 2.0, other, confidence) == (0.0, 0.0)
    first, second = (
        mean_square_interval(9.0, df, confidence),
        mean_square_interval(1.0, other, confidence),
    )
    assert first is not None
    assert second is not None
    known = difference_interval(9.0, df, 1.0, 1e9, confidence)
    assert known == pytest.approx((first[0] - 1, first[1] - 1), rel=1e-3)
    sure = difference_interval(90.0, 1e9, 1.0, other, confidence)
    assert sure == pytest.approx((90 - second[1], 90 - second[0]), rel=1e-3)
    one, ten = (difference_interval(8 * k, df, 3 * k, other, confidence) for k in (1.0, 10.0))
    assert one is not None
    assert ten == pytest.approx((10 * one[0], 10 * one[1]))


def test_groups_in_blocks_by_the_analysis_of_variance() -> None:
    """Two blocks, two groups, two values each: the mean squares and p of statsmodels."""
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    values = np.array([1.0, 2.0, 4.5, 5.0, 11.0, 12.5, 14.0, 15.0])
    blocks, groups = list("xxxxyyyy"), list("aabbaabb")
    frame = pd.DataFrame({"y": values, "b": blocks, "g": groups})
    theirs = anova_lm(smf.ols("y ~ C(b) + C(g)", frame).fit())
    found = between_groups(values.tolist(), blocks, groups)
    square, rest = theirs.loc["C(g)", "mean_sq"], theirs.loc["Residual", "mean_sq"]
    assert (found.df, found.rest_df) == (1.0, 5.0)
    assert found.rest == pytest.approx(np.sqrt(rest))
    assert found.p_value == pytest.approx(theirs.loc["C(g)", "PR(>F)"])
    assert found.value == pytest.approx(np.sqrt((square - rest) / 4))  # four values a group
    ends = component_interval(square, 1, rest, 5)
    assert ends is not None
    assert (found.low, found.high) == pytest.approx(tuple(np.sqrt(np.array(ends) / 4)))


def test_groups_that_nothing_tells_apart() -> None:
    alone = between_groups([1.0, 2.0, 5.0, 6.5], list("xxyy"), list("aabb"))
    assert (alone.value, alone.p_value, alone.df, alone.rest_df) == (None, None, 0.0, 2.0)
    assert alone.rest == pytest.approx(np.sqrt((0.5 + 1.125) / 2))
    full = between_groups([1.0, 2.0], list("xx"), list("ab"))
    assert (full.value, full.rest, full.df, full.rest_df) == (None, None, 1.0, 0.0)
    exact = between_groups([1.0, 1.0, 2.0, 2.0], list("xxxx"), list("aabb"))
    assert exact.value == pytest.approx(np.sqrt(0.5))
    assert exact.rest == pytest.approx(0.0, abs=1e-9)
    alike = between_groups([1.0, 3.0, 2.0, 2.0], list("xxxx"), list("aabb"))
    assert (alike.value, alike.p_value) == (0.0, pytest.approx(1.0))
    none = between_groups([], [], [])
    assert (none.df, none.rest_df, none.rest) == (0.0, 0.0, None)


def test_chains_of_blocks_connect_groups() -> None:
    parts = connected(list("xxyzzw"), list("abbcdd"))
    assert parts == [({"x", "y"}, {"a", "b"}), ({"z", "w"}, {"c", "d"})]
    joined = connected(list("xyzz"), list("abab"))
    assert joined == [({"x", "y", "z"}, {"a", "b"})]
    assert connected([], []) == []


# --- power and looks -------------------------------------------------------------------------------


@pytest.mark.parametrize("effect", [0.0, 0.7, -3.0])
def test_power_is_that_of_the_noncentral_t(effect: float) -> None:
    for sizes, df in (((2, 2), 2), ((3, 8), 9), ((2,), 1), ((9,), 8)):
        shift = abs(effect) / np.sqrt(sum(1 / n for n in sizes))
        two = stats.t.isf(0.05, df)
        expected = stats.nct.sf(two, df, shift) + (
            stats.nct.cdf(-two, df, shift) if effect else 0.05
        )
        assert t_power_unequal(effect, sizes, confidence=0.9) == pytest.approx(expected, abs=1e-7)
        one = stats.nct.sf(stats.t.isf(0.1, df), df, shift)
        assert t_power_unequal(effect, sizes, confidence=0.9, sides=1) == pytest.approx(
            one, abs=1e-7
        )
    assert np.isnan(t_power_unequal(effect, (1, 1)))
    assert np.isnan(t_power(effect, 1, groups=1))
    assert t_power(effect, 5) == t_power_unequal(effect, (5, 5), confidence=0.95)
    assert t_power(effect, 5, groups=1, sides=1) == t_power_unequal(effect, (5,), sides=1)


@pytest.mark.parametrize(("effect", "power"), [(5.0, 0.6), (-5.0, 0.6), (0.9, 0.8), (0.05, 0.99)])
def test_a_sample_size_is_the_one_that_has_the_power(effect: float, power: float) -> None:
    for more in ({}, {"groups": 1}, {"sides": 1, "confidence": 0.8}):
        size = t_sample_size(effect, power, **more)  # type: ignore[arg-type]
        assert t_power(effect, size, **more) == pytest.approx(power, abs=1e-6)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="zero"):
        t_sample_size(0.0, power)


def test_the_chance_of_passing_a_limit_at_any_look() -> None:
    """One look is the normal tail; two are that and the corner of a normal of two, which scipy has."""
    assert crossing_probability([1.7], [1.0]) == pytest.approx([2 * stats.norm.sf(1.7)])
    assert crossing_probability([1.7], [0.3]) == pytest.approx([2 * stats.norm.sf(1.7)])
    limits, fractions = [2.5, 2.0], [0.4, 1.0]
    walk = stats.multivariate_normal(cov=[[1.0, np.sqrt(0.4)], [np.sqrt(0.4), 1.0]])
    stays = walk.cdf(limits, lower_limit=[-2.5, -2.0])
    assert_allclose(
        crossing_probability(limits, fractions), [2 * stats.norm.sf(2.5), 1 - stays], rtol=1e-4
    )


def test_boundaries_err_at_the_level_in_all() -> None:
    assert boundary_constant((1.0,), "pocock") == pytest.approx(stats.norm.ppf(0.975))
    fractions = (0.25, 0.5, 1.0)
    for boundary in ("pocock", "obrien_fleming"):
        limits = boundary_limits(fractions, boundary, 0.02)
        assert crossing_probability(limits, fractions)[-1] == pytest.approx(0.02, rel=1e-7)
    flat, falling = (boundary_limits(fractions, b) for b in ("pocock", "obrien_fleming"))
    assert np.ptp(flat) == 0
    assert_allclose(falling, falling[-1] / np.sqrt(fractions))
    with pytest.raises(ValueError, match="'flat' is none of obrien_fleming, pocock"):
        boundary_constant((1.0,), "flat")
    assert_allclose(look_confidences(fractions, "pocock"), 1 - 2 * stats.norm.sf(flat))
    each = boundary_limits(fractions, "pocock", 1 - 0.9 ** (1 / 3))
    assert_allclose(
        look_confidences(fractions, "pocock", 0.9, 3), (1 - 2 * stats.norm.sf(each)) ** 3
    )
