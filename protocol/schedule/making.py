"""The order of a trial: which sessions on which days, and every run in them, from one seed.

Pure: a protocol, a seed and the circumstances go in, dataclasses come out. No file is read.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.schedule.fuel_stops import Fuel
from slackwater.protocol.schedule.planned import (
    Circumstances,
    Pattern,
    PlannedRun,
    Schedule,
    ScheduleError,
    Seat,
)
from slackwater.protocol.schedule.session_days import Draft, place_sessions
from slackwater.protocol.schedule.session_order import occurrences

MOST_RUNS = 100_000


def seats_of(order: str, names: dict[str, str] | None = None) -> list[Seat]:
    """Sessions S1, S2, … in an order of letters; `names` are configurations by their letter."""
    return [
        Seat(f"S{number}", (names or {}).get(letter, letter), letter)
        for number, letter in enumerate(order, start=1)
    ]


def make_schedule(
    protocol: Protocol,
    seed: int,
    circumstances: Circumstances | None = None,
    seats: Sequence[Seat] = (),
    fuel: Fuel | None = None,
) -> Schedule:
    """Lay a trial out.

    Parameters
    ----------
    protocol : Protocol
    seed : int
        Of everything left to chance.
    circumstances : Circumstances, optional
    seats : sequence of Seat, optional
        The sessions; without them the order that the protocol declares.
    fuel : Fuel, optional
        What the boat burns; without it no stops to fill up are planned.

    Returns
    -------
    Schedule

    Raises
    ------
    ScheduleError
        When a session or a day's block does not fit into the daylight, or the days given do not
        make an order.

    Notes
    -----
    Set points are shuffled anew for each round of sessions, and the sessions of one round (the
    first with every configuration, the second, …) share the order and the direction that is made
    first. A drift inside the sessions then meets all configurations alike.
    """
    circumstances = circumstances or Circumstances()
    seats = list(seats) or seats_of(protocol.sessions.order)
    pattern = Pattern.of(protocol)
    per_session = len(pattern.set_points) * pattern.double_runs * (2 if pattern.reciprocal else 1)
    if per_session * len(seats) > MOST_RUNS:
        raise ScheduleError(
            f"{len(seats)} sessions of {per_session} runs are more than {MOST_RUNS} runs",
            "reduce the set points, the double runs or the sessions",
        )
    rounds = occurrences([seat.letter for seat in seats])
    if max(rounds) == 0 and len(seats) > 2:
        rounds = list(range(len(seats)))  # else all sessions would share one order
    orders = set_point_orders(pattern, seed, max(rounds) + 1)
    drafts = [
        session_draft(seat, pattern, orders[turn], turn, circumstances, fuel)
        for seat, turn in zip(seats, rounds, strict=True)
    ]
    by_day = protocol.sessions.block == "day"
    return Schedule(
        seed=seed,
        pattern=pattern,
        circumstances=circumstances,
        by_day=by_day,
        sessions=tuple(place_sessions(drafts, by_day, circumstances, fuel)),
        fuel=fuel,
        notes=tuple(_fuel_notes(pattern, circumstances, fuel)),
    )


def set_point_orders(pattern: Pattern, seed: int, rounds: int) -> list[list[int]]:
    """The order of the set points in each round of sessions, as places in `pattern.set_points`.

    Every other round is shuffled anew, so that it runs neither straight up nor straight down; the
    one after it takes the set points backwards. An even drift through each session then leaves the
    mean curve of both unbent.
    """
    places = sorted(range(len(pattern.set_points)), key=pattern.set_points.__getitem__)
    if pattern.set_point_order == "ascending":
        return [places] * rounds
    if pattern.set_point_order == "descending":
        return [places[::-1]] * rounds
    chance = Random(f"{seed} set points")
    found: list[list[int]] = []
    while len(found) < rounds:
        drawn = list(places)
        chance.shuffle(drawn)
        while len(places) > 2 and drawn in (places, places[::-1]):
            chance.shuffle(drawn)
        found += [drawn, drawn[::-1]]
    return found[:rounds]


def session_draft(
    seat: Seat,
    pattern: Pattern,
    order: Sequence[int],
    turn: int,
    circumstances: Circumstances,
    fuel: Fuel | None = None,
) -> Draft:
    """The runs of one session, with the stops to fill up that fall inside it.

    Parameters
    ----------
    order : sequence of int
        Places of the set points in `pattern.set_points`.
    turn : int
        Which round of sessions it is, from 0: where the first direction alternates, it decides
        the direction of the session's first run.
    """
    ways = ("out", "back") if pattern.reciprocal else ("out",)
    out = circumstances.course
    headings = {"out": out, "back": None if out is None else (out + 180) % 360}
    runs: list[PlannedRun] = []
    clock = burned = since = 0.0
    turned = pattern.alternate and bool(turn % 2)
    for place in order:
        use = double_run_use(pattern, circumstances, fuel, place)
        for number in range(1, pattern.double_runs + 1):
            fill = 0.0
            if fuel and fuel.allowance is not None and since and since + use > fuel.allowance:
                fill, since = since, 0.0
                clock += circumstances.fill
            for way in ways[::-1] if turned else ways:
                set_point = pattern.set_points[place]
                runs.append(
                    PlannedRun(len(runs) + 1, set_point, number, way, headings[way], clock, fill)
                )
                fill = 0.0
                clock += pattern.run_time + circumstances.turn
            since += use
            burned += use
            turned ^= pattern.alternate
    return Draft(seat, tuple(runs), clock - circumstances.turn, burned if fuel else None, since)


def double_run_use(
    pattern: Pattern, circumstances: Circumstances, fuel: Fuel | None, place: int
) -> float:
    """What one double run burns, its turns at the flow of the set point. [L]"""
    if fuel is None:
        return 0.0
    runs = 2 if pattern.reciprocal else 1
    return fuel.flows[place] * runs * (pattern.run_time + circumstances.turn) / 3600


def _fuel_notes(pattern: Pattern, circumstances: Circumstances, fuel: Fuel | None) -> list[str]:
    if fuel is None or fuel.allowance is None:
        return []
    notes = []
    for place, set_point in enumerate(pattern.set_points):
        use = double_run_use(pattern, circumstances, fuel, place)
        if use > fuel.allowance:
            notes.append(
                f"one double run at {set_point:g} {pattern.unit} burns {use:.1f} L, more than the "
                f"{fuel.allowance:.1f} L between fillings ({fuel.because}): shorten the runs, or "
                "declare a wider tolerance"
            )
    return notes
