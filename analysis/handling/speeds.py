"""Times from one speed to another: to a speed from rest, to plane, between two speeds."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.handling.crossing import crossing
from slackwater.analysis.handling.figures import Figure, root_sum
from slackwater.analysis.handling.path import Array

LEVEL_BEFORE = 5.0  # [s] before the command, over which the speed that she came from is taken
LIFTED = 0.5  # of the way that the trim comes down from its peak, at which she is taken to plane
LEAST_LIFT = 0.5  # [deg] that the trim has to come down by for a peak to be one


@dataclass(frozen=True, slots=True)
class Timed:
    """How long something took.

    Parameters
    ----------
    time : Figure
        [s]
    start, end : float or None
        On the clock of the log. [s]
    """

    time: Figure
    start: float | None = None
    end: float | None = None


def _none(why: str) -> Timed:
    return Timed(Figure.missing("s", why))


def time_to_speed(
    seconds: Array,
    speed: Array,
    command: float,
    target: float,
    *,
    unit: str = "kn",
    command_uncertainty: float = 0.0,
) -> Timed:
    """From a command to the moment at which the speed comes to a target, whether rising or falling.

    Parameters
    ----------
    seconds, speed : ndarray, shape (samples,)
        Times rising. [s, unit]
    command : float
        When throttle or lever were moved. [s]
    target : float
        [unit]
    command_uncertainty : float
        Standard uncertainty of that moment. [s]
    """
    at = seconds >= command - LEVEL_BEFORE
    seconds, speed = seconds[at], speed[at]
    if seconds.size < 2:
        return _none("no speed is recorded after the command")
    before = speed[seconds <= command]
    from_speed = float(before.mean()) if before.size else float(speed[0])
    sign = 1.0 if target >= from_speed else -1.0
    reached = crossing(seconds, sign * speed, sign * target)
    if reached is None:
        return _none(_never(speed, target, sign, unit))
    moment, spread = reached
    if moment <= command:
        return _none(f"the speed was {target:g} {unit} before the command")
    step = float(np.median(np.diff(seconds))) / math.sqrt(12.0)
    noise = root_sum([spread, command_uncertainty, noise_time(seconds, speed, moment), step])
    return Timed(Figure(moment - command, "s", noise), command, moment)


def _never(speed: Array, target: float, sign: float, unit: str) -> str:
    if sign * float(speed[0]) >= sign * target:
        return f"the speed was {target:g} {unit} before the command"
    word, best = ("highest", speed.max()) if sign > 0 else ("lowest", speed.min())
    return f"the speed never came to {target:g} {unit}: its {word} was {float(best):.2f} {unit}"


def noise_time(seconds: Array, speed: Array, moment: float) -> float:
    """What the noise of single speeds makes of the moment: their scatter from a line around it, over its slope. [s]"""
    near = np.argsort(np.abs(seconds - moment))[:7]
    if near.size < 4:
        return 0.0
    since = seconds[near] - seconds[near].mean()
    slope, level = np.polyfit(since, speed[near], 1)
    strays = speed[near] - level - slope * since
    sd = math.sqrt(float(strays @ strays) / (near.size - 2))
    return abs(sd / slope) if abs(slope) > 1e-12 else 0.0


def time_between(
    seconds: Array, speed: Array, low: float, high: float, *, unit: str = "kn"
) -> Timed:
    """How long the speed takes from one level to a higher one (or, given the other way round, to a lower one).

    It is counted from the last time that it leaves the first before it comes to the second.

    Parameters
    ----------
    seconds, speed : ndarray, shape (samples,)
        [s, unit]
    low, high : float
        From and to. [unit]
    """
    sign = 1.0 if high >= low else -1.0
    values, first, second = sign * speed, sign * low, sign * high
    begins = np.flatnonzero(values < first)
    if not begins.size:
        return _none(f"the speed was never {'below' if sign > 0 else 'above'} {low:g} {unit}")
    reached = np.flatnonzero(values >= second)
    reached = reached[reached > begins[0]]
    if not reached.size:
        return _none(_never(speed[begins[0] :], high, sign, unit))
    since = begins[begins < reached[0]][-1]
    left = crossing(seconds[since : reached[0] + 1], values[since : reached[0] + 1], first)
    came = crossing(seconds[since:], values[since:], second)
    if left is None or came is None:
        return _none(f"the speed never went from {low:g} to {high:g} {unit}")
    parts: list[float | None] = [left[1], came[1]]
    parts += [noise_time(seconds, speed, moment) for moment in (left[0], came[0])]
    return Timed(Figure(came[0] - left[0], "s", root_sum(parts)), left[0], came[0])


def time_to_plane(
    seconds: Array, trim: Array, command: float, *, command_uncertainty: float = 0.0
) -> Timed:
    """From a command to the moment at which the bow has come half-way down from its highest trim.

    No standard is known that says by what a boat planes; where the protocol names the speed, `time_to_speed` takes
    that. Half-way down is a convention of this project.

    Parameters
    ----------
    seconds, trim : ndarray, shape (samples,)
        Bow up is positive. [s, deg]
    """
    after = seconds >= command
    seconds, trim = seconds[after], trim[after]
    if seconds.size < 8:
        return _none("no trim is recorded after the command")
    peak = int(np.argmax(trim))
    rest = float(np.median(trim[-max(seconds.size // 5, 3) :]))
    drop = float(trim[peak]) - rest
    if drop < LEAST_LIFT:
        return _none(f"the bow came down by {max(drop, 0.0):.1f} deg after its highest trim; {LEAST_LIFT:g} deg are needed")  # fmt: skip
    lifted = crossing(seconds[peak:], -trim[peak:], -(rest + LIFTED * drop))
    if lifted is None:
        return _none("the bow never came half-way down after its highest trim")
    noise = root_sum([lifted[1], command_uncertainty, noise_time(seconds, trim, lifted[0])])
    return Timed(Figure(lifted[0] - command, "s", noise), command, lifted[0])
