"""What a verdict leans on, each look by itself, on sessions whose figures are plain."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import statsmodels.api as sm
from invented_runs import table

from slackwater.analysis.statistics.noise import PriorNoise
from slackwater.analysis.verdict.judgement import Judged, judge_sweep
from slackwater.analysis.verdict.leanings import (
    Leaning,
    OtherCurrent,
    _Look,
    leanings,
    looked_at,
)
from slackwater.analysis.verdict.terms import Terms

ORDER = ["bare", "fitted", "fitted", "bare", "bare", "fitted"]
PLAIN = {"scale": "difference", "unit": "deg", "better": None, "quantity": "running_trim"}


def judged(
    values: Any, order: list[str] = ORDER, blocks: list[str] | None = None,
    terms: Terms | None = None, **fields: Any,
) -> Judged:  # fmt: skip
    made = table(np.array(values, float), **(PLAIN | fields))
    return judge_sweep(made, order, "bare", "fitted", terms or Terms(), blocks)


def held_to(found: Judged, floor: float) -> Judged:
    """The same with a noise floor that is plain."""
    assert found.differences is not None
    known = replace(
        found.differences,
        floor=np.full(found.differences.difference.shape, floor),
        established=np.abs(found.differences.difference) > floor,
    )
    return replace(found, differences=known)


def look(found: Judged, blocks: list[str] | None = None, other: Any = None) -> _Look:
    return _Look(found, blocks, other)


# --- which comparisons are looked at -------------------------------------------------------------


def one(baseline: str, deciding: bool | None, *, known: bool = True, rows: bool = True) -> Any:
    row = SimpleNamespace(baseline=baseline, modified="fitted", deciding=deciding)
    return SimpleNamespace(differences=object() if known else None, rows=[row] if rows else [])


def test_one_is_looked_at_for_each_pair_the_deciding_one_first() -> None:
    blank, empty = one("bare", None, known=False), one("bare", True, rows=False)
    first, second, third = one("bare", None), one("bare", None), one("short", None)
    assert looked_at([blank, empty, first, second, third]) == [first, third]
    decides = one("bare", True)
    assert looked_at([first, decides, second]) == [decides]
    assert looked_at([decides, first]) == [decides]
    assert looked_at([blank, empty]) == []


def test_every_look_has_its_place() -> None:
    values = np.array([[0.0, 0.3], [2.1, 2.0], [2.0, 2.2], [0.2, 0.0], [0.1, 0.1], [2.3, 2.1]])
    prior = PriorNoise(0.01, 0.01, 0.0, df=9)
    found = judged(values, terms=Terms(prior=prior))
    other = OtherCurrent(
        "one way", "another", {found.table.key: table(values + [[1], [0]] * 3, **PLAIN)}
    )
    told = leanings([found], None, other)
    assert [each.check for each in told] == [
        "outlying session", "one session left out", "current", "trend", "even noise",
        "earlier trials", "order drawn",
    ]  # fmt: skip
    assert {(each.baseline, each.modified, each.quantity) for each in told} == {
        ("bare", "fitted", "running trim")
    }
    assert told[0].as_row()["check"] == "outlying session"
    # Blocks that are no pairs leave no order to draw.
    assert "order drawn" not in {each.check for each in leanings([found], ["d"] * 6)}
    assert {each.check for each in leanings([found], None)} == {each.check for each in told} - {
        "current"
    }


# --- an outlying session -------------------------------------------------------------------------


def test_a_session_far_from_its_like_is_told_with_what_it_does() -> None:
    found = look(judged([[0.0], [2.1], [2.0], [0.2], [0.1], [9.05]])).outlier()
    assert found is not None
    assert (found.session, found.remark) == ("S6", True)
    assert found.value == pytest.approx(9.05 - 2.05)
    assert found.p_value is not None
    assert found.p_value <= 0.05
    assert found.message.startswith(
        "session S6 stands +7.0\u00a0deg apart from the others with fitted (p "
    )
    assert "every noise floor" in found.message


def test_where_none_stands_apart_the_furthest_is_named() -> None:
    found = look(judged([[0.0], [2.1], [2.0], [0.2], [0.1], [1.81]])).outlier()
    assert found is not None
    assert (found.session, found.remark) == ("S6", False)
    assert found.value == pytest.approx(1.81 - 2.05)
    assert found.p_value is not None
    assert found.p_value > 0.05
    assert "no session stands apart" in found.message
    assert "S6 is the furthest, at −0.2\u00a0deg (p " in found.message


def test_a_ratio_stands_apart_by_a_part_of_itself() -> None:
    values = np.exp([[0.0], [0.021], [0.02], [0.002], [0.001], [0.09]])
    found = look(judged(values, scale="ratio", unit="kn", quantity="speed")).outlier()
    assert found is not None
    assert found.value == pytest.approx(np.exp(0.09 - 0.0205) - 1)
    assert "+7.2\u00a0%" in found.message


def test_sessions_too_few_tell_no_look() -> None:
    few = look(judged([[0.0], [2.0]], ORDER[:2], terms=Terms(prior=PriorNoise(1, 1, 1, 9))))
    assert few.outlier() is None
    assert few.trend() is None
    nothing = look(judged([[0.0, np.nan], [np.nan, 2.0]], ORDER[:2]))
    assert nothing.levels is None
    assert nothing.outlier() is nothing.trend() is nothing.order() is None
    assert nothing.left_out() is nothing.even() is nothing.prior() is None


# --- one session left out ------------------------------------------------------------------------


def test_the_session_that_a_verdict_hangs_on_is_named() -> None:
    """2.4, 0.3 and 0.6 against nought: 1.1 is above a floor of 1, and 0.45 without the first is not."""
    found = look(held_to(judged([[0.0], [2.4], [0.3], [0.0], [0.0], [0.6]]), 1.0)).left_out()
    assert found is not None
    assert (found.session, found.value) == ("S2", 1.0)
    assert found.message == (
        "1 of 1 verdicts would turn without session S2, held to the same noise floor; "
        "1 of 6 sessions turn any"
    )


def test_the_one_that_turns_most_is_named_before_those_that_turn_less() -> None:
    values = np.repeat([[0.0], [2.4], [0.3], [0.0], [0.0], [0.6]], 3, axis=1)
    values[0, 1] = 1.2  # there 0.7 is within, and without S1 or S3 it is 1.1
    found = look(held_to(judged(values), 1.0)).left_out()
    assert found is not None
    assert (found.session, found.value) == ("S2", 3.0)
    assert found.message.startswith("2 of 3 verdicts would turn without session S2,")
    assert found.message.endswith("; 3 of 6 sessions turn any")


def test_nothing_turns_where_all_is_clear() -> None:
    found = look(held_to(judged([[0.0], [3.0], [3.0], [0.0], [0.0], [3.0]]), 1.0)).left_out()
    assert found is not None
    assert (found.session, found.value, found.remark) == (None, 0.0, False)
    assert found.message.startswith("no verdict turns when any one session is left out")


def test_positions_without_a_verdict_do_not_turn() -> None:
    plain = held_to(judged([[0.0], [2.4], [0.3], [0.0], [0.0], [0.6]]), 1.0)
    mute = replace(plain, rows=(replace(plain.rows[0], p_value=None),))
    found = look(mute).left_out()
    assert found is not None
    assert found.value == 0.0


def test_only_sessions_of_the_pair_that_leave_a_side_standing_are_tried() -> None:
    order = ["bare", "fitted", "bare", "third", "third"]
    values = [[0.0], [1.1], [0.0], [50.0], [90.0]]
    prior = Terms(prior=PriorNoise(900.0, 900.0, 0.0, df=9))
    found = look(held_to(judged(values, order, terms=prior), 1.0)).left_out()
    assert found is not None
    assert found.message.startswith("no verdict turns")
    # With one session each nothing can be left out at all.
    none = look(judged(values[:2], order[:2], terms=prior)).left_out()
    assert none is None
    # bare at -1 and +1: without one of them the difference is 2.1 or 0.1, which turns; 2 were tried.
    values[0], values[2] = [-1.0], [1.0]
    turned = look(held_to(judged(values, order, terms=prior), 1.0)).left_out()
    assert turned is not None
    assert "1 of 2 sessions turn any" in turned.message
    assert turned.session == "S1"


def test_within_blocks_the_difference_is_that_of_pairs() -> None:
    """Differences of 1, 1 and 4 on three days: 2, and 1 without the third day's session."""
    values = [[0.0], [1.0], [11.0], [10.0], [20.0], [24.0]]
    days = list("aabbcc")
    found = look(held_to(judged(values, blocks=days), 1.5), days).left_out()
    assert found is not None
    assert "2 of 6 sessions turn any" in found.message
    assert found.session in ("S5", "S6")


# --- the current taken out in another way --------------------------------------------------------

PLAINLY = np.array([[0.0, 0.0], [3.0, 3.0], [3.0, 3.0], [0.0, 0.0], [0.0, 0.0], [3.0, 3.0]])


def other(values: Any, **fields: Any) -> OtherCurrent:
    made = table(values, **(PLAIN | fields))
    return OtherCurrent("a tide fit", "double runs", {"running_trim": made})


def test_a_current_taken_out_otherwise_moves_differences() -> None:
    found = held_to(judged(PLAINLY), 1.0)
    moved = PLAINLY + np.array(
        [[0.0, 0.0], [0.5, -0.75], [0.5, -0.75]] + [[0.0, 0.0]] * 2 + [[0.5, -0.75]]
    )
    told = look(found, None, other(moved)).current()
    assert told is not None
    assert told.value == pytest.approx(0.75)
    assert told.remark is False
    assert told.message == (
        "with a tide fit in place of double runs, differences move by up to 0.75\u00a0deg "
        "and no verdict turns, held to the same noise floor"
    )


def test_one_of_two_verdicts_turns_with_another_current() -> None:
    found = held_to(judged(PLAINLY), 1.0)
    fitted = np.array([0, 1, 1, 0, 0, 1])[:, None]
    told = look(found, None, other(PLAINLY - fitted * [2.5, 1.0])).current()
    assert told is not None
    assert told.value == pytest.approx(2.5)
    assert " and 1 of 2 verdicts would turn" in told.message
    # Where the one that moves most has no verdict, the other is what counts.
    mute = replace(found, rows=(replace(found.rows[0], p_value=None), found.rows[1]))
    less = look(mute, None, other(PLAINLY - fitted * [2.5, 1.0])).current()
    assert less is not None
    assert less.value == pytest.approx(1.0)
    assert less.remark is False
    # Without any verdict the largest move is told all the same.
    none = replace(found, rows=tuple(replace(row, p_value=None) for row in found.rows))
    size = look(none, None, other(PLAINLY - fitted * [2.5, 1.0])).current()
    assert size is not None
    assert size.value == pytest.approx(2.5)


def test_a_verdict_that_another_current_leaves_without_a_difference_is_not_looked_at() -> None:
    found = held_to(judged(PLAINLY), 1.0)
    moved = PLAINLY + np.array([0, 1, 1, 0, 0, 1])[:, None] * [0.5, 0.25]
    moved[:, 0] = np.nan
    part = look(found, None, other(moved)).current()
    assert part is not None
    assert part.value == pytest.approx(0.25)
    assert part.message.endswith("; 1 verdict could not be looked at in that way")
    # The one verdict there is lies where nothing is left: what moves elsewhere tells nothing of it.
    alone = replace(found, rows=(found.rows[0], replace(found.rows[1], p_value=None)))
    none = look(alone, None, other(moved)).current()
    assert none is not None
    assert none.value is None
    assert none.remark is False
    assert none.message.endswith("whether one would turn could not be looked at")


def test_another_current_is_looked_at_only_where_it_is_of_the_same_table() -> None:
    found = held_to(judged(PLAINLY), 1.0)
    moved = PLAINLY + 0.5 * np.array([0, 1, 1, 0, 0, 1])[:, None]
    assert look(found, None, other(moved)).current() is not None
    assert look(found, None, None).current() is None
    assert look(found, None, other(PLAINLY)).current() is None  # nothing moves
    assert look(found, None, other(moved, sessions=tuple("abcdef"))).current() is None
    assert look(found, None, other(moved, labels=("x", "y"))).current() is None
    assert look(found, None, OtherCurrent("a", "b", {"speed": table(moved)})).current() is None
    assert look(replace(found, differences=None), None, other(moved)).current() is None


# --- a drift, uneven noise, earlier trials, the order --------------------------------------------


def test_a_drift_is_told_from_first_to_last() -> None:
    level = np.array([0.0, 3.1, 4.0, 3.1, 4.0, 7.0])
    found = look(judged(level[:, None])).trend()
    fitted = np.array([0.0, 1, 1, 0, 0, 1])
    theirs = sm.OLS(level, np.column_stack([np.ones(6), fitted, np.arange(6)])).fit()
    assert found is not None
    assert found.value == pytest.approx(5 * theirs.params[2])
    assert found.p_value == pytest.approx(theirs.pvalues[2])
    assert found.remark is True
    assert found.message.startswith("the boat drifted by +5.0\u00a0deg over the trial")
    still = look(judged([[0.0], [3.1], [3.0], [0.1], [0.0], [3.0]])).trend()
    assert still is not None
    assert still.remark is False
    assert "no drift shows over the trial (" in still.message
    allowed = judged(level[:, None], covariates=np.arange(6.0)[:, None])
    assert look(allowed).trend() is None


def test_noise_that_was_raised_is_told_where() -> None:
    values = np.array([[0.0, 0.3], [2.1, 2.0], [2.0, 2.2], [0.2, 0.0], [0.1, 0.1], [2.3, 2.1]])
    found = judged(values)
    assert found.differences is not None
    plain = replace(found.differences, spread=found.layout.spread)
    even = look(replace(found, differences=plain)).even()
    assert even is not None
    assert (even.value, even.remark) == (1.0, False)
    assert even.message == "no place on the sweep scatters far more than the others allow"
    raised = replace(plain, spread=found.layout.spread * np.array([4.0, 9.0]))
    told = look(replace(found, differences=raised)).even()
    assert told is not None
    assert told.value == pytest.approx(3.0)
    assert told.remark is True
    assert told.message.startswith("2000 rpm scatters more than the others allow")
    assert told.message.endswith("raised by a factor of 3")
    unknown = replace(plain, spread=np.full(2, np.nan))
    assert look(replace(found, differences=unknown)).even() is None
    single = judged([[0.0], [2.1], [2.0], [0.2], [0.1], [2.3]])
    few = judged(values[:3], ORDER[:3])  # two set points, and one degree of freedom of their own
    assert few.differences is not None
    assert few.differences.noise.specific_df == 1.0
    assert look(few).even() is not None
    assert look(single).even() is None  # with one set point there is nothing to be even


def test_earlier_trials_are_told_as_they_were_taken() -> None:
    values = [[0.0], [2.1], [2.0], [0.2], [0.1], [2.3]]
    assert look(judged(values)).prior() is None
    fits = look(judged(values, terms=Terms(prior=PriorNoise(0.02, 0.0, 0.0, df=9)))).prior()
    assert fits is not None
    assert fits.remark is False
    assert "was joined in" in fits.message
    small = look(judged(values, terms=Terms(prior=PriorNoise(1e-6, 0.0, 0.0, df=9)))).prior()
    assert small is not None
    assert small.remark is True
    assert "those were left out" in small.message
    all_there_is = Terms(prior=PriorNoise(0.02, 0.0, 0.0, df=9))
    alone = look(judged(values[:2], ORDER[:2], terms=all_there_is)).prior()
    assert alone is not None
    assert alone.remark is True
    assert "nothing in this one can check it" in alone.message


def test_the_order_drawn_is_held_against_all_others() -> None:
    found: Leaning | None = look(judged([[0.0], [2.1], [2.0], [0.2], [0.1], [2.3]])).order()
    assert found is not None
    assert (found.value, found.p_value) == pytest.approx((0.1, 0.1))  # 2 of 20
    assert found.message.startswith(
        "of all orders that might have been drawn, 10 % give as large a mean difference "
        "(no order could give less than 10 %)"
    )
    days = list("aabbcc")
    paired = look(judged([[0.0], [2.1], [2.0], [0.2], [0.1], [2.3]], blocks=days), days).order()
    assert paired is not None
    assert paired.value == pytest.approx(0.25)  # 2 of 8
