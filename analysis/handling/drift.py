"""The drift of a boat that turns: what current and wind carried her by, from her own circle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.handling.circles import circle_through
from slackwater.analysis.handling.crossing import independent
from slackwater.analysis.handling.path import Array, Path
from slackwater.analysis.steady.track import KNOT

STEADY_FROM = 180.0  # [deg] turned; what was recorded before is no steady turn
WHOLE = 360.0  # [deg]
LEAST_AROUND = 180.0  # [deg] of a steady turn, for its velocities to tell the drift
MOST_PAIRS = 2000
PAIRS, VELOCITIES = "places a whole turn apart", "the middle of the circle of velocities"


@dataclass(frozen=True, slots=True)
class Drift:
    """A velocity that a path is freed of.

    Parameters
    ----------
    east, north : float
        Towards which it sets. [m/s]
    uncertainty : float or None
        Standard uncertainty of either component; None where nothing tells it. [m/s]
    by : str
        What it was told by.
    """

    east: float
    north: float
    uncertainty: float | None
    by: str

    @property
    def knots(self) -> float:
        """[kn]"""
        return math.hypot(self.east, self.north) / KNOT

    @property
    def towards(self) -> float:
        """[deg, 0 to 360]"""
        return math.degrees(math.atan2(self.east, self.north)) % 360.0


def drift_by_pairs(path: Path, seconds: Array, turned: Array) -> Drift | None:
    """The drift from places that lie a whole turn apart.

    A boat in a steady turn comes back to the same place of the water with the same heading; where she
    comes back to over ground tells what carried her. None where she turned for less than 540 degrees.

    Parameters
    ----------
    path : Path
    seconds, turned : ndarray, shape (headings,)
        How far she had turned by when, positive to her side. [s, deg]

    Notes
    -----
    The root mean square of what single pairs stray from their mean is taken as the uncertainty, and not
    divided by their number: pairs share places, and what is wrong with these lasts.

    References
    ----------
    IMO MSC/Circ.1053, Explanatory Notes to the Standards for Ship Manoeuvrability, annex, 3.4.2.5: track,
    heading and time until 720 degrees at least, places 360 degrees apart after the first 180. ISO 13643-2 has turning
    tests as well; its text was not at hand.
    """
    forward = np.maximum.accumulate(turned)
    begins = np.flatnonzero((turned >= STEADY_FROM) & (turned + WHOLE <= forward[-1]))
    if not begins.size:
        return None
    begins = begins[:: max(1, begins.size // MOST_PAIRS)]
    first, second = seconds[begins], np.interp(turned[begins] + WHOLE, forward, seconds)
    (e1, n1), (e2, n2) = path.at(first), path.at(second)
    velocities = np.stack([e2 - e1, n2 - n1]) / (second - first)
    mean = velocities.mean(axis=1)
    strays = velocities - mean[:, None]
    rms = math.sqrt(float((strays**2).sum(axis=0).mean()) / 2)
    return Drift(float(mean[0]), float(mean[1]), rms, PAIRS)


def drift_by_velocities(path: Path, start: float, end: float, around: float) -> Drift | None:
    """The drift from velocities: a boat at one speed on every heading draws a circle with them, and the drift is its middle.

    For turns that end before places can be paired. Common practice; it takes the speed through the water
    to be the same all around. None where less than half a steady turn was recorded.

    Parameters
    ----------
    path : Path
    start, end : float
        Of the steady turn. [s]
    around : float
        How far she turned in it. [deg]
    """
    part = path.within(start, end)
    east, north = part.east_velocity, part.north_velocity
    if around < LEAST_AROUND or east.size < 8:
        return None
    x, y, radius, strays = circle_through(east, north)
    if radius <= 0.0:
        return None
    along, across = (east - x) / radius, (north - y) / radius
    design = np.stack([along, across, np.ones_like(along)], axis=1)
    worth = independent(strays)
    spread = float(strays @ strays) / max(east.size - 3, 1) * east.size / worth
    covariance = spread * np.linalg.inv(design.T @ design)
    return Drift(x, y, math.sqrt(float(max(covariance[0, 0], covariance[1, 1]))), VELOCITIES)
