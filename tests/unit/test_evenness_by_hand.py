"""Noise that is not even, from sessions whose mean squares can be read off them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics.contrasts import Contrasts, contrasts
from slackwater.analysis.statistics.evenness import (
    by_set_point,
    by_side,
)
from slackwater.analysis.statistics.noise import NoiseEstimate

# As chosen by simulation; the names say what for in the module.
QUIET, ALLOWED, STEEPNESS, MORE_FREEDOM = 0.35, 2.4, 8.0, 1.1

NAN = np.nan


def layout(order: str, points: int = 1, values: Any = None, **more: Any) -> Contrasts:
    there = np.ones((len(order), points), bool) if values is None else np.isfinite(values)
    return contrasts(list(order), "A", "B", there, **more)


def noise(
    total: list[float], shared_df: float = 5.0, specific_df: float = 0.0, **more: Any
) -> NoiseEstimate:
    one = np.array(total)
    return NoiseEstimate(
        shared=np.zeros(one.shape[:-1]), specific=one, runs=np.zeros(one.shape), ratio=np.ones(one.shape[:-1]),
        share=np.ones(one.shape), shared_df=shared_df, specific_df=specific_df, **more,
    )  # fmt: skip


#: Four sessions of A with a variance of 4, two of B with one of 18; one set point.
APART = np.array([[-2.0], [-2.0], [7.0], [2.0], [2.0], [13.0]])
ORDER = "AABAAB"


def test_unequal_numbers_have_the_variance_of_welch() -> None:
    """scipy's Welch test: the same standard error and degrees of freedom."""
    a, b = APART[[0, 1, 3, 4], 0], APART[[2, 5], 0]
    theirs = stats.ttest_ind(b, a, equal_var=False)
    where = layout(ORDER)
    factor, found = by_side(noise([7.0]), APART, where)
    error = np.sqrt(float(factor[0]) * 7.0 * where.spread[0])
    assert (b.mean() - a.mean()) / error == pytest.approx(theirs.statistic)
    assert found.freedom is not None
    assert float(found.freedom[0]) == pytest.approx(theirs.df)
    assert float(found.freedom[1]) == 0.0
    # No more degrees of freedom than there were.
    _, held = by_side(noise([7.0], shared_df=1.2), APART, where)
    assert held.freedom is not None
    assert float(held.freedom[0]) == pytest.approx(1.2)


def test_over_a_sweep_the_sides_are_averaged_and_know_a_little_more() -> None:
    """The second set point is the first in another size, and counts alike in units of its noise."""
    values = np.hstack([APART, 3 * APART])
    wide = noise([7.0, 63.0], shared_df=30.0, specific_df=8.0)
    factor, found = by_side(wide, values, layout(ORDER, 2))
    single, _ = by_side(noise([7.0]), APART, layout(ORDER))
    assert_allclose(factor, [single[0], single[0]])
    welch = stats.ttest_ind(APART[[2, 5], 0], APART[[0, 1, 3, 4], 0], equal_var=False).df
    assert found.freedom is not None
    steps = np.exp(np.linspace(0.0, np.log(60.0), 60))
    below = steps[steps <= MORE_FREEDOM * welch * 1.03].max()
    assert float(found.freedom[0]) == pytest.approx(below)
    assert float(found.freedom[1]) == 8.0
    mixed = np.hstack([APART, APART / 2])
    half, _ = by_side(noise([7.0, 7.0], specific_df=8.0), mixed, layout(ORDER, 2))
    assert_allclose(half, single[0] * (1 + 0.25) / 2)
    # Trial by trial, and also where set points have little freedom of their own.
    little = noise([[7.0, 63.0]] * 2, shared_df=30.0, specific_df=1.0)
    both, apart = by_side(little, np.stack([values, np.hstack([APART, APART])]), layout(ORDER, 2))
    assert_allclose(both, [[single[0]] * 2, [single[0] * (1 + 1 / 9) / 2] * 2])
    assert apart.freedom is not None
    assert float(apart.freedom[0][0]) == pytest.approx(below)


def test_equal_numbers_of_two_configurations_need_nothing() -> None:
    values = np.arange(4.0)[:, None] ** 2
    factor, found = by_side(noise([1.0]), values, layout("ABBA"))
    assert factor.tolist() == 1.0
    assert found.freedom is None
    # Nor do sides of one session, or a layout with blocks.
    assert by_side(noise([1.0]), values[:3], layout("ABA"))[0].tolist() == 1.0
    assert by_side(noise([1.0]), values[:3], layout("BAB"))[0].tolist() == 1.0
    blocked = layout(ORDER, blocks=list("xxyyzz"))
    assert by_side(noise([7.0]), APART, blocked)[0].tolist() == 1.0


def test_a_prior_that_was_joined_in_speaks_for_all() -> None:
    fits = noise([7.0], prior_fits=np.array(True), freedom=(np.array(9.0), np.array(0.0)))
    assert by_side(fits, APART, layout(ORDER))[0].tolist() == 1.0
    # Trial by trial: where it was left out, the sides speak for themselves.
    some = noise([[7.0], [7.0]], prior_fits=np.array([True, False]),
                 freedom=(np.array([9.0, 5.0]), np.zeros(2)))  # fmt: skip
    factor, found = by_side(some, np.stack([APART, APART]), layout(ORDER))
    single, alone = by_side(noise([7.0]), APART, layout(ORDER))
    assert_allclose(factor, [[1.0], single])
    assert found.freedom is not None
    assert alone.freedom is not None
    assert_allclose(found.freedom[0], [9.0, float(alone.freedom[0])])


@pytest.mark.parametrize(("part", "apart"), [(0.99 * QUIET, True), (1.01 * QUIET, False)])
def test_a_third_configuration_counts_for_nothing_once_it_is_quiet(
    part: float, apart: bool
) -> None:
    """The pair scatters by variances of 2 and 4.5, 3.25 in the mean; the third by a part of that."""
    third = np.sqrt(part * 3.25 / 2)
    values = np.array([[1.0], [5.0], [9 + third], [9 - third], [8.0], [3.0]])
    where = layout("ABCCBA")
    pooled = (2.0 + 4.5 + 2 * third**2) / 3
    factor, found = by_side(noise([pooled], shared_df=3.0), values, where)
    if apart:
        assert_allclose(factor, 3.25 / pooled)
        assert found.freedom is not None
        assert float(found.freedom[0]) == 2.0
    else:
        assert_allclose(factor, 1.0)
    # In a sweep the mean over the set points counts.
    wide = np.hstack([values, values + 1])
    twice, _ = by_side(
        noise([pooled, pooled], 3.0, 6.0), wide, where if False else layout("ABCCBA", 2)
    )
    assert_allclose(twice, [3.25 / pooled] * 2 if apart else [1.0, 1.0])


def test_set_points_that_lack_sessions_stand_aside() -> None:
    """At the second set point there is one of B: the first alone tells the sides."""
    values = np.hstack([APART, APART])
    values[5, 1] = NAN
    single, _ = by_side(noise([7.0]), APART, layout(ORDER))
    where = layout(ORDER, values=values)
    factor, _ = by_side(noise([7.0, 7.0], specific_df=8.0), values, where)
    assert_allclose(factor, [single[0], 1.0])


def test_a_third_configuration_is_asked_where_pair_and_third_are_both_repeated() -> None:
    """At the second set point the third is loud, but there the pair has one session of B."""
    values = np.array([[1.0, 1.0], [5.0, 5.0], [9.0, 9.0], [9.0, 99.0], [7.0, NAN], [3.0, 3.0]])
    pooled = (2.0 + 2.0) / 3
    factor, _ = by_side(noise([pooled, pooled], 3.0, 6.0), values, layout("ABCCBA", values=values))
    assert_allclose(factor, [2.0 / pooled, 1.0])


# --- set points that stand out -------------------------------------------------------------------


def squares(*size: float) -> np.ndarray:
    """Two sessions a side, each a root of its set point's variance from its mean: mean squares as given."""
    root = np.sqrt(np.array(size) / 2)
    return np.array([root, 9 + root, 9 - root, -root])


def raised(own: list[float], total: list[float], factor: Any = 1.0, **more: Any) -> np.ndarray:
    values = squares(*own)
    return by_set_point(
        noise(total, specific_df=6.0, **more), values, layout("ABBA", len(own)), np.asarray(factor)
    )


def test_a_set_point_is_raised_by_what_it_is_beyond_the_allowed() -> None:
    """The allowed is 1 + 2.4 / sqrt(2); what lies beyond counts eight times."""
    allowed = 1 + ALLOWED / np.sqrt(2)
    total = [10.0] * 4
    assert_allclose(raised([10.0 * allowed, 1, 1, 1], total), 1.0)
    assert_allclose(
        raised([10.0 * (allowed + 0.5), 1, 1, 1], total), [1 + STEEPNESS * 0.5, 1, 1, 1]
    )
    # Against a total that was raised already it stands out less.
    assert_allclose(
        raised([20.0 * (allowed + 0.5), 1, 1, 1], total, 2.0), [1 + STEEPNESS * 0.5, 1, 1, 1]
    )
    # What all show alike is no unevenness: twice as much everywhere is as if it were once.
    assert_allclose(raised([100.0] * 4, total), 1.0)
    own = np.array([100.0, 20.0, 20.0, 20.0])
    expected = own / own.mean()
    assert_allclose(raised(own.tolist(), total), 1 + STEEPNESS * np.maximum(expected - allowed, 0))


def test_trials_of_a_batch_stand_each_by_itself_and_one_freedom_is_one() -> None:
    """Of A, B, B there is one freedom: the allowed is 1 + 2.4."""
    values = np.array([[0.0, 0, 0, 0], [9, 9, 9, 9], [9.0, 9, 9, 9]])
    values[2] += np.sqrt(2 * np.array([39.0, 0.1, 0.1, 0.1]))
    where, total = layout("ABB", 4), noise([[10.0] * 4] * 2, specific_df=6.0)
    found = by_set_point(total, np.stack([values, values / 10]), where, np.array(1.0))
    assert_allclose(found, [[1 + STEEPNESS * (3.9 - 1 - ALLOWED), 1, 1, 1], [1.0] * 4])


def test_a_single_set_point_or_one_that_nobody_repeated_cannot_stand_out() -> None:
    values = squares(100.0)
    assert by_set_point(noise([1.0]), values, layout("ABBA"), np.array(1.0)).tolist() == [1.0]
    two = np.hstack([squares(100.0, 1.0, 1.0), np.array([[NAN], [NAN], [3.0], [9.0]])])
    found = by_set_point(
        noise([10.0] * 4, specific_df=6.0), two, layout("ABBA", values=two), np.array(1.0)
    )
    own = np.array([100.0, 1.0, 1.0]) / 10
    beyond = own[0] / own.mean() - 1 - ALLOWED / np.sqrt(2)
    assert beyond < 1
    assert_allclose(found, [1 + STEEPNESS * max(beyond, 0.0), 1.0, 1.0, 1.0])
    none = replace(layout("AB", 2), residual_df=np.zeros(2))
    assert by_set_point(noise([1.0, 1.0], specific_df=6.0), np.ones((2, 2)), none, np.array(1.0)).tolist() == [1.0, 1.0]  # fmt: skip
