"""The figures of one turn, and what they are uncertain by.

Each figure is read from the path once as it is and once with each of what it rests on a little changed: the drift,
the moment of the order, the axis of the approach, the moments at which the heading had changed so far. The slopes
carry the standard uncertainties of these, as JCGM 100:2008, 5.1.3, note 2, has it for sums that no formula is kept of.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from slackwater.analysis.handling.circles import circle_through
from slackwater.analysis.handling.crossing import crossing, independent
from slackwater.analysis.handling.drift import STEADY_FROM, WHOLE, Drift
from slackwater.analysis.handling.figures import Figure, root_sum
from slackwater.analysis.handling.path import Array, Path
from slackwater.analysis.steady.track import KNOT

LAST = 2.0  # [s]
#: What receivers wander by within a minute or two, standard deviation of either component: no residual shows it, since
#: circle and drift go along with it. Common practice for receivers without corrections from a station of one's own. [m]
WANDER = 0.4
LEAST_ARC = 180.0  # [deg] of steady turn that a circle is laid through
UNITS = {
    "advance": "m",
    "transfer": "m",
    "tactical_diameter": "m",
    "steady_diameter": "m",
    "approach_speed": "kn",
    "steady_speed": "kn",
    "speed_lost": "kn",
    "time_to_90": "s",
    "time_to_180": "s",
    "time_to_360": "s",
}
_AT = {"advance": 90.0, "transfer": 90.0, "tactical_diameter": 180.0}
_TIMES = {"time_to_90": 90.0, "time_to_180": 180.0, "time_to_360": 360.0}
FROM_ORDER = ("advance", *_TIMES)  # what is wrong by as much as the order is late
BY_HEADING = (
    "advance",
    "transfer",
    *_TIMES,
)  # what a course in place of a heading makes wrong where she skids
_ORDERED = (
    *_AT,
    *_TIMES,
    "approach_speed",
    "speed_lost",
)  # what an approach and an order are needed for


@dataclass(frozen=True, slots=True)
class Approach:
    """Velocity of the approach with its standard uncertainties along and across it, and what places stray from a line. [m/s, m]"""

    east: float
    north: float
    along: float
    across: float
    stray: float

    @property
    def speed(self) -> float:
        """[m/s]"""
        return math.hypot(self.east, self.north)


@dataclass(frozen=True, slots=True)
class Turn:
    """A turn as its figures are read from it.

    Parameters
    ----------
    path : Path
        Over ground, from the approach to the end of the turn.
    seconds, turned : ndarray, shape (headings,)
        How far she had turned by when, positive to her side. [s, deg]
    sign : float
        1 to starboard, -1 to port.
    order, end : float
        [s]
    straight : str
        Why there is no approach to measure from; empty where there is.
    drift : (float, float)
        That the path is freed of. [m/s]
    swung, late : float
        By which the axis and the moments of turning so far are changed. [deg, s]
    """

    path: Path
    seconds: Array
    turned: Array
    sign: float
    order: float
    end: float
    straight: str = ""
    drift: tuple[float, float] = (0.0, 0.0)
    swung: float = 0.0
    late: float = 0.0

    @property
    def degrees(self) -> float:
        """How far she had turned in the end, by a line through the last seconds. [deg]"""
        last = self.seconds >= self.seconds[-1] - LAST
        seconds, turned = self.seconds[last], self.turned[last]
        if seconds.size < 3:
            return float(self.turned[-1])
        middle = float(seconds.mean())
        return float(turned.mean()) + _slope(seconds, turned) * (float(seconds[-1]) - middle)

    @property
    def freed(self) -> Path:
        """The path with the drift taken out."""
        return self.path.less(*self.drift, self.order)

    def when(self, degrees: float) -> tuple[float, float] | None:
        """The moment of having turned so far, and its standard uncertainty; None where she never had. [s, s]"""
        found = crossing(self.seconds, self.turned, degrees)
        return None if found is None else (found[0] + self.late, found[1])

    def approach(self) -> Approach:
        """The way she came. Velocities tell it, which receivers have better than places; places where there are none."""
        part = self.freed.within(-math.inf, self.order)
        if self.path.derived or part.velocity_seconds.size < 3:
            return _by_places(part)
        return _by_velocities(part)

    def axis(self) -> float:
        """Course of the approach. [deg]"""
        came = self.approach()
        return math.degrees(math.atan2(came.east, came.north)) + self.swung

    def steady(self) -> tuple[float, float] | None:
        """From when to when a circle is laid: whole turns where there are any; None where she turned too little. [s, s]"""
        arc = self.degrees - STEADY_FROM
        if arc < LEAST_ARC:
            return None
        whole = math.floor(arc / WHOLE + 1e-6) * WHOLE
        since = self.when(self.degrees - whole if whole else STEADY_FROM)
        return None if since is None else (since[0], self.end)


def _slope(seconds: Array, values: Array) -> float:
    """Of the line that fits best; nought for fewer than two moments."""
    since = seconds - seconds.mean() if seconds.size else seconds
    square = float(since @ since)
    return float(since @ values) / square if square else 0.0


def _by_places(part: Path) -> Approach:
    since = part.seconds - part.seconds.mean()
    square = float(since @ since)
    east, north = _slope(part.seconds, part.east), _slope(part.seconds, part.north)
    along, across = _strays(part, east, north)
    stray = _rms(np.concatenate([along, across]))
    return Approach(
        east, north, _rms(along) / math.sqrt(square), _rms(across) / math.sqrt(square), stray
    )


def _by_velocities(part: Path) -> Approach:
    east, north = float(part.east_velocity.mean()), float(part.north_velocity.mean())
    fast = math.hypot(east, north) or 1.0
    off = part.east_velocity - east, part.north_velocity - north
    along, across = (off[0] * east + off[1] * north) / fast, (off[0] * north - off[1] * east) / fast
    u, v = (_rms(each) / math.sqrt(independent(each)) for each in (along, across))
    places = _strays(part, _slope(part.seconds, part.east), _slope(part.seconds, part.north))
    return Approach(east, north, u, v, _rms(np.concatenate(places)))


def _strays(part: Path, east: float, north: float) -> tuple[Array, Array]:
    """What places stray from the line of an even velocity, along it and across. [m, m]"""
    fast = math.hypot(east, north) or 1.0
    since = part.seconds - part.seconds.mean()
    x = part.east - part.east.mean() - east * since
    y = part.north - part.north.mean() - north * since
    return (x * east + y * north) / fast, (x * north - y * east) / fast


def _rms(values: Array) -> float:
    return math.sqrt(float(values @ values) / max(values.size - 2, 1))


@dataclass(frozen=True, slots=True)
class _Circle:
    """The steady circle: radius and speed around it with their standard uncertainties, what places stray by. [m, m/s]"""

    radius: float
    uncertainty: float
    speed: float
    speed_uncertainty: float
    stray: float


def _circle(turn: Turn) -> _Circle | None:
    ends = turn.steady()
    if ends is None:
        return None
    part = turn.freed.within(*ends)
    if part.seconds.size < 8:
        return None
    x, y, radius, strays = circle_through(part.east, part.north)
    design = np.stack(
        [(part.east - x) / radius, (part.north - y) / radius, np.ones_like(strays)], axis=1
    )
    square = float(strays @ strays) / (strays.size - 3)
    covariance = square * strays.size / independent(strays) * np.linalg.inv(design.T @ design)
    told = math.sqrt(float(covariance[2, 2]))
    return _Circle(radius, told, *_speed(turn, part, ends, radius, told), math.sqrt(square))


def _speed(
    turn: Turn, part: Path, ends: tuple[float, float], radius: float, uncertainty: float
) -> tuple[float, float]:
    """The speed around the circle and its standard uncertainty: from velocities, else from radius and rate. [m/s]"""
    if turn.path.derived or part.velocity_seconds.size < 8:
        during = (turn.seconds >= ends[0]) & (turn.seconds <= ends[1])
        rate = math.radians(_slope(turn.seconds[during], turn.turned[during]))
        return radius * rate, uncertainty * rate
    fast = np.hypot(part.east_velocity, part.north_velocity)
    strays = fast - fast.mean()
    return float(fast.mean()), _rms(strays) / math.sqrt(independent(strays))


def figures_of(turn: Turn, drift: Drift | None, order_uncertainty: float) -> dict[str, Figure]:
    """All figures of a turn, by the names of `UNITS`.

    Parameters
    ----------
    turn : Turn
        Freed of the drift, where that is known.
    drift : Drift or None
    order_uncertainty : float
        Standard uncertainty of the moment of the order. [s]
    """
    values = _values(turn)
    own = _own_noise(turn)
    shifts = list(_shifts(turn, drift, order_uncertainty))
    found = {}
    for name, unit in UNITS.items():
        value = values.get(name)
        if value is None or (name == "speed_lost" and drift is None):
            found[name] = Figure.missing(unit, _why(turn, name, drift))
            continue
        parts = [own.get(name), *(abs(other[name] - value) for other in shifts if name in other)]
        # What an unknown current adds nothing tells; a small uncertainty beside it would mislead.
        known = name in _TIMES or (drift is not None and drift.uncertainty is not None)
        found[name] = Figure(value, unit, root_sum(parts) if known else None)
    return found


def _values(turn: Turn) -> dict[str, float]:
    """Every figure that the turn gives."""
    found: dict[str, float] = {}
    circle = _circle(turn)
    if circle is not None:
        found["steady_diameter"] = 2 * circle.radius
        found["steady_speed"] = circle.speed / KNOT
    if turn.straight:
        return found
    found["approach_speed"] = turn.approach().speed / KNOT
    if circle is not None:
        found["speed_lost"] = found["approach_speed"] - found["steady_speed"]
    for name, degrees in _TIMES.items():
        if (moment := turn.when(degrees)) is not None:
            found[name] = moment[0] - turn.order
    for name, degrees in _AT.items():
        if (moment := turn.when(degrees)) is not None:
            found[name] = _way(turn, moment[0], along=name == "advance")
    return found


def _way(turn: Turn, until: float, *, along: bool) -> float:
    """How far the boat came since the order, along the approach or across it to her side. [m]"""
    until = min(until, turn.path.span[1])
    east, north = (
        float(each[1] - each[0]) for each in turn.freed.at(np.array([turn.order, until]))
    )
    angle = math.radians(turn.axis())
    if along:
        return east * math.sin(angle) + north * math.cos(angle)
    return turn.sign * (east * math.cos(angle) - north * math.sin(angle))


def _shifts(
    turn: Turn, drift: Drift | None, order_uncertainty: float
) -> Iterator[dict[str, float]]:
    """The figures with each of what they rest on changed by its standard uncertainty."""
    if drift is not None and drift.uncertainty:
        east, north = turn.drift
        yield _values(replace(turn, drift=(east + drift.uncertainty, north)))
        yield _values(replace(turn, drift=(east, north + drift.uncertainty)))
    if order_uncertainty and not turn.straight:
        yield _values(replace(turn, order=turn.order + order_uncertainty))
    if not turn.straight:
        came = turn.approach()
        swing = math.degrees(came.across / max(came.speed, 1e-9))
        if swing:
            yield _values(replace(turn, swung=swing))
    moments = [turn.when(degrees) for degrees in (90.0, 180.0)]
    late = max((moment[1] for moment in moments if moment is not None), default=0.0)
    if late:
        yield _values(replace(turn, late=late))


def _own_noise(turn: Turn) -> dict[str, float | None]:
    """What the noise of single places and of the circle gives to each figure; None where nothing tells it."""
    circle = _circle(turn)
    approach = None if turn.straight else turn.approach()
    stray = circle.stray if circle else approach.stray if approach else None
    stray = None if stray is None else math.hypot(stray, WANDER)
    found: dict[str, float | None] = dict.fromkeys(
        _AT, None if stray is None else math.sqrt(2.0) * stray
    )
    found |= dict.fromkeys(_TIMES, 0.0)
    if circle is not None:
        found["steady_diameter"] = math.hypot(2 * circle.uncertainty, math.sqrt(2.0) * WANDER)
        found["steady_speed"] = circle.speed_uncertainty / KNOT
    if approach is not None:
        found["approach_speed"] = approach.along / KNOT
    if circle is not None and approach is not None:
        found["speed_lost"] = root_sum([found["steady_speed"], found["approach_speed"]])
    return found


def _why(turn: Turn, name: str, drift: Drift | None) -> str:
    """Why the turn does not give a figure."""
    needed = {**_AT, **_TIMES}.get(name, STEADY_FROM + LEAST_ARC)
    if turn.straight and name in _ORDERED:
        return turn.straight
    if turn.degrees < needed:
        return f"she turned by {turn.degrees:.0f} deg; {needed:.0f} deg are needed"
    if name == "speed_lost" and drift is None:
        return "what carried her is not known, so speeds over ground do not tell what the turn cost"
    return "too few places were recorded in the steady turn"
