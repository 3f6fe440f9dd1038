"""Legs: from where the boat came on her course at her speed to where she left either."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import zip_longest

import numpy as np

from slackwater.analysis.logs.joining import smoothed
from slackwater.analysis.steady.steadiness import WITHIN, steady_cells
from slackwater.analysis.steady.track import Array, Mask, Track

EDGE_SMOOTH, HELD_SMOOTH = 5.0, 3.0  # [s] of speed and course, of what is held
STRAY = 4.0  # times the leg's own scatter; beyond it the boat has left what she held
LEAST_STRAY = 0.01  # of speed
LEAST_SWERVE = 4.0  # [deg]
LEAST_CHANGE = 0.006  # of what is held
LURCH = 15.0  # [s]; who is away from her speed for longer was brought there
MAD_TO_SD = 1.4826


@dataclass(frozen=True, slots=True)
class Leg:
    """A stretch held straight at one speed; all are cells of the track.

    Parameters
    ----------
    core : tuple of int
        First and last cell that the steadiness was seen around.
    straight : tuple of int
        From where to before where the course was held.
    even : tuple of int
        From where to before where the speed was held.
    commanded : int
        When helm or throttle were last touched before it.
    speed, course : float
        Medians of the core. [kn, deg]
    stray : float
        How far the speed may be from it. [kn]
    """

    core: tuple[int, int]
    straight: tuple[int, int]
    even: tuple[int, int]
    commanded: int
    speed: float
    course: float
    stray: float

    @property
    def begin(self) -> int:
        """The first cell on course."""
        return self.straight[0]

    @property
    def end(self) -> int:
        """The first cell that is no longer of it."""
        return min(self.straight[1], self.even[1])


def find_legs(track: Track) -> list[Leg]:
    """All legs in order of time; where two are one leg with a lurch between, one."""
    known = _stretches(track.known)
    even, straight = _edge_series(track)
    found: list[Leg] = []
    for first, last in _stretches(steady_cells(track)):
        around = next((a, b) for a, b in known if a <= first <= b)
        leg = _leg(track, even, straight, (first, last), around)
        if found and leg.begin < found[-1].end and _alike(track, found[-1], leg):
            leg = _leg(track, even, straight, (found[-1].core[0], last), around)
            found.pop()
        found.append(leg)
    return _with_commands(track, found)


def _stretches(mask: Mask) -> list[tuple[int, int]]:
    """First and last cell of each stretch where the mask holds."""
    change = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in zip(change[::2], change[1::2], strict=True)]


def _edge_series(track: Track) -> tuple[Array, Array]:
    cells = track.cells(EDGE_SMOOTH)
    return smoothed(track.speed, cells), smoothed(track.course, cells)


def _alike(track: Track, one: Leg, other: Leg) -> bool:
    """Whether two legs are one: nobody touched helm or throttle in between."""
    return (
        (other.even[0] - one.even[1]) * track.step <= LURCH
        and abs(one.speed - other.speed) <= max(2 * LEAST_STRAY * one.speed, one.stray, other.stray)
        and abs(one.course - other.course) <= 2 * LEAST_SWERVE
        and _held_alike(track, one, other)
    )


def _held_alike(track: Track, one: Leg, other: Leg) -> bool:
    """Whether what is held was the same in both; true where nobody knows."""
    if track.held is None:
        return True
    first, second = (float(np.median(track.held[a : b + 1])) for a, b in (one.core, other.core))
    return not abs(first - second) > 2 * LEAST_CHANGE * abs(first)


def _leg(
    track: Track, even: Array, straight: Array, core: tuple[int, int], around: tuple[int, int]
) -> Leg:
    """Follow the core to both sides until the course or the speed is left."""
    half = track.cells(WITHIN / 4)
    inner = slice(max(core[0] - half, around[0]), min(core[1] + half, around[1]) + 1)
    speed, course = float(np.median(even[inner])), float(np.median(straight[inner]))
    stray = max(LEAST_STRAY * speed, STRAY * _scatter(even[inner]))
    swerve = max(LEAST_SWERVE, STRAY * _scatter(straight[inner]))
    back = track.cells(EDGE_SMOOTH / 2) - 1
    return Leg(
        core,
        _held(np.abs(straight - course) <= swerve, core, around, back),
        _held(np.abs(even - speed) <= stray, core, around, back),
        0,
        speed,
        course,
        stray,
    )


def _scatter(values: Array) -> float:
    return MAD_TO_SD * float(np.median(np.abs(values - np.median(values))))


def _held(
    inside: Mask, core: tuple[int, int], around: tuple[int, int], back: int
) -> tuple[int, int]:
    """From where to before where the mask holds about the core; `back` cells are of the smoothing."""
    left = np.flatnonzero(~inside[around[0] : core[0] + 1])
    right = np.flatnonzero(~inside[core[1] : around[1] + 1])
    begin = around[0] + int(left[-1]) + 1 + back if left.size else around[0]
    end = core[1] + int(right[0]) - back if right.size else around[1] + 1
    return min(begin, core[0]), max(end, core[1] + 1)


def _with_commands(track: Track, legs: list[Leg]) -> list[Leg]:
    """When helm or throttle were last touched before each leg; no leg reaches into the next one."""
    found: list[Leg] = []
    before = 0
    for leg, behind in zip_longest(legs, legs[1:]):
        last = leg.end if behind is None else min(leg.end, max(behind.core[0], leg.core[1] + 1))
        touched = _throttle(track, leg)
        # Speed is left when the next one is commanded: so the leg before tells it, too.
        commanded = max(leg.straight[0], touched or 0, min(before, leg.core[0]))
        leg = replace(leg, commanded=commanded)
        found.append(replace(leg, straight=(leg.straight[0], min(leg.straight[1], last))))
        before = last
    return found


def _throttle(track: Track, leg: Leg) -> int | None:
    """When what is held came to where the leg has it; None where it was not recorded."""
    if track.held is None:
        return None
    first, last = leg.core
    there = np.isfinite(track.held)
    if not there[first : last + 1].all():
        return None
    back = track.cells(HELD_SMOOTH / 2) - 1
    held = smoothed(np.where(there, track.held, 0.0), track.cells(HELD_SMOOTH))
    inner = held[first : last + 1]
    level = float(np.median(inner))
    band = max(LEAST_CHANGE * abs(level), STRAY * _scatter(inner))
    inside = there[: last + 1] & (np.abs(held[: last + 1] - level) <= band)
    inside = _lasting(inside, track.cells(HELD_SMOOTH))
    away = np.flatnonzero(~inside[: (first + last) // 2 + 1])
    return int(away[-1]) + 1 - back if away.size else 0


def _lasting(inside: Mask, cells: int) -> Mask:
    """The mask without interruptions shorter than so many cells: single readings stray."""
    out = inside.copy()
    for first, last in _stretches(~inside):
        if last - first + 1 < cells and first > 0 and last < inside.size - 1:
            out[first : last + 1] = True
    return out
