"""The path of a boat as her instruments wrote it: places, velocities and headings, each on its own clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.logs.survey import GAP_STEPS, SHORTEST_GAP, usual_step
from slackwater.analysis.steady.track import COURSES, KNOT, METRES_A_DEGREE, first

Array = NDArray[np.float64]
HEADINGS = ("heading", "heading_magnetic")
UNEVEN = 3.0  # times the shortest of three steps; beyond it a curve through four samples swings
EMPTY: Array = np.empty(0)


class NoPath(ValueError):
    """Channels that no path can be laid from; says what is missing."""


@dataclass(frozen=True, slots=True)
class Path:
    """A path; none of its times falls, and none comes twice.

    Parameters
    ----------
    seconds, east, north : ndarray, shape (places,)
        When the boat was where, from the first place. [s, m, m]
    velocity_seconds, east_velocity, north_velocity : ndarray, shape (velocities,)
        Over ground. [s, m/s, m/s]
    heading_seconds, heading : ndarray, shape (headings,)
        Unwound, so that it passes north without a leap; empty where no compass was recorded. [s, deg]
    notes : tuple of str
        What was not taken from where one would expect it.
    derived : bool
        Whether velocities were made from places.
    """

    seconds: Array
    east: Array
    north: Array
    velocity_seconds: Array
    east_velocity: Array
    north_velocity: Array
    heading_seconds: Array = field(default_factory=lambda: EMPTY)
    heading: Array = field(default_factory=lambda: EMPTY)
    notes: tuple[str, ...] = ()
    derived: bool = False

    @property
    def span(self) -> tuple[float, float]:
        """First and last second of the places. [s]"""
        return float(self.seconds[0]), float(self.seconds[-1])

    def within(self, start: float, end: float) -> Path:
        """What was recorded from `start` to `end`, both with it. [s]"""
        p, v, h = (
            slice(np.searchsorted(each, start), np.searchsorted(each, end, "right"))
            for each in (self.seconds, self.velocity_seconds, self.heading_seconds)
        )
        return replace(
            self,
            seconds=self.seconds[p],
            east=self.east[p],
            north=self.north[p],
            velocity_seconds=self.velocity_seconds[v],
            east_velocity=self.east_velocity[v],
            north_velocity=self.north_velocity[v],
            heading_seconds=self.heading_seconds[h],
            heading=self.heading[h],
        )

    def less(self, east: float, north: float, since: float) -> Path:
        """The path through water that moves with such a velocity, over that of the ground at `since`. [m/s, m/s, s]"""
        passed = self.seconds - since
        return replace(
            self,
            east=self.east - east * passed,
            north=self.north - north * passed,
            east_velocity=self.east_velocity - east,
            north_velocity=self.north_velocity - north,
        )

    def at(self, when: Array) -> tuple[Array, Array]:
        """East and north at moments within the path, by a curve of third degree through the four places around. [m]"""
        places = np.stack([self.east, self.north])
        east, north = between(self.seconds, places, np.asarray(when, float))
        return east, north

    def course(self) -> tuple[Array, Array]:
        """When, and the direction of the velocity, unwound. [s, deg]"""
        turn = np.degrees(np.arctan2(self.east_velocity, self.north_velocity))
        return self.velocity_seconds, np.unwrap(turn, period=360.0)

    def longest_gap(self) -> float:
        """The longest silence of places, velocities or headings that is a gap; nought where there is none. [s]"""
        series = (self.seconds, self.velocity_seconds, self.heading_seconds)
        return max(_gap(each) for each in series)


def _gap(seconds: Array) -> float:
    steps = np.diff(seconds)
    longest = float(steps.max(initial=0.0))
    return longest if longest > max(GAP_STEPS * (usual_step(seconds) or 0.0), SHORTEST_GAP) else 0.0


def between(seconds: Array, values: Array, when: Array) -> Array:
    """Values between samples, by the curve of third degree through the four around each moment.

    A straight line where the steps of the four are too uneven, or where there are fewer.

    Parameters
    ----------
    seconds : ndarray, shape (samples,)
        Rising.
    values : ndarray, shape (rows, samples)
    when : ndarray, shape (moments,)
        Within the samples. [s]
    """
    straight = np.stack([np.interp(when, seconds, row) for row in values])
    if seconds.size < 4:
        return straight
    begin = np.clip(np.searchsorted(seconds, when, "right") - 2, 0, seconds.size - 4)
    four = begin[:, None] + np.arange(4)
    times = seconds[four] - when[:, None]
    steps = np.diff(times, axis=1)
    even = steps.max(axis=1) <= UNEVEN * steps.min(axis=1)
    curved = np.zeros_like(straight)
    for number in range(4):
        others = [other for other in range(4) if other != number]
        top = np.prod(-times[:, others], axis=1)
        under = np.prod(times[:, [number]] - times[:, others], axis=1)
        curved += values[:, four[:, number]] * (top / under)
    return np.where(even, curved, straight)


def lay_path(channels: Sequence[Channel]) -> Path:
    """The path of one boat, from one channel for each quantity.

    Without positions it is laid from speed and course, without these from positions.

    Raises
    ------
    NoPath
        When neither is there.
    """
    speed, course = first(channels, "speed_over_ground"), first(channels, *COURSES)
    latitude, longitude = first(channels, "latitude"), first(channels, "longitude")
    notes: list[str] = []
    place = _places(latitude, longitude)
    velocity = _velocities(speed, course)
    if place is None and velocity is None:
        raise NoPath("neither positions nor speed and course over ground are recorded")
    if place is None and velocity is not None:
        notes.append("no positions: the path was laid from speed and course over ground")
        place = _summed(*velocity)
    derived = velocity is None
    if velocity is None and place is not None:
        notes.append("no speed and course over ground: velocities were made from positions")
        velocity = _slopes(*place)
    if place is None or velocity is None:  # for the eyes of type checkers
        raise NoPath("neither positions nor speed and course over ground are recorded")
    heading = first(channels, *HEADINGS)
    turned = _once(heading.seconds, heading.values[None], around=True) if heading else None
    times, angles = (turned[0], turned[1][0]) if turned else (EMPTY, EMPTY)
    return Path(*place, *velocity, times, angles, tuple(notes), derived)


def _once(seconds: Array, values: Array, *, around: bool = False) -> tuple[Array, Array]:
    """Rows of samples with those of one instant averaged; angles unwound."""
    if around:
        values = np.unwrap(values, period=360.0)
    times, cell = np.unique(seconds, return_inverse=True)
    count = np.bincount(cell)
    return times, np.stack([np.bincount(cell, weights=row) / count for row in values])


def _places(
    latitude: Channel | None, longitude: Channel | None
) -> tuple[Array, Array, Array] | None:
    """When the boat was where, east and north of her first place. [s, m, m]"""
    if latitude is None or longitude is None:
        return None
    north_times, north = _once(latitude.seconds, latitude.values[None])
    east_times, east = _once(longitude.seconds, longitude.values[None], around=True)
    seconds, n, e = np.intersect1d(north_times, east_times, return_indices=True)
    if seconds.size < 2:
        return None
    up, across = north[0][n], east[0][e]
    shrunk = METRES_A_DEGREE * np.cos(np.radians(np.median(up)))
    return seconds, (across - across[0]) * shrunk, (up - up[0]) * METRES_A_DEGREE


def _velocities(speed: Channel | None, course: Channel | None) -> tuple[Array, Array, Array] | None:
    """When the boat had which velocity over ground. [s, m/s, m/s]"""
    if speed is None or course is None:
        return None
    times, knots = _once(speed.seconds, speed.values[None])
    others, degrees = _once(course.seconds, course.values[None], around=True)
    common = (times >= others[0]) & (times <= others[-1])
    if common.sum() < 2:
        return None
    seconds, metres = times[common], knots[0][common] * KNOT
    turn = np.radians(np.interp(seconds, others, degrees[0]))
    return seconds, metres * np.sin(turn), metres * np.cos(turn)


def _summed(seconds: Array, east: Array, north: Array) -> tuple[Array, Array, Array]:
    """Places from velocities, by the mean of the two at either end of each step. [s, m, m]"""
    steps = np.diff(seconds)
    ways = [
        np.concatenate([[0.0], np.cumsum(steps * (row[1:] + row[:-1]) / 2)])
        for row in (east, north)
    ]
    return seconds, ways[0], ways[1]


def _slopes(seconds: Array, east: Array, north: Array) -> tuple[Array, Array, Array]:
    """Velocities from places. [s, m/s, m/s]"""
    return seconds, np.gradient(east, seconds), np.gradient(north, seconds)
