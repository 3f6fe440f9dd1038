"""Whether two configurations have the same propeller behind the same gear.

Where they have not, one engine speed asks different things of the two: a coarser propeller goes faster
and burns more at it, and neither is a merit. What is compared at equal engine speed then has no better
side.
"""

from __future__ import annotations

from slackwater.protocol.declared.trial import ComparisonPair, Trial

#: What is declared of a configuration's drive, and how it is called.
DRIVE = {
    "propeller": "propeller",
    "propeller_pitch": "propeller pitch",
    "propeller_diameter": "propeller diameter",
    "gear_ratio": "gear ratio",
}

#: Set points of these hold how fast the propeller turns, not what it does.
HELD_TURNING = ("engine_speed", "propeller_speed", "throttle")


def drive_differs(trial: Trial, pair: ComparisonPair) -> tuple[str, ...]:
    """What differs in the drive of a pair, in words; what is given for one alone counts as different."""
    sides = trial.configurations[pair.baseline], trial.configurations[pair.modified]
    return tuple(
        words for name, words in DRIVE.items() if getattr(sides[0], name) != getattr(sides[1], name)
    )


def turning_held(trial: Trial) -> bool:
    """Whether the set points hold a speed of turning, or the throttle."""
    return trial.protocol.set_point_measure in HELD_TURNING
