"""Tries of stops, and of gathering speed, from the speed over an outing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from slackwater.analysis.handling.changes_found import AT_REST, FoundChange, find_changes
from slackwater.analysis.handling.circles_found import BORROWED, Circles, LeftOut
from slackwater.analysis.handling.drift import Drift
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.found_try import NO_DRIFT, FoundTry, with_values
from slackwater.analysis.handling.path import Array, NoPath, Path
from slackwater.analysis.handling.speeds import Timed, time_between, time_to_plane, time_to_speed
from slackwater.analysis.handling.stopping import stopping
from slackwater.analysis.handling.wanted import STOPS, Wanted, WantedValue
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.track import KNOT, first

LEVERS = ("throttle", "engine_speed", "propeller_speed")
AFTER = 60.0  # [s] for which a stop is watched after she is slow
SLOW = 2.0  # [kn]
MOST_TURN = 30.0  # [deg] by which she may turn while she gathers speed


def _drift_near(circles: Circles, when: float) -> Drift | None:
    """What the nearest turn within half an hour told of the drift."""
    own = [c for c in circles.found if c.drift is not None and abs(c.order - when) <= BORROWED]
    near = min(own, key=lambda circle: abs(circle.order - when), default=None)
    return None if near is None or near.drift is None else replace(near.drift, uncertainty=None)


def _through_water(wanted: Wanted, path: Path, circles: Circles) -> tuple[Path, bool]:
    """The path to read speeds from, and whether it is freed of what it has to be freed of."""
    if wanted.current != "drift_taken_out":
        return path, True
    drift = _drift_near(circles, sum(path.span) / 2) or next(
        (circle.drift for circle in circles.found if circle.drift is not None), None
    )
    return (
        (path, False) if drift is None else (path.less(drift.east, drift.north, path.span[0]), True)
    )


def _speed_of(path: Path) -> Array:
    return np.asarray(np.hypot(path.east_velocity, path.north_velocity) / KNOT)


def stops(
    wanted: Wanted, path: Path, circles: Circles, channels: Sequence[Channel]
) -> Iterator[FoundTry | LeftOut]:
    way, freed = _through_water(wanted, path, circles)
    speed, lever = _speed_of(way), first(channels, *LEVERS)
    changes = find_changes(
        way.velocity_seconds, speed, wanted.from_speed, SLOW, lever, rising=False
    )
    for change in changes:
        until = _until_under_way(way, speed, change.reached)
        drift = (
            _drift_near(circles, change.command) if wanted.current == "drift_taken_out" else None
        )
        try:
            stop = stopping(path, change.command, until, drift=drift, order_uncertainty=change.uncertainty)  # fmt: skip
        except NoPath as error:
            yield LeftOut(change.command, change.reached, f"no {wanted.name}: {error}")
            continue
        values = {each.name: stop.figures[STOPS[each.kind]] for each in wanted.values}
        one = FoundTry(wanted.name, change.command, stop.end or until, values, stop.course)
        if wanted.current == "drift_taken_out" and (not freed or drift is None):
            one = replace(one, aside=NO_DRIFT)  # fmt: skip
        notes = [note for note in stop.notes if wanted.current == "drift_taken_out" or "left in" not in note]  # fmt: skip
        yield with_values(one, [*notes, *_ordered_by(change)])


def _until_under_way(path: Path, speed: Array, reached: float) -> float:
    """Until when a stop is watched: until she gathers way again, or a minute. [s]"""
    after = path.velocity_seconds > reached
    again = path.velocity_seconds[after][speed[after] > SLOW + AT_REST]
    end = min(reached + AFTER, path.span[1])
    return min(end, float(again[0])) if again.size else end


def _ordered_by(change: FoundChange) -> Iterator[str]:
    if change.told_by == "speed":
        yield "the order is when the speed began to change: neither throttle nor engine speed tells when it was given"


def speeds(
    wanted: Wanted, path: Path, circles: Circles, channels: Sequence[Channel]
) -> Iterator[FoundTry | LeftOut]:
    way, freed = _through_water(wanted, path, circles)
    speed, seconds = _speed_of(way), way.velocity_seconds
    target, begin, rising = _ends(wanted, speed)
    if math.isnan(target):
        return
    trim = first(channels, "trim")
    for change in find_changes(seconds, speed, begin, target, first(channels, *LEVERS), rising=rising):  # fmt: skip
        turn = _turned(way, change)
        if turn > MOST_TURN:
            why = f"no {wanted.name}: she turned by {turn:.0f} deg while her speed changed"
            yield LeftOut(change.command, change.reached, why)
            continue
        timed = {each.name: _timed(each, way, speed, change, trim) for each in wanted.values}
        ends = [t.end for t in timed.values() if t.end is not None]
        values = {name: t.time for name, t in timed.items()}
        one = FoundTry(
            wanted.name, change.command, max([change.reached, *ends]), values, _course(way, change)
        )
        if not freed:
            one = replace(one, aside=NO_DRIFT)
        yield with_values(one, list(_ordered_by(change)))


def _ends(wanted: Wanted, speed: Array) -> tuple[float, float | None, bool]:
    """The speed that tells a change, the one that it begins at, and whether it rises; NaN where nothing tells it. [kn]"""
    tos = [v.to_speed for v in wanted.values if v.to_speed is not None]
    begin = next((v.from_speed for v in wanted.values if v.kind != "time_between_speeds" and v.from_speed is not None), None)  # fmt: skip
    between = [v.from_speed for v in wanted.values if v.kind == "time_between_speeds" and v.from_speed is not None]  # fmt: skip
    if not tos:  # time to plane alone: three fifths of what she ever made
        return (0.6 * float(np.quantile(speed, 0.99)) if speed.size else math.nan), begin, True
    rising = max(tos) > (begin if begin is not None else min(between, default=0.0))
    only_between = all(v.kind == "time_between_speeds" for v in wanted.values)
    if only_between:  # it may begin anywhere beyond the first of its speeds
        begin = None if rising else max(between)
    return (max(tos) if rising else min(tos)), begin, rising


def _timed(
    value: WantedValue, way: Path, speed: Array, change: FoundChange, trim: Channel | None
) -> Timed:
    seconds = way.velocity_seconds
    near = (seconds >= change.command - 10.0) & (seconds <= change.reached + 20.0)
    if value.kind == "time_to_plane":
        if trim is None:
            return Timed(Figure.missing("s", "no trim is recorded; declare a time_to_speed at the speed she planes at"))  # fmt: skip
        part = (trim.seconds >= change.command) & (trim.seconds <= change.reached + 20.0)
        return time_to_plane(trim.seconds[part], trim.values[part], change.command, command_uncertainty=change.uncertainty)  # fmt: skip
    to = value.to_speed or 0.0
    if value.kind == "time_between_speeds":
        return time_between(seconds[near], speed[near], value.from_speed or 0.0, to)
    return time_to_speed(seconds[near], speed[near], change.command, to, command_uncertainty=change.uncertainty)  # fmt: skip


def _turned(way: Path, change: FoundChange) -> float:
    """By how much she turned while her speed changed; by her course, as soon as she made way. [deg]"""
    during = way.within(change.command, change.reached)
    if during.heading.size >= 2:
        return float(np.ptp(during.heading))
    _, angles = during.course()
    fast = _speed_of(during) > 3.0
    return float(np.ptp(np.unwrap(angles[fast], period=360.0))) if fast.sum() >= 2 else 0.0


def _course(way: Path, change: FoundChange) -> float | None:
    """The way made while her speed changed. [deg]"""
    during = way.within(change.command - 2.0, change.reached)
    if during.seconds.size < 2:
        return None
    east, north = during.east[-1] - during.east[0], during.north[-1] - during.north[0]
    return math.degrees(math.atan2(float(east), float(north))) % 360.0
