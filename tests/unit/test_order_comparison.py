"""The planned order against the naive one, through the analysis."""

from __future__ import annotations

import pytest
from invented_protocols import protocol

from slackwater.analysis.planning.order_comparison import SIZE, Row, compare_orders, naive_order
from slackwater.protocol.schedule.making import make_schedule
from slackwater.protocol.schedule.planned import Schedule


def rows_of(schedule: Schedule, current: str = "tide_fit") -> dict[str, Row]:
    return {row.disturbance: row for row in compare_orders(schedule, current)}


def find(rows: dict[str, Row], words: str) -> Row:
    return next(row for title, row in rows.items() if words in title)


def test_abba_takes_an_even_drift_out_exactly() -> None:
    """The identity behind ABBA, here through reduction, session values and comparison."""
    rows = rows_of(make_schedule(protocol(order="ABBA"), 3))
    even = find(rows, "through the trial, evenly")
    # Runs of one set point stand at the same place in mirrored sessions; what is left is the
    # square of the drift, SIZE**2 / 4 at most.
    assert even.planned < SIZE**2 / 4
    # AABB: the sessions with B come two days of three later than those with A.
    assert even.naive == pytest.approx(SIZE * 2 / 3, rel=0.02)
    curved = find(rows, "faster and faster")
    assert 0 < curved.planned < curved.naive / 2


def test_eight_sessions_take_a_curved_drift_out_too() -> None:
    rows = rows_of(make_schedule(protocol(order="ABBABAAB"), 3))
    for words in ("through the trial, evenly", "faster and faster"):
        assert find(rows, words).planned < SIZE**2
        assert find(rows, words).naive > SIZE / 2


def test_a_drift_in_each_session_bends_only_the_naive_curve() -> None:
    rows = rows_of(make_schedule(protocol(order="ABBA"), 3))
    curve = find(rows, "curve along the set points")
    assert curve.planned < SIZE / 20
    assert curve.naive > SIZE / 5
    through = find(rows, "by 1 % through each session")
    assert through.planned < SIZE**2


@pytest.mark.parametrize("current", ["tide_fit", "double_run"])
def test_tide(current: str) -> None:
    row = find(rows_of(make_schedule(protocol(order="ABBA"), 3), current), "tide of 1 kn")
    assert row.planned < 0.001
    if current == "double_run":
        assert row.planned < row.naive


def test_the_naive_order_keeps_runs_days_and_hours() -> None:
    schedule = make_schedule(protocol(order="ABBA", block="day"), 3)
    naive = naive_order(schedule)
    assert naive.order == "AABB"
    assert [(s.day, s.begins) for s in naive.sessions] == [
        (s.day, s.begins) for s in schedule.sessions
    ]
    first = naive.sessions[0].runs
    assert [run.set_point for run in first] == sorted(run.set_point for run in first)
    assert [run.direction for run in first] == ["out", "back"] * (len(first) // 2)


def test_nothing_to_compare() -> None:
    assert compare_orders(make_schedule(protocol(order="AA"), 1), "tide_fit") == ()


def test_one_way_runs_and_a_single_set_point() -> None:
    assert compare_orders(make_schedule(protocol(directions="one_way"), 1), "none") == ()
    single = rows_of(make_schedule(protocol(order="AB", points=("2000 rpm",)), 1))
    assert not any("curve" in title for title in single)
    assert find(single, "evenly").planned > SIZE / 2  # AB cannot tell a drift from a change
