"""A stop: how far and for how long a boat runs on after the order, and how far she strays from her course."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.handling.crossing import crossing
from slackwater.analysis.handling.drift import Drift
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.path import Array, NoPath, Path
from slackwater.analysis.handling.speeds import noise_time
from slackwater.analysis.handling.turning import APPROACH, LEAST_APPROACH
from slackwater.analysis.steady.track import KNOT

STRIDE = 3.0  # [s]
STOPPED = 0.3  # [kn]; a receiver at rest shows up to that much
UNITS = {
    "stopping_time": "s",
    "head_reach": "m",
    "track_reach": "m",
    "lateral_deviation": "m",
    "initial_speed": "kn",
}


@dataclass(frozen=True, slots=True)
class Stop:
    """What a stop gave.

    Parameters
    ----------
    order : float
        When it was ordered. [s]
    end : float or None
        When she lay still, or was slow enough; None where she never was. [s]
    course : float
        Before the order. [deg, 0 to 360]
    drift : Drift or None
        That was taken out; None for figures over ground.
    figures : mapping
        By the names of `UNITS`.
    over_ground, freed : Path
    notes : tuple of str
    """

    order: float
    end: float | None
    course: float
    drift: Drift | None
    figures: dict[str, Figure]
    over_ground: Path
    freed: Path
    notes: tuple[str, ...] = ()


def stopping(
    path: Path,
    order: float,
    end: float,
    *,
    drift: Drift | None = None,
    stopped: float = STOPPED,
    order_uncertainty: float = 0.0,
) -> Stop:
    """What a stop gives, from the order on.

    Parameters
    ----------
    path : Path
        Over ground.
    order, end : float
        When the stop was ordered, and until when the record is looked at. [s]
    drift : Drift, optional
        Of the current; without it distances and speeds are over ground, which is said.
    stopped : float
        The speed along her first course at which she counts as stopped. [kn]
    order_uncertainty : float
        Standard uncertainty of the moment of the order. [s]

    Raises
    ------
    NoPath
        When the record breaks off, or holds nothing of the stop.

    Notes
    -----
    Track reach is the way along the path, head reach the way along the first course; lateral deviation is across it, to
    starboard positive. The way from place to place is summed where the boat moved: noise of places would lengthen it, so
    velocities are summed, where they were recorded.

    References
    ----------
    IMO resolution MSC.137(76), annex, "Standard manoeuvres and associated terminology", for the track reach of the full
    astern stopping test (from memory); head reach and lateral deviation: common practice.
    """
    own = path.within(max(order - APPROACH, path.span[0]), end)
    before = int((own.seconds <= order).sum())
    if (
        own.within(order, end).seconds.size < 4
        or before < 3
        or order - own.span[0] < LEAST_APPROACH
    ):
        raise NoPath("too little is recorded of the stop, or of the seconds before its order")
    if (gap := own.longest_gap()) > 0.0:
        raise NoPath(f"the record breaks off for {gap:.0f} s in the stop")
    freed = own.less(drift.east, drift.north, order) if drift else own
    left_in = () if drift else ("the current is left in: distances are over ground",)
    approach = _approach(freed, order)
    ended = _ended(freed, approach, order, stopped)
    initial = Figure(approach.speed / KNOT, "kn", approach.uncertainty / KNOT)
    if isinstance(ended, str):
        figures = {name: Figure.missing(unit, ended) for name, unit in UNITS.items()}
        moment = None
    else:
        moment = ended[0]
        figures = _figures(freed, approach, order, ended, drift, order_uncertainty, stopped * KNOT)
    figures["initial_speed"] = initial
    notes = (*own.notes, *left_in)
    return Stop(order, moment, approach.course, drift, figures, own, freed, notes)


@dataclass(frozen=True, slots=True)
class _Approach:
    """How she came: unit vector east and north, speed with its standard uncertainty, what places stray by. [m/s, m]"""

    east: float
    north: float
    speed: float
    uncertainty: float
    stray: float

    @property
    def course(self) -> float:
        return math.degrees(math.atan2(self.east, self.north)) % 360.0

    def along(self, path: Path) -> Array:
        """The velocities along the course. [m/s]"""
        return np.asarray(path.east_velocity * self.east + path.north_velocity * self.north)


def _approach(freed: Path, order: float) -> _Approach:
    part = freed.within(-math.inf, order)
    since = part.seconds - part.seconds.mean()
    square = float(since @ since)
    east, north = float(since @ part.east) / square, float(since @ part.north) / square
    fast = math.hypot(east, north)
    strays = [each - each.mean() - slope * since for each, slope in ((part.east, east), (part.north, north))]  # fmt: skip
    rms = math.sqrt(sum(float(each @ each) for each in strays) / max(2 * since.size - 4, 1))
    unit = (east / fast, north / fast) if fast else (0.0, 1.0)
    return _Approach(*unit, fast, rms / math.sqrt(square), rms)


def _ended(
    freed: Path, approach: _Approach, order: float, stopped: float
) -> tuple[float, float] | str:
    """When she counted as stopped, and the standard uncertainty of that; or why she never did. [s, s]"""
    after = freed.velocity_seconds >= order
    along = approach.along(freed)[after] / KNOT
    if approach.speed / KNOT <= stopped or not along.size or along[0] <= stopped:
        return f"she was no faster than {stopped:g} kn when the stop was ordered"
    seconds = freed.velocity_seconds[after]
    ended = crossing(seconds, -along, -stopped)
    if ended is None:
        return f"she never came down to {stopped:g} kn: {float(along.min()):.2f} kn was the least"
    step = float(np.median(np.diff(seconds))) / math.sqrt(12.0)
    return ended[0], math.hypot(ended[1], step, noise_time(seconds, along, ended[0]))


def _figures(
    freed: Path,
    approach: _Approach,
    order: float,
    ended: tuple[float, float],
    drift: Drift | None,
    order_uncertainty: float,
    last_speed: float,
) -> dict[str, Figure]:
    moment, late = ended
    east, north = (float(each[1] - each[0]) for each in freed.at(np.array([order, moment])))
    ways = {
        "head_reach": east * approach.east + north * approach.north,
        "track_reach": _track_reach(freed, order, moment),
        "lateral_deviation": east * approach.north - north * approach.east,
    }
    noise = None
    if drift is not None and drift.uncertainty is not None:
        carried = drift.uncertainty * (moment - order)
        ordered = order_uncertainty * approach.speed
        noise = math.hypot(carried, ordered, late * last_speed, math.sqrt(2.0) * approach.stray)
    found = {"stopping_time": Figure(moment - order, "s", math.hypot(late, order_uncertainty))}
    return found | {name: Figure(value, "m", noise) for name, value in ways.items()}


def _track_reach(freed: Path, order: float, moment: float) -> float:
    """The way along the path. [m]"""
    if freed.derived:  # noise of places would lengthen every short step
        count = max(int((moment - order) / STRIDE), 1)
        east, north = freed.at(np.linspace(order, moment, count + 1))
        return float(np.hypot(np.diff(east), np.diff(north)).sum())
    fast = np.hypot(freed.east_velocity, freed.north_velocity)
    inside = (freed.velocity_seconds > order) & (freed.velocity_seconds < moment)
    times = np.concatenate([[order], freed.velocity_seconds[inside], [moment]])
    speeds = np.interp(times, freed.velocity_seconds, fast)
    return float((np.diff(times) * (speeds[1:] + speeds[:-1]) / 2).sum())
