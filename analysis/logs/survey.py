"""What is in a channel: how often it comes, how long it is silent, how often it repeats itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slackwater.analysis.logs.channels import Channel, Clock, Numbers

#: A pause is a gap from this many usual steps on, and never a short one. Common practice.
GAP_STEPS, SHORTEST_GAP = 5.0, 3.0  # [1], [s]


@dataclass(frozen=True, slots=True)
class Surveyed:
    """A channel in figures.

    Parameters
    ----------
    quantity, source, unit : str
    samples : int
    first, last : float or None
        On the clock of the log; None for a log without one. [s]
    rate : float or None
        Samples in a second by the usual step; None for fewer than two, or without a clock. [Hz]
    gaps : int
        Pauses longer than five usual steps and than 3 s.
    longest_gap : float or None
        [s]
    repeats : float or None
        Samples that repeat the one before; much of it is a dead band, or a display's rounding. [1]
    low, median, high : float
        The median of angles around the compass is that of their mean direction. [unit]
    repaired : str
        What was done to its clock.
    """

    quantity: str
    source: str
    unit: str
    samples: int
    first: float | None
    last: float | None
    rate: float | None
    gaps: int
    longest_gap: float | None
    repeats: float | None
    low: float
    median: float
    high: float
    repaired: str


def survey(channel: Channel, clock: Clock) -> Surveyed:
    """Look over a channel.

    Parameters
    ----------
    channel : Channel
        With one sample at least.
    clock : Clock
        Of its log.
    """
    timed = clock != "none"
    steps = np.diff(channel.seconds) if timed else np.empty(0)
    usual = usual_step(channel.seconds) if timed else None
    gaps = steps[steps > max(GAP_STEPS * (usual or 0.0), SHORTEST_GAP)]
    repeats = np.diff(channel.values) == 0
    low, median, high = _spread(channel)
    return Surveyed(
        channel.quantity,
        channel.source,
        channel.unit,
        int(channel.values.size),
        float(channel.seconds[0]) if timed else None,
        float(channel.seconds[-1]) if timed else None,
        1 / usual if usual else None,
        int(gaps.size),
        float(gaps.max()) if gaps.size else None,
        float(repeats.mean()) if repeats.size else None,
        low,
        median,
        high,
        channel.repaired,
    )


def usual_step(seconds: Numbers) -> float | None:
    """The median time between samples that do not fall on one instant; None without any. [s]"""
    steps = np.diff(seconds)
    steps = steps[steps > 0]
    if not steps.size:
        return None
    usual = float(np.median(steps))
    # Stamps of whole seconds for samples that come faster: then the mean rate tells more.
    mean = float(seconds[-1] - seconds[0]) / max(seconds.size - 1, 1)
    return mean if (np.diff(seconds) == 0).mean() > 0.5 else usual


def _spread(channel: Channel) -> tuple[float, float, float]:
    values = channel.values
    if not channel.circular:
        return float(values.min()), float(np.median(values)), float(values.max())
    radians = np.radians(values)
    mean = np.degrees(np.arctan2(np.sin(radians).mean(), np.cos(radians).mean()))
    around = (values - mean + 180) % 360 - 180
    low, median, high = (
        float(mean + x) % 360 for x in (around.min(), np.median(around), around.max())
    )
    return low, median, high
