"""The schedule: every run declared, in the order declared, and the same from the same seed."""

from __future__ import annotations

from collections import Counter
from datetime import date, time
from itertools import groupby, pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented_protocols import protocol

from slackwater.protocol.schedule.making import make_schedule, seats_of
from slackwater.protocol.schedule.planned import (
    Circumstances,
    PlannedSession,
    Schedule,
    ScheduleError,
    Seat,
)
from slackwater.protocol.schedule.session_order import (
    balanced_blocks,
    drift_left,
    extended_abba,
    random_blocks,
)

ALL_DAY = Circumstances(opens=time(0, 0), closes=time(23, 59))

protocols = st.fixed_dictionaries(
    {
        "points": st.lists(st.integers(1, 40), min_size=1, max_size=6, unique=True).map(
            lambda values: tuple(f"{100 * value} rpm" for value in values)
        ),
        "order": st.sampled_from(["AB", "ABBA", "ABBAAB", "BAAB", "ABCCBA", "AAABBB", "ABC", "AA"]),
        "double_runs": st.integers(1, 3),
        "set_point_order": st.sampled_from(["shuffled", "ascending", "descending"]),
        "first_direction": st.sampled_from(["alternate", "fixed"]),
        "directions": st.sampled_from(["reciprocal", "one_way"]),
    }
)
seeds = st.integers(-10, 10**9)


def points_in_order(session: PlannedSession) -> list[float]:
    return [point for point, _ in groupby(session.runs, key=lambda run: run.set_point)]


def firsts(session: PlannedSession) -> list[str]:
    """The direction in which each double run of a session starts, in the order of time."""
    together = groupby(session.runs, key=lambda run: (run.set_point, run.double_run))
    return [next(iter(runs)).direction for _, runs in together]


@given(protocols, seeds)
def test_every_session_holds_every_run_once(settings: dict[str, Any], seed: int) -> None:
    declared = protocol(**settings)
    schedule = make_schedule(declared, seed, ALL_DAY)
    ways = ["out", "back"] if settings["directions"] == "reciprocal" else ["out"]
    wanted = Counter(
        (point, number, way)
        for point in declared.set_point_values
        for number in range(1, settings["double_runs"] + 1)
        for way in ways
    )
    assert schedule.order == settings["order"]
    for session in schedule.sessions:
        assert Counter((r.set_point, r.double_run, r.direction) for r in session.runs) == wanted
        assert [run.number for run in session.runs] == list(range(1, len(session.runs) + 1))
        # Double runs are made one after the other, and numbered in the order of time.
        numbers = [run.double_run for run in session.runs]
        assert all(b in (a, a + 1, 1) for a, b in pairwise(numbers))


@given(protocols, seeds)
def test_set_points_in_the_order_declared(settings: dict[str, Any], seed: int) -> None:
    schedule = make_schedule(protocol(**settings), seed, ALL_DAY)
    for session in schedule.sessions:
        points = points_in_order(session)
        if settings["set_point_order"] == "ascending":
            assert points == sorted(points)
        elif settings["set_point_order"] == "descending":
            assert points == sorted(points, reverse=True)
        elif len(points) > 2:
            assert points not in (sorted(points), sorted(points, reverse=True))


@given(protocols, seeds)
def test_the_first_direction(settings: dict[str, Any], seed: int) -> None:
    schedule = make_schedule(protocol(**settings), seed, ALL_DAY)
    for session in schedule.sessions:
        started = firsts(session)
        if settings["directions"] == "one_way" or settings["first_direction"] == "fixed":
            assert set(started) == {"out"}
        else:
            assert all(before != after for before, after in pairwise(started))


@given(protocols, seeds)
def test_the_same_seed_gives_the_same_schedule(settings: dict[str, Any], seed: int) -> None:
    declared = protocol(**settings)
    assert make_schedule(declared, seed, ALL_DAY) == make_schedule(declared, seed, ALL_DAY)


def test_another_seed_gives_another_order() -> None:
    declared = protocol()
    orders = {
        tuple(points_in_order(make_schedule(declared, seed).sessions[0])) for seed in range(40)
    }
    assert len(orders) > 10


def test_more_sessions_leave_the_first_ones_as_they_were() -> None:
    """A trial that is prolonged keeps the sheets that are aboard already."""
    short = make_schedule(protocol(order="ABBA"), 7)
    long = make_schedule(protocol(order="ABBAABBA"), 7)
    assert long.sessions[:4] == short.sessions


@given(seeds, st.sampled_from(["ABBA", "ABBAAB", "AABB"]))
def test_sessions_of_a_round_share_their_runs_and_rounds_mirror(seed: int, order: str) -> None:
    """So that a drift inside the sessions meets every configuration alike."""
    schedule = make_schedule(protocol(order=order), seed)
    by_letter = {letter: [s for s in schedule.sessions if s.letter == letter] for letter in "AB"}
    for one, other in zip(by_letter["A"], by_letter["B"], strict=True):
        assert one.runs == other.runs
    first, second = by_letter["A"][:2]
    assert points_in_order(first) == points_in_order(second)[::-1]
    assert firsts(first)[0] != firsts(second)[0]


# --- orders ----------------------------------------------------------------------------------------


# Equal weights and equal spacing: + - - + removes constant and linear drift and leaves 4/4 of the
# quadratic term; + - + - leaves -1/2 of the linear one; + - - + - + + - removes the quadratic one
# too, and its cubic sum is -48 (algebra of the signed sums, worked by hand).
@pytest.mark.parametrize(
    ("order", "sums"),
    [("ABBA", (0, 0, 4)), ("ABAB", (0, -2)), ("ABBABAAB", (0, 0, 0, -48))],
)
def test_signed_sums_of_the_orders(order: str, sums: tuple[int, ...]) -> None:
    for degree, total in enumerate(sums):
        # Mean of A less mean of B is the signed sum over half the sessions.
        assert -drift_left(order, "A", "B", degree) == 2 * total / len(order)


@given(st.integers(1, 40))
def test_extended_abba_takes_drift_out(pairs: int) -> None:
    order = extended_abba(pairs)
    assert order.count("A") == order.count("B") == pairs
    if pairs % 2 == 0:
        assert drift_left(order, "A", "B", 1) == 0
    if pairs % 4 == 0:
        assert drift_left(order, "A", "B", 2) == 0
    if pairs % 8 == 0:
        assert drift_left(order, "A", "B", 3) == 0


@given(st.integers(1, 12), st.integers(2, 5))
def test_more_than_two_configurations(rounds: int, configurations: int) -> None:
    order = extended_abba(rounds, configurations)
    assert set(Counter(order).values()) == {rounds}
    if rounds % 2 == 0:
        assert all(drift_left(order, "A", other, 1) == 0 for other in set(order) - {"A"})


@given(st.integers(1, 20), seeds, st.integers(2, 4))
def test_random_blocks_hold_every_configuration_once(n: int, seed: int, letters: int) -> None:
    order = random_blocks(n, seed, letters)
    assert order == random_blocks(n, seed, letters)
    for start in range(0, len(order), letters):
        assert len(set(order[start : start + letters])) == letters


def test_random_blocks_are_random() -> None:
    assert {random_blocks(2, seed) for seed in range(60)} == {"ABAB", "ABBA", "BAAB", "BABA"}


@given(st.text("ABC", min_size=1, max_size=20))
def test_balanced_blocks_cover_the_order(order: str) -> None:
    blocks = balanced_blocks(order)
    assert [index for block in blocks for index in block] == list(range(len(order)))
    for block in blocks[:-1]:
        counts = Counter(order[block.start : block.stop])
        assert set(counts) == set(order)
        assert len(set(counts.values())) == 1


# --- days --------------------------------------------------------------------------------------------


def spans(schedule: Schedule) -> dict[int, list[tuple[time, time]]]:
    days: dict[int, list[tuple[time, time]]] = {}
    for session in schedule.sessions:
        days.setdefault(session.day, []).append((session.begins, session.ends))
    return days


def test_a_session_has_a_day_of_its_own() -> None:
    schedule = make_schedule(protocol(), 1, Circumstances(first_day=date(2026, 5, 4)))
    assert [session.day for session in schedule.sessions] == [1, 2, 3, 4]
    assert [session.date for session in schedule.sessions] == [
        date(2026, 5, day) for day in (4, 5, 6, 7)
    ]


@given(
    st.sampled_from(["ABBA", "ABBAABBA", "ABCCBA", "ABABABAB"]),
    st.integers(6, 9),
    st.integers(14, 20),
    st.integers(0, 90),
)
def test_days_hold_whole_blocks_in_daylight(
    order: str, opens: int, closes: int, change: int
) -> None:
    light = Circumstances(opens=time(opens), closes=time(closes), change=60.0 * change)
    declared = protocol(order=order, block="day", points=("1000 rpm", "2000 rpm"))
    schedule = make_schedule(declared, 3, light)
    for day, stretches in spans(schedule).items():
        letters = Counter(s.letter for s in schedule.sessions if s.day == day)
        assert len(set(letters.values())) == 1
        assert set(letters) == set(order)
        assert stretches[0][0] == light.opens
        assert stretches[-1][1] <= light.closes
        for (_, ended), (begins, _) in pairwise(stretches):
            gap = (begins.hour - ended.hour) * 60 + begins.minute - ended.minute
            assert abs(gap - change) <= 1
    # No day is opened before the one before is full.
    blocks = balanced_blocks(order)
    one = spans(schedule)[1]
    if len(spans(schedule)) > 1:
        per_block = len(blocks[0])
        minutes = [60 * t.hour + t.minute for t in (one[0][0], one[-1][1])]
        used = minutes[1] - minutes[0] + change
        added = used / (len(one) // per_block)
        assert minutes[0] + used - change + added > 60 * closes - 2 * per_block


def test_a_configuration_that_follows_itself_is_fitted_again() -> None:
    schedule = make_schedule(protocol(order="ABBA", block="day"), 1)
    assert [session.fit_again for session in schedule.sessions] == [False, False, True, False]
    alone = make_schedule(protocol(order="ABBA"), 1)
    assert not any(session.fit_again for session in alone.sessions)


@pytest.mark.parametrize(
    ("block", "says"),
    [
        ("none", "session S1 takes 1 h 14 min for 32 runs"),
        ("day", "the sessions of one day (S1, S2)"),
    ],
)
def test_what_does_not_fit_into_the_daylight(block: str, says: str) -> None:
    light = Circumstances(opens=time(9), closes=time(10))
    points = tuple(f"{n}00 rpm" for n in range(10, 18))
    with pytest.raises(ScheduleError) as caught:
        make_schedule(protocol(points=points, block=block), 1, light)
    assert says in caught.value.message
    assert "09:00 to 10:00 is 1 h 00 min" in caught.value.message
    assert "--daylight" in caught.value.fix


def test_dates_of_a_trial_are_kept() -> None:
    days = (date(2026, 5, 4), date(2026, 5, 4), date(2026, 5, 9), date(2026, 5, 9))
    seats = [
        Seat(f"M{n}", "x", letter, day)
        for n, (letter, day) in enumerate(zip("ABBA", days, strict=True))
    ]
    schedule = make_schedule(protocol(), 1, seats=seats)
    assert [session.date for session in schedule.sessions] == list(days)
    assert [session.day for session in schedule.sessions] == [1, 1, 2, 2]
    assert schedule.sessions[1].begins > schedule.sessions[0].ends
    assert schedule.sessions[2].begins == time(8)


@pytest.mark.parametrize(
    ("days", "first", "says"),
    [
        ((date(2026, 5, 4), None), None, "S2 none"),
        ((date(2026, 5, 4), date(2026, 5, 3)), None, "S2 (2026-05-03) stands after S1"),
        ((date(2026, 5, 4), date(2026, 5, 5)), date(2026, 6, 1), "first day is set already"),
    ],
)
def test_dates_that_do_not_make_an_order(days: Any, first: Any, says: str) -> None:
    seats = [
        Seat(s.id, s.configuration, s.letter, d) for s, d in zip(seats_of("AB"), days, strict=True)
    ]
    with pytest.raises(ScheduleError) as caught:
        make_schedule(protocol(), 1, Circumstances(first_day=first), seats)
    assert says in caught.value.message


def test_headings_are_opposite() -> None:
    schedule = make_schedule(protocol(), 1, Circumstances(course=250.0))
    told = {(run.direction, run.heading) for session in schedule.sessions for run in session.runs}
    assert told == {("out", 250.0), ("back", 70.0)}


def test_the_clock_of_a_session() -> None:
    declared = protocol(points=("1000 rpm",), double_runs=1, order="AB")
    schedule = make_schedule(declared, 1, Circumstances(turn=100.0))
    # Settle 20 s, record 60 s, then 100 s to the next run.
    assert [run.at for run in schedule.sessions[0].runs] == [0.0, 180.0]
    assert schedule.sessions[0].lasts == 260.0
    assert schedule.sessions[0].ends == time(8, 4, 20)


def test_a_trial_beyond_all_measure() -> None:
    points = tuple(f"{n} rpm" for n in range(1, 201))
    declared = protocol(points=points, double_runs=100, order="ABBA")
    with pytest.raises(ScheduleError, match="more than 100000 runs"):
        make_schedule(declared, 1)
