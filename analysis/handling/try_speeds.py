"""Tries of stops, and of gathering speed, from the speed over an outing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from slackwater.analysis.handling.changes_found import AT_REST, FoundChange, find_changes
from slackwater.analysis.handling.circles_found import Circles, LeftOut
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.found_try import NO_DRIFT, FoundTry
from slackwater.analysis.handling.path import Array, NoPath, Path
from slackwater.analysis.handling.speeds import Timed, time_between, time_to_plane, time_to_speed
from slackwater.analysis.handling.stopping import stopping
from slackwater.analysis.handling.wanted import STOPS, Wanted, WantedValue
from slackwater.analysis.handling.way_made import (  # fmt: skip
    MOST_TURN,
    course_made,
    drift_near,
    speed_of,
    through_water,
    turned,
)
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.track import first

LEVERS = ("throttle", "engine_speed", "propeller_speed")
AFTER = 60.0  # [s] for which a stop is watched after she is slow
SLOW = 2.0  # [kn]


def stops(
    wanted: Wanted, path: Path, circles: Circles, channels: Sequence[Channel]
) -> Iterator[FoundTry | LeftOut]:
    way, freed = through_water(wanted, path, circles)
    speed, lever = speed_of(way), first(channels, *LEVERS)
    changes = find_changes(
        way.velocity_seconds, speed, wanted.from_speed, SLOW, lever, rising=False
    )
    for change in changes:
        until = _until_under_way(way, speed, change.reached)
        drift = drift_near(circles, change.command) if wanted.current == "drift_taken_out" else None
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
        yield replace(one, notes=(*notes, *_ordered_by(change)))


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
    way, freed = through_water(wanted, path, circles)
    speed, seconds = speed_of(way), way.velocity_seconds
    target, begin, rising = _ends(wanted, speed)
    if math.isnan(target):
        return
    trim = first(channels, "trim")
    for change in find_changes(seconds, speed, begin, target, first(channels, *LEVERS), rising=rising):  # fmt: skip
        turn = turned(way, change.command, change.reached)
        if turn > MOST_TURN:
            why = f"no {wanted.name}: she turned by {turn:.0f} deg while her speed changed"
            yield LeftOut(change.command, change.reached, why)
            continue
        timed = {each.name: _timed(each, way, speed, change, trim) for each in wanted.values}
        ends = [t.end for t in timed.values() if t.end is not None]
        values = {name: t.time for name, t in timed.items()}
        one = FoundTry(
            wanted.name,
            change.command,
            max([change.reached, *ends]),
            values,
            course_made(way, change.command - 2.0, change.reached),
        )
        if not freed:
            one = replace(one, aside=NO_DRIFT)
        yield replace(one, notes=tuple(_ordered_by(change)))


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
