"""Values of a protocol's own, read of a channel over the span of a try."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from slackwater.analysis.handling.crossing import independent, noise_of, rounded_to
from slackwater.analysis.handling.figures import Figure, root_sum
from slackwater.analysis.handling.path import Array
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.logs.survey import GAP_STEPS, SHORTEST_GAP, usual_step
from slackwater.analysis.steady.track import first, in_unit
from slackwater.protocol.units.quantity import same_dimension

OVER = 3.0  # [s], where the protocol does not say how long an extreme is a mean of; common practice
LEAST_SAMPLES = 8


@dataclass(frozen=True, slots=True)
class OwnValue:
    """A value that the protocol says how to read.

    Parameters
    ----------
    name, unit : str
    channel : str
    take : str
        "max", "min", "furthest", "mean" or "spread".
    over : float
        How long an extreme is a mean of. [s]
    """

    name: str
    unit: str
    channel: str
    take: str
    over: float = OVER

    @property
    def words(self) -> str:
        """How it is read, as a reader is told."""
        how = {"max": "the largest", "min": "the smallest", "furthest": "the furthest from nought", "mean": "the mean", "spread": "the standard deviation"}  # fmt: skip
        over = "" if self.take in ("mean", "spread") else f", as a mean over {self.over:g} s"
        return f"{how[self.take]} of {self.channel.replace('_', ' ')} in the try{over}"


def read_own(own: OwnValue, channels: Sequence[Channel], start: float, end: float) -> Figure:
    """One value over the span of a try. [s]"""
    words = own.channel.replace("_", " ")
    channel = first(channels, own.channel)
    if channel is None:
        return Figure.missing(own.unit, f"no {words} is recorded")
    if not same_dimension(channel.unit, own.unit):
        return Figure.missing(own.unit, f"{words} is recorded in {channel.unit}, and the value is in {own.unit}")  # fmt: skip
    part = slice(*np.searchsorted(channel.seconds, [start, end + 1e-6]))
    seconds, values = channel.seconds[part], in_unit(channel, own.unit).values[part]
    why = _unfit(seconds, start, end, usual_step(channel.seconds) or 0.0)
    if why:
        return Figure.missing(own.unit, f"{words}: {why}")
    if channel.circular:
        values = np.unwrap(values, period=360.0)
    figure = _TAKEN[own.take](seconds, values, own)
    rounding = rounded_to(in_unit(channel, own.unit).values)
    return replace(figure, uncertainty=root_sum([figure.uncertainty, rounding]))


def _unfit(seconds: Array, start: float, end: float, step: float) -> str:
    """Why samples cannot stand for a span; empty where they can."""
    if seconds.size < LEAST_SAMPLES:
        return f"{seconds.size} readings are in the try; {LEAST_SAMPLES} are needed"
    silent = float(np.diff(np.concatenate([[start], seconds, [end]])).max())
    return f"silent for {silent:.0f} s of the try" if silent > max(GAP_STEPS * step, SHORTEST_GAP) else ""  # fmt: skip


def _mean(seconds: Array, values: Array, own: OwnValue) -> Figure:
    sd = float(values.std(ddof=1))
    return Figure(float(values.mean()), own.unit, sd / math.sqrt(independent(values)))


def _spread(seconds: Array, values: Array, own: OwnValue) -> Figure:
    sd = float(values.std(ddof=1))
    return Figure(sd, own.unit, sd / math.sqrt(2.0 * max(independent(values) - 1.0, 1.0)))


def _max(seconds: Array, values: Array, own: OwnValue) -> Figure:
    return extreme(seconds, values, own.over, own.unit)


def _min(seconds: Array, values: Array, own: OwnValue) -> Figure:
    return _turned(extreme(seconds, -values, own.over, own.unit))


def _furthest(seconds: Array, values: Array, own: OwnValue) -> Figure:
    up, down = (extreme(seconds, sign * values, own.over, own.unit) for sign in (1.0, -1.0))
    return up if (up.value or 0.0) >= (down.value or 0.0) else down


def _turned(figure: Figure) -> Figure:
    return figure if figure.value is None else replace(figure, value=-figure.value)


def extreme(seconds: Array, values: Array, over: float, unit: str) -> Figure:
    """The highest mean over so many seconds, without what looking for the highest adds to it.

    The highest of noisy means is too high by what their noise happens to be there. Where every other sample tells the
    place and the rest of them how high, and the other way round, it is too low, by what the place is missed by. The value
    is the middle of the two.

    Parameters
    ----------
    seconds, values : ndarray, shape (samples,)
        [s, unit]
    over : float
        [s]
    unit : str

    Notes
    -----
    The uncertainty is the noise of single readings (from second differences, so that no movement of the boat is in it)
    over those that are in a mean, and that of anywhere between the two.
    """
    starts = seconds[seconds <= seconds[-1] - over + 1e-6]
    if not starts.size:
        return Figure.missing(unit, f"the try is shorter than the {over:g} s of a mean")
    halves = [_means(seconds[k::2], values[k::2], starts, over) for k in (0, 1)]
    both = np.isfinite(halves[0]) & np.isfinite(halves[1])
    if not both.any():
        return Figure.missing(unit, f"too few readings for means over {over:g} s: two are needed in each")  # fmt: skip
    even, odd = (each[both] for each in halves)
    low = float(odd[int(np.argmax(even))] + even[int(np.argmax(odd))]) / 2
    high = float(_means(seconds, values, starts, over)[both].max())
    count = max(over / float(np.median(np.diff(seconds))), 1.0)
    parts: list[float | None] = [noise_of(values) / math.sqrt(count), abs(high - low) / math.sqrt(12)]  # fmt: skip
    return Figure((high + low) / 2, unit, root_sum(parts))


def _means(seconds: Array, values: Array, starts: Array, over: float) -> Array:
    """The mean from each start on; NaN where no sample is in it."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    a, b = np.searchsorted(seconds, starts - 1e-6), np.searchsorted(seconds, starts + over - 1e-6)
    count = b - a
    return np.where(count > 0, (total[b] - total[a]) / np.maximum(count, 1), np.nan)


_TAKEN: dict[str, Callable[[Array, Array, OwnValue], Figure]] = {
    "max": _max,
    "min": _min,
    "furthest": _furthest,
    "mean": _mean,
    "spread": _spread,
}
