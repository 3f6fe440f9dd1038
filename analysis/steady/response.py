"""How long the boat takes to answer, read off all her changes of speed in the log together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from slackwater.analysis.steady.legs import Leg
from slackwater.analysis.steady.track import Track

LEAST_STEP = 0.1  # of the speed; a smaller change tells little above the noise
LONGEST = 30.0  # [s]; what takes longer is no answer to a command
LEFT_OVER = 0.006  # of the speed: what may be left of a command when a run begins


def response_time(track: Track, legs: Sequence[Leg]) -> float:
    """Time constant of the boat's answer, the receiver's lag included; 0 where nothing tells it. [s]

    The area between the speed and what it settles at, over the height of the step, is the time constant
    of a first-order answer, whatever the noise; the median over the legs is taken.
    """
    found = [time for leg in legs if (time := _one(track, leg)) is not None]
    return float(np.clip(np.median(found), 0.0, LONGEST)) if found else 0.0


def step_of(track: Track, leg: Leg) -> float:
    """What the speed had still to make up at the command. [kn]"""
    near = slice(max(leg.commanded - 1, 0), leg.commanded + 2)
    return abs(float(track.speed[near].mean()) - leg.speed)


def _one(track: Track, leg: Leg) -> float | None:
    cells = track.speed[leg.commanded : leg.end]
    if cells.size < 9 or step_of(track, leg) < LEAST_STEP * leg.speed:
        return None
    level = float(np.median(cells[cells.size // 2 :]))
    step = float(cells[:2].mean()) - level
    head = cells[: cells.size // 2] - level
    return float(head.sum() * track.step / step) if abs(step) > LEAST_STEP * level else None


def time_to_settle(track: Track, leg: Leg, response: float) -> float:
    """From the command until so little is left of it that a crew takes the speed as standing. [s]"""
    if response <= 0:
        return 0.0
    shows = step_of(track, leg) / (LEFT_OVER * leg.speed)
    return response * float(np.log(max(shows, 1.0)))
