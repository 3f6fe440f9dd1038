"""How straight a boat is steered: the spread of her heading while she keeps one course."""

from __future__ import annotations

import math

import numpy as np

from slackwater.analysis.handling.crossing import independent
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.path import Array
from slackwater.analysis.logs.survey import GAP_STEPS, SHORTEST_GAP, usual_step

MOST_TURN = 10.0  # [deg]; who turns by more from one end to the other keeps no course
LEAST_TIME = 30.0  # [s]
LEAST_SAMPLES = 20
UNITS = {"heading_spread": "deg", "steering_corrections": "1/min"}


def heading_spread(seconds: Array, heading: Array) -> dict[str, Figure]:
    """The spread of the heading on a straight, and how often she was brought back.

    Parameters
    ----------
    seconds, heading : ndarray, shape (samples,)
        [s, deg]; need not be unwound.

    Returns
    -------
    mapping
        `heading_spread`: standard deviation about the straight line that fits best, so that a course that is changed
        evenly by a few degrees is no spread [deg]; `steering_corrections`: how often in a minute the heading turns back
        by more than that standard deviation [1/min].

    Notes
    -----
    Common practice; no standard for small craft is known. A compass that answers slowly, or a course over ground in its
    place, shows less than the boat does. Headings that follow on each other are alike: the uncertainty counts as many as
    are independent of each other.
    """
    why = _unfit(seconds, heading)
    if why:
        return {name: Figure.missing(unit, why) for name, unit in UNITS.items()}
    angles = np.unwrap(heading, period=360.0)
    since = seconds - seconds.mean()
    slope, level = np.polyfit(since, angles, 1)
    strays = angles - level - slope * since
    if (turn := abs(slope) * float(seconds[-1] - seconds[0])) > MOST_TURN:
        why = f"no straight: the heading changed by {turn:.0f} deg from end to end"
        return {name: Figure.missing(unit, why) for name, unit in UNITS.items()}
    spread = math.sqrt(float(strays @ strays) / (strays.size - 2))
    worth = max(independent(strays) - 2.0, 1.0)
    backs = _turned_back(strays, spread)
    minutes = float(seconds[-1] - seconds[0]) / 60.0
    return {
        "heading_spread": Figure(spread, "deg", spread / math.sqrt(2.0 * worth)),
        "steering_corrections": Figure(backs / minutes, "1/min", math.sqrt(max(backs, 1)) / minutes),
    }  # fmt: skip


def _unfit(seconds: Array, heading: Array) -> str:
    """Why the headings tell no spread; empty where they do."""
    if heading.size < LEAST_SAMPLES:
        return f"{heading.size} headings are recorded; {LEAST_SAMPLES} are needed"
    if (long := float(seconds[-1] - seconds[0])) < LEAST_TIME:
        return f"{long:.0f} s of straight are recorded; {LEAST_TIME:g} s are needed"
    longest = float(np.diff(seconds).max())
    if longest > max(GAP_STEPS * (usual_step(seconds) or 0.0), SHORTEST_GAP):
        return f"the heading is silent for {longest:.0f} s"
    return ""


def _turned_back(strays: Array, least: float) -> int:
    """How often the heading turns back by more than so much."""
    count, way, end = 0, 0, float(strays[0])
    for value in strays.tolist():
        if way >= 0 and value < end - least:
            count, way, end = count + (way > 0), -1, value
        elif way <= 0 and value > end + least:
            count, way, end = count + (way < 0), 1, value
        elif (way > 0 and value > end) or (way < 0 and value < end):
            end = value
    return count
