"""What the instruments read over a run: means of samples, and how many there were."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.track import in_unit

LEAST_PART = 0.5  # of the samples that a channel usually has in such a time


@dataclass(frozen=True, slots=True)
class Reading:
    """The mean of one quantity over a run, NaN where there is too little; and where it comes from.

    Parameters
    ----------
    value : float
        [unit]
    unit : str
    sources : tuple of str
        One for each engine.
    used, missing : int
        Samples in the mean, and samples that the channel's usual rate would have given besides.
    parts : tuple of float
        The mean of each source. [unit]
    """

    value: float
    unit: str
    sources: tuple[str, ...]
    used: int
    missing: int
    parts: tuple[float, ...] = ()


def reading_of(
    channels: Sequence[Channel], quantity: str, unit: str, combine: str, start: float, end: float
) -> Reading | None:
    """The mean of a quantity from `start` to before `end`; None where no channel has it.

    Several channels are several engines: their means are added or averaged, as `combine` says.
    """
    own = [in_unit(c, unit) for c in channels if c.quantity == quantity and c.seconds.size]
    if not own:
        return None
    parts = [_part(channel, start, end) for channel in own]
    values = [mean for mean, _, _ in parts]
    value = math.fsum(values) if combine == "sum" else math.fsum(values) / len(values)
    used, missing = sum(n for _, n, _ in parts), sum(m for _, _, m in parts)
    return Reading(value, unit, tuple(c.source for c in own), used, missing, tuple(values))


def _part(channel: Channel, start: float, end: float) -> tuple[float, int, int]:
    a, b = np.searchsorted(channel.seconds, [start, end])
    used = int(b - a)
    between = np.diff(channel.seconds)
    between = between[between > 0]
    usual = round((end - start) / float(np.median(between))) if between.size else 1
    enough = used > 0 and used >= LEAST_PART * usual
    values = channel.values[a:b]
    if channel.circular and enough:
        turn = np.radians(values)
        mean = float(np.degrees(np.arctan2(np.sin(turn).mean(), np.cos(turn).mean())) % 360.0)
    else:
        mean = float(values.mean()) if enough else math.nan
    return mean, used, max(0, usual - used)
