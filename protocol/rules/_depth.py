"""How deep water has to be for the bottom not to be felt.

The formulae are those in use in ship trials (ITTC 7.5-04-01-01.1, ISO 15016): common practice.
They are made for displacement vessels; well past the critical speed they ask for more than a
planing boat needs, and what counts then is the same depth throughout.
"""

from __future__ import annotations

import math

GRAVITY = 9.80665  # [m/s^2]
KNOT = 1852 / 3600  # [m/s]
FREE_OF_BOTTOM = 1 / math.sqrt(2.75)  # depth Froude number at the depth of 2.75 V^2/g


def depth_froude(speed: float, depth: float) -> float:
    """Depth Froude number, from speed [kn] and depth [m]."""
    return speed * KNOT / math.sqrt(GRAVITY * depth)


def least_depth(speed: float, factor: float = 2.75) -> float:
    """Depth from which the wave pattern is free of the bottom [m], from speed [kn].

    `factor` is 2.75, below which results are corrected; 2 below which no trial is run.
    """
    return factor * (speed * KNOT) ** 2 / GRAVITY


def least_depth_for_hull(beam: float, draught: float, factor: float = 3.0) -> float:
    """Depth from which the flow past the hull is free of the bottom [m], from beam and draught [m].

    `factor` is 3, below which results are corrected; 2 below which no trial is run.
    """
    return factor * math.sqrt(beam * draught)
