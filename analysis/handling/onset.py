"""When something began: a lever or a rudder that is moved, a rate or a speed that leaves its level."""

from __future__ import annotations

import math

import numpy as np

from slackwater.analysis.handling.crossing import crossing
from slackwater.analysis.handling.path import Array

EARLY, LATE = 0.2, 0.8  # of the way from one level to another, which a line is laid through
BEFORE, AFTER = (-12.0, -4.0), (1.0, 6.0)  # [s] around, where the levels of a step are taken
LOOKED = (-10.0, 4.0)  # [s] around, where the step is looked for
CLEAR = 5.0  # times its scatter that a step has to be


def left_level(
    seconds: Array,
    values: Array,
    level: float,
    top: float,
    smooth: float = 0.0,
    parts: tuple[float, float] = (EARLY, LATE),
) -> tuple[float, float] | None:
    """When values that rise to `top` left their level, and the standard uncertainty of it; None where they do not. [s]

    The line through two parts of the rise, a fifth and four fifths, is followed back to the level. Values that were smoothed over
    `smooth` seconds leave it half of that early, which is put right: a step comes out where it was.
    """
    rise = top - level
    early = crossing(seconds, values, level + parts[0] * rise)
    late = crossing(seconds, values, level + parts[1] * rise)
    if early is None or late is None or late[0] < early[0]:
        return None
    took = (late[0] - early[0]) / (parts[1] - parts[0])
    step = float(np.median(np.diff(seconds))) / math.sqrt(12.0)
    own = max(took - smooth, 0.0) * (
        parts[1] - parts[0]
    )  # what of it is the boat's own, and no smoothing
    moment = early[0] - parts[0] * took + smooth / 2
    return moment, math.hypot(own / math.sqrt(12.0), step, early[1])


def moved(seconds: Array, values: Array, around: float) -> tuple[float, float] | None:
    """When a lever or rudder was moved near a moment, and the standard uncertainty of it; None where it was not. [s]

    Parameters
    ----------
    seconds, values : ndarray, shape (samples,)
        Of rudder angle, engine speed or throttle.
    around : float
        When the boat began to answer. [s]
    """
    since = seconds - around
    before = values[(since >= BEFORE[0]) & (since <= BEFORE[1])]
    behind = values[(since >= AFTER[0]) & (since <= AFTER[1])]
    if before.size < 3 or behind.size < 3:
        return None
    level, top = float(np.median(before)), float(np.median(behind))
    if abs(top - level) <= CLEAR * float(np.abs(before - level).max(initial=0.0)) + 1e-9:
        return None
    near = (since >= LOOKED[0]) & (since <= LOOKED[1])
    sign = math.copysign(1.0, top - level)
    part = crossing(seconds[near], sign * values[near], sign * (level + top) / 2)
    if part is None:
        return None
    step = float(np.median(np.diff(seconds[near])))
    return part[0], math.hypot(part[1], step / math.sqrt(12.0))
