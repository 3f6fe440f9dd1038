"""Outlying sessions, drifts and drawn orders, against statsmodels and scipy."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics import assumptions
from slackwater.analysis.statistics.assumptions import (
    Levels,
    drift,
    outlying,
    randomised,
    session_levels,
)
from slackwater.analysis.statistics.contrasts import contrasts

NAN = np.nan


def levels_of(order: str, level: list[float], blocks: list[str] | None = None) -> Levels:
    """Sessions of one set point; a level that is NaN is that of a session without any value."""
    values = np.array(level)[:, None]
    layout = contrasts(list(order), "A", "B", np.isfinite(values), blocks)
    found = session_levels(values, layout)
    assert found is not None
    return found


def by_least_squares(order: str, level: list[float], *more: list[float]):
    names = sorted(set(order))
    design = [[float(one == name) for name in names] for one in order]
    return sm.OLS(np.array(level), np.column_stack([design, *more])).fit()


def test_a_level_is_the_mean_over_the_set_points_that_all_sessions_have() -> None:
    values = np.array(
        [[9.0, 1.0, 3.0], [NAN, 4.0, 8.0], [9.0, 5.0, 9.0], [NAN] * 3, [9.0, 3.0, 7.0]]
    )
    layout = contrasts(list("ABBAA"), "A", "B", np.isfinite(values))
    found = session_levels(values, layout)
    assert found is not None
    assert_allclose(found.level, [2.0, 6.0, 7.0, NAN, 5.0])
    assert_allclose(found.residual, [-1.5, -0.5, 0.5, NAN, 1.5])  # about 3.5 and 6.5
    assert found.df == 2.0


def test_without_a_set_point_that_all_have_there_is_no_level() -> None:
    for values in ([[1.0, NAN], [NAN, 1.0]], [[NAN, NAN], [NAN, NAN]]):
        there = np.array(values)
        layout = contrasts(["A", "B"], "A", "B", np.isfinite(there))
        assert session_levels(there, layout) is None


LEVELS = [1.0, 3.2, 2.9, 0.7, 1.1, 5.0, 1.4]


def test_the_outlying_session_is_that_of_studentised_residuals() -> None:
    """statsmodels' externally studentised residuals, times as many as can stand apart (Bonferroni)."""
    found = outlying(levels_of("ABBAABA", LEVELS))
    theirs = by_least_squares("ABBAABA", LEVELS).get_influence().resid_studentized_external
    assert found is not None
    session, deviation, p = found
    assert session == int(np.abs(theirs).argmax()) == 5
    assert deviation == pytest.approx(5.0 - (3.2 + 2.9) / 2)
    assert p == pytest.approx(7 * 2 * stats.t.sf(abs(theirs[5]), 4))
    assert p < 1


def test_a_session_alone_in_its_configuration_cannot_stand_apart() -> None:
    found = outlying(levels_of("ABBAABAC", [*LEVELS, 90.0]))
    alone = outlying(levels_of("ABBAABA", LEVELS))
    assert found is not None
    assert alone is not None
    assert found == pytest.approx(alone)


def test_one_that_is_missing_is_nobody() -> None:
    gap = outlying(levels_of("AABBAABA", [NAN, *LEVELS]))
    alone = outlying(levels_of("ABBAABA", LEVELS))
    assert gap is not None
    assert alone is not None
    assert gap[0] == alone[0] + 1
    assert gap[1:] == pytest.approx(alone[1:])


def test_chance_is_at_most_one_and_two_degrees_of_freedom_are_needed() -> None:
    even = outlying(levels_of("ABBA", [1.0, 2.0, 3.1, 1.9]))
    assert even is not None
    assert even[2] == 1.0
    assert outlying(levels_of("ABB", [1.0, 2.0, 3.1])) is None
    assert drift(levels_of("ABBA", [1.0, 2.0, 3.1, 1.9])) is not None
    assert drift(levels_of("ABB", [1.0, 2.0, 3.1])) is None


@pytest.mark.parametrize("missing", [0, 1])
def test_a_drift_is_the_slope_of_least_squares_from_first_to_last(missing: int) -> None:
    order, level = "A" * missing + "ABBAABA", [NAN] * missing + LEVELS
    theirs = by_least_squares("ABBAABA", LEVELS, list(range(7)))
    found = drift(levels_of(order, level))
    assert found is not None
    assert found[0] == pytest.approx(6 * theirs.params[-1])
    assert found[1] == pytest.approx(theirs.pvalues[-1])
    falling = drift(levels_of(order, [-each for each in level]))
    assert falling is not None
    assert falling == pytest.approx((-found[0], found[1]))


def test_a_drift_that_the_order_hides_is_not_told() -> None:
    """A before B in every block: the drift within blocks is the difference itself."""
    levels = levels_of("ABABABAB", [1.0, 2, 3, 5, 4, 6, 7, 8], list("aabbccdd"))
    assert levels.df == 3
    assert drift(levels) is None


def sides(order: str) -> tuple[np.ndarray, np.ndarray]:
    names = np.array(list(order))
    return names == "B", names == "A"


@pytest.mark.parametrize("order", ["ABBABAA", "AABBBBA", "BAAABAA"])
def test_a_random_order_is_that_of_permutations(order: str) -> None:
    levels = levels_of(order, LEVELS)
    one, other = sides(order)
    theirs = stats.permutation_test(
        (np.array(LEVELS)[one], np.array(LEVELS)[other]),
        lambda a, b, axis: np.abs(a.mean(axis=axis) - b.mean(axis=axis)),
        n_resamples=np.inf, alternative="greater", vectorized=True,
    )  # fmt: skip
    found = randomised(levels, one, other, None)
    assert found is not None
    assert found[0] == pytest.approx(theirs.pvalue)
    most = theirs.null_distribution.max() * (1 - 1e-9)
    assert found[1] == pytest.approx((theirs.null_distribution >= most).mean())


def test_only_the_sessions_of_the_pair_are_drawn() -> None:
    """Three and three wholly apart: two of 20 orders; a third configuration and a gap change nothing."""
    order, level = "ABABABCAC", [0.0, 5, 1, 6, 2, 7, 30, NAN, -9]
    assert randomised(levels_of(order, level), *sides(order), None) == pytest.approx((0.1, 0.1))
    assert randomised(levels_of("ACAC", [0.0, 1, 2, 3]), *sides("ACAC"), None) is None
    assert randomised(levels_of("BCBC", [0.0, 1, 2, 3]), *sides("BCBC"), None) is None


def test_within_blocks_sides_change_in_pairs() -> None:
    """Three pairs, all one way: two of eight orders."""
    order, blocks = "ABBAAB", list("xxyyzz")
    ahead = levels_of(order, [0.0, 3, 4, 1, 2, 7], blocks)
    assert randomised(ahead, *sides(order), blocks) == pytest.approx((0.25, 0.25))
    # Differences 3, 3 and -5 come to 1, and no order gives less.
    mixed = levels_of(order, [0.0, 3, 4, 1, 7, 2], blocks)
    assert randomised(mixed, *sides(order), blocks) == pytest.approx((1.0, 0.25))
    # 3, 3 and -2: 4 is seen; two orders give 8, two give 4 and four give 2.
    milder = levels_of(order, [0.0, 3, 4, 1, 4, 2], blocks)
    assert randomised(milder, *sides(order), blocks) == pytest.approx((0.5, 0.25))


@pytest.mark.parametrize("blocks", ["xxyyyy", "xyxyzz"])
def test_a_block_that_is_no_pair_leaves_nothing_to_draw(blocks: str) -> None:
    order = "ABBAAB" if blocks == "xxyyyy" else "AABBAB"
    levels = levels_of(order, [0.0, 3, 4, 1, 2, 7])
    drawn = randomised(levels, *sides(order), list(blocks))
    assert (drawn is None) is (blocks == "xxyyyy")
    same = randomised(levels, *sides("AABBAB"), list("xxyyzz"))
    assert same is None  # a pair with one side twice


def test_more_orders_than_can_be_gone_through_are_not(monkeypatch: pytest.MonkeyPatch) -> None:
    order, blocks = "ABBAAB", list("xxyyzz")
    levels = levels_of(order, [0.0, 3, 4, 1, 2, 7])
    for most, given, told in (
        (20, None, True),
        (19, None, False),
        (8, blocks, True),
        (7, blocks, False),
    ):
        monkeypatch.setattr(assumptions, "MOST_ORDERS", most)
        assert (randomised(levels, *sides(order), given) is not None) is told
