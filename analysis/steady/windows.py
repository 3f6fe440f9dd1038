"""From a leg to what is recorded of it: `settle` after the last command, for as long as `record` says.

What is recorded has to pass tests that know nothing of the log's own scale: a boat that gathers speed
evenly, or turns evenly, is as quiet as one that does neither.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from slackwater.analysis.logs.joining import smoothed
from slackwater.analysis.steady.legs import Leg
from slackwater.analysis.steady.response import time_to_settle
from slackwater.analysis.steady.steadiness import SMOOTH, UNDER_WAY
from slackwater.analysis.steady.track import KNOT, Array, Track

EDGE = 3.0  # [s]; a command shows in speed and course no sharper than this
MOST_DRIFT = 0.03  # of the speed, over what is recorded
RESOLVED = 0.1  # [kn]; besides: what many receivers print no finer than
MOST_TURN = 10.0  # [deg], over what is recorded
LEAST_CHORD = 0.98  # of the way made
LEAST_SEEN = 0.5  # of the cells that hold a value
LEAST_CELLS = 5  # fewer tell neither a drift nor a turn


@dataclass(frozen=True, slots=True)
class Window:
    """What is recorded of a leg.

    Parameters
    ----------
    leg : Leg
    first, last : int
        From this cell to before that one.
    usable : tuple of int
        From where to before where it may lie, once the boat has answered.
    earliest : int
        Where it may begin at the earliest, by the protocol's time to settle.
    why_not : str
        Empty when it is steady and long enough; else what it lacks.
    """

    leg: Leg
    first: int
    last: int
    usable: tuple[int, int]
    earliest: int = 0
    why_not: str = ""

    @property
    def cells(self) -> slice:
        """Of the track."""
        return slice(self.first, self.last)


def window_of(
    track: Track, leg: Leg, settle: float, record: float, response: float = 0.0
) -> Window:
    """Cut a leg at the first stretch that will do, or say what keeps it from being a run.

    Parameters
    ----------
    track : Track
    leg : Leg
    settle, record : float
        As the protocol has them. [s]
    response : float
        How long the boat takes to answer. [s]
    """
    edge = track.cells(EDGE)
    need = track.cells(record)
    first = leg.commanded + track.cells(settle)
    left = leg.end - first
    if left < need - 2 * edge or leg.end < need:
        first = min(first, leg.end)
        why = _short(track, leg, settle, record, left)
        return Window(leg, first, leg.end, (first, leg.end), first, why)
    # A boat that takes longer to answer than the protocol says is given longer, where there is time.
    slow = leg.commanded + track.cells(time_to_settle(track, leg, response))
    earliest = min(first, leg.end - need)
    first = min(max(first, slow), leg.end - need)
    return first_sound(track, Window(leg, first, first + need, (first, leg.end), earliest))


def first_sound(track: Track, window: Window) -> Window:
    """The window moved on to where it passes every test; where it never does, why not."""
    need, (start, end) = window.last - window.first, window.usable
    reason = ""
    for first in range(start, end - need + 1, track.cells(EDGE)):
        why = unsteady(track, slice(first, first + need))
        if not why:
            return replace(window, first=first, last=first + need, usable=(first, end))
        reason = reason or why
    return replace(window, why_not=reason)


def moved(
    track: Track, window: Window, towards: float, axis: float, *, early: bool = False
) -> Window:
    """The window where its middle lies nearest to a place along an axis, if it is steady there.

    `early` lets it begin as soon as the protocol says.
    """
    need, (start, end) = window.last - window.first, window.usable
    start = window.earliest if early else start
    middle = along(track, slice(start + need // 2, end - need + need // 2 + 1), axis)
    return begun_at(track, window, start + int(np.argmin(np.abs(middle - towards))))


def begun_at(track: Track, window: Window, first: int) -> Window:
    """The window begun at another cell, if it is steady from there on; else as it is."""
    last = first + window.last - window.first
    return (
        window if unsteady(track, slice(first, last)) else replace(window, first=first, last=last)
    )


def _short(track: Track, leg: Leg, settle: float, record: float, left: int) -> str:
    whole = (leg.end - max(leg.begin, leg.even[0])) * track.step
    rest = max(left, 0) * track.step
    return (
        f"too short: held for {whole:.0f} s, which leaves {rest:.0f} s after {settle:g} s to settle; "
        f"{record:g} s are needed"
    )


def unsteady(track: Track, window: slice) -> str:
    """What speaks against a stretch as a run, whatever the log's scale; empty when nothing does."""
    speed, course = track.speed[window], track.course[window]
    if speed.size < LEAST_CELLS:
        return f"not to be told: a value every {track.step:.0f} s is too seldom for a run"
    mean = float(speed.mean())
    if mean < UNDER_WAY:
        return f"not under way: {mean:.2f} kn"
    there = float(track.seen[window].mean())
    if there < LEAST_SEEN:
        return f"the record has gaps: {there:.0%} of it is there"
    drift = _rise(speed)
    if abs(drift) > MOST_DRIFT * mean + RESOLVED:
        return f"not held: the speed changed by {drift:+.2f} kn at {mean:.2f} kn"
    turn = _rise(course)
    if abs(turn) > MOST_TURN:
        return f"not straight: the course changed by {turn:+.0f} deg"
    share = chord_share(track, window)
    if share < LEAST_CHORD:
        return f"not straight: from end to end it is {share:.1%} of the way made"
    return ""


def _rise(values: Array) -> float:
    """Change over the stretch, by the straight line that fits best."""
    at = np.arange(values.size) - (values.size - 1) / 2
    return float((at @ values) / (at @ at) * values.size)


def chord_share(track: Track, window: slice) -> float:
    """Distance from end to end as part of the way made, short swerves smoothed."""
    cells = track.cells(SMOOTH)
    east, north = smoothed(track.east, cells)[window], smoothed(track.north, cells)[window]
    path = float(np.hypot(np.diff(east), np.diff(north)).sum())
    return float(np.hypot(east[-1] - east[0], north[-1] - north[0])) / path if path else 0.0


def along(track: Track, cells: slice, axis: float) -> Array:
    """Place of the cells along an axis. [deg; m]"""
    turn, (east, north) = np.radians(axis), track.place
    return np.asarray(np.sin(turn) * east[cells] + np.cos(turn) * north[cells])


def way_made(track: Track, cells: slice, axis: float) -> tuple[float, float]:
    """The interval along an axis that some cells cover. [deg; m, m]"""
    places = along(track, cells, axis)
    return float(places.min()), float(places.max())


def mean_course(track: Track, window: Window) -> float:
    """Course made over a window. [deg, 0 to 360]"""
    turn = np.radians(track.course[window.cells])
    weight = track.speed[window.cells] * KNOT
    east, north = float(weight @ np.sin(turn)), float(weight @ np.cos(turn))
    return float(np.degrees(np.arctan2(east, north)) % 360.0)
