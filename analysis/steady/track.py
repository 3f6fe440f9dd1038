"""Channels laid on one even grid of time: speed, course, way made, and what was held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Channel
from slackwater.protocol.units.quantity import convert

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

KNOT = 1852.0 / 3600.0  # [m/s]
METRES_A_DEGREE = 60.0 * 1852.0  # of latitude
BRIDGED = 15.0  # [s]; a longer gap parts what is before it from what is behind it
FROM_POSITIONS = 25.0  # [s]; over less than that, positions give more noise than speed
COURSES = ("course_over_ground", "course_over_ground_magnetic")
MOST_CELLS = 4_000_000  # six weeks at one a second


class NoTrack(ValueError):
    """Channels that no track can be laid from; says what is missing."""


@dataclass(frozen=True, slots=True)
class Track:
    """The boat on an even grid; all arrays have the shape (cells,).

    Parameters
    ----------
    start, step : float
        Time of the first cell's beginning, and the width of a cell. [s]
    speed : ndarray
        Over ground. [kn]
    course : ndarray
        Unwound, so that it passes north without a leap. [deg]
    east, north : ndarray
        Way made since the first cell, from speed and course. [m]
    place : tuple of ndarray
        East and north of the first cell, from positions where there are any. [m]
    held : ndarray or None
        What is held at set points; None where no channel has it.
    seen, known : ndarray of bool
        Where speed and course were recorded; the same with short gaps bridged.
    notes : tuple of str
        What was not taken from where one would expect it.
    """

    start: float
    step: float
    speed: Array
    course: Array
    east: Array
    north: Array
    place: tuple[Array, Array]
    held: Array | None
    seen: Mask
    known: Mask
    notes: tuple[str, ...] = ()

    def cells(self, seconds: float) -> int:
        """How many cells make up so many seconds, at least one."""
        return max(1, round(seconds / self.step))

    def time(self, cell: int) -> float:
        """When a cell begins. [s]"""
        return self.start + cell * self.step


def first(channels: Sequence[Channel], *quantities: str) -> Channel | None:
    """The first channel of the first of the quantities that has any sample."""
    for quantity in quantities:
        for channel in channels:
            if channel.quantity == quantity and channel.seconds.size:
                return channel
    return None


def in_unit(channel: Channel, unit: str) -> Channel:
    """The channel in another unit of its dimension."""
    low, high = convert(0.0, channel.unit, unit), convert(1.0, channel.unit, unit)
    return replace(channel, unit=unit, values=low + (high - low) * channel.values)


def lay_track(channels: Sequence[Channel], held: str, unit: str) -> Track:
    """The track of one boat, from one channel for each quantity; what is held in a unit.

    Raises
    ------
    NoTrack
        When neither speed and course nor positions are there.
    """
    speed, course = first(channels, "speed_over_ground"), first(channels, *COURSES)
    latitude, longitude = first(channels, "latitude"), first(channels, "longitude")
    leading = speed or latitude
    if leading is None or (course is None and (latitude is None or longitude is None)):
        raise NoTrack("neither speed and course over ground nor positions are recorded")
    start, step, count = _grid(leading)
    notes: list[str] = []
    way = _way_of(latitude, longitude, start, step, count)
    if speed is not None:
        knots, seen = _binned(speed, start, step, count)
    else:
        notes.append(f"speed was made from positions, over {FROM_POSITIONS:g} s")
        knots, seen = _speed_of(way, step)
    if course is not None:
        degrees, also = _course_of(course, start, step, count)
        seen &= also
    else:
        notes.append(f"the course was made from positions, over {FROM_POSITIONS:g} s")
        degrees = _bearing(way, step)
    known = _bridge(seen, step)
    knots = _filled(knots, seen, "speed with a course")
    degrees = np.unwrap(_filled(degrees, seen, "course over ground"), period=360.0)
    metres = knots * KNOT * step
    turn = np.radians(degrees)
    kept = first(channels, held)
    value = None
    if kept is not None:
        held_cells, there = _binned(in_unit(kept, unit), start, step, count)
        near = _bridge(there, step)
        value = np.where(near, _filled(held_cells, there, held.replace("_", " ")), np.nan)
    made = np.cumsum(metres * np.sin(turn)), np.cumsum(metres * np.cos(turn))
    place = made if way is None else way[:2]
    return Track(start, step, knots, degrees, *made, place, value, seen, known, tuple(notes))


def _grid(channel: Channel) -> tuple[float, float, int]:
    """Start, width and number of cells: a second, or what the receiver takes between two values."""
    between = np.diff(channel.seconds)
    between = between[between > 0]
    usual = float(np.median(between)) if between.size else 1.0
    step = max(1.0, round(usual, 1))
    start = float(channel.seconds[0])
    count = int((channel.seconds[-1] - start) / step) + 1
    if count > MOST_CELLS:
        raise NoTrack(
            f"the log spans {count * step / 86400:.0f} days: give the logs of one session"
        )
    return start, step, count


def _binned(channel: Channel, start: float, step: float, count: int) -> tuple[Array, Mask]:
    """Mean of the samples in each cell, and where there is any."""
    cell = np.floor((channel.seconds - start) / step).astype(np.int64)
    inside = (cell >= 0) & (cell < count)
    cell, values = cell[inside], channel.values[inside]
    number = np.bincount(cell, minlength=count)
    total = np.bincount(cell, weights=values, minlength=count)
    return total / np.maximum(number, 1), number > 0


def _course_of(channel: Channel, start: float, step: float, count: int) -> tuple[Array, Mask]:
    """Mean course of each cell, as an angle around the compass, unwound. [deg]"""
    turn = np.radians(channel.values)
    parts = []
    seen = np.zeros(count, dtype=bool)
    for function in (np.sin, np.cos):
        part = Channel("", "", "", channel.seconds, function(turn))
        mean, seen = _binned(part, start, step, count)
        parts.append(mean)
    degrees = np.degrees(np.arctan2(*parts))
    degrees[seen] = np.unwrap(degrees[seen], period=360.0)
    return degrees, seen


def _way_of(
    latitude: Channel | None, longitude: Channel | None, start: float, step: float, count: int
) -> tuple[Array, Array, Mask] | None:
    """East and north of the first position, and where positions are. [m]"""
    if latitude is None or longitude is None:
        return None
    north, seen = _binned(latitude, start, step, count)
    east, also = _binned(longitude, start, step, count)
    seen = seen & also
    if seen.sum() < 2:
        return None
    here = np.radians(np.median(north[seen]))
    north, east = _filled(north, seen, "latitude"), _filled(east, seen, "longitude")
    shrunk = METRES_A_DEGREE * np.cos(here)
    return (east - east[0]) * shrunk, (north - north[0]) * METRES_A_DEGREE, seen


def _velocity(way: tuple[Array, Array, Mask] | None, step: float) -> tuple[Array, Array, Mask]:
    """East and north velocity from positions, over a stretch around each cell. [m/s]"""
    if way is None:
        raise NoTrack("positions are recorded, but fewer than two of them")
    east, north, seen = way
    half = max(1, round(FROM_POSITIONS / step / 2))
    at = np.arange(east.size)
    before, behind = np.maximum(at - half, 0), np.minimum(at + half, east.size - 1)
    seconds = np.maximum(behind - before, 1) * step
    return (east[behind] - east[before]) / seconds, (north[behind] - north[before]) / seconds, seen


def _speed_of(way: tuple[Array, Array, Mask] | None, step: float) -> tuple[Array, Mask]:
    east, north, seen = _velocity(way, step)
    return np.hypot(east, north) / KNOT, seen.copy()


def _bearing(way: tuple[Array, Array, Mask] | None, step: float) -> Array:
    east, north, _ = _velocity(way, step)
    return np.asarray(np.degrees(np.arctan2(east, north)))


def _bridge(seen: Mask, step: float) -> Mask:
    """Where values are, or no more than a few seconds without any."""
    at = np.flatnonzero(seen)
    known = seen.copy()
    longest = max(BRIDGED / step, 2.0)
    for before, behind in pairwise(at):
        if 1 < behind - before <= longest + 1:
            known[before:behind] = True
    return known


def _filled(values: Array, seen: Mask, name: str) -> Array:
    """Gaps bridged by straight lines, the ends held."""
    if not seen.any():
        raise NoTrack(f"no {name} lies within the time of the track")
    at = np.arange(values.size)
    return np.interp(at, at[seen], values[seen])
