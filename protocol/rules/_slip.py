"""Apparent slip, and how much of it is possible."""

from __future__ import annotations

#: Common practice: a little below nought in a following sea, and not all of the way lost.
LEAST, MOST = -0.03, 0.9
#: What stands behind both, for the rules that ask for it.
SOURCE = (
    "definitions of the units: theoretical speed kn = rpm x pitch in inches / (gear ratio x 1215.2); "
    f"common practice: a slip of {100 * LEAST:g} to {100 * MOST:g} %"
)


def apparent_slip(speed: float, turns: float, pitch: float, gear_ratio: float = 1.0) -> float:
    """Apparent slip.

    Parameters
    ----------
    speed : float
        [m/s]
    turns : float
        Engine speed. [1/s]
    pitch : float
        [m]
    gear_ratio : float
        Turns of the engine for one of the propeller. [1]
    """
    return 1 - speed / (turns * pitch / gear_ratio)
