"""Tries of planing slower and slower: the slowest speed that she held before she came off the plane."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.handling.circles_found import Circles, LeftOut
from slackwater.analysis.handling.crossing import independent, noise_of, rounded_to
from slackwater.analysis.handling.figures import Figure, root_sum
from slackwater.analysis.handling.found_try import NO_DRIFT, FoundTry
from slackwater.analysis.handling.path import Array, Path
from slackwater.analysis.handling.wanted import Held, Wanted
from slackwater.analysis.handling.way_made import (  # fmt: skip
    MOST_TURN,
    course_made,
    speed_of,
    through_water,
    turned,
)
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.track import Mask, NoTrack, first
from slackwater.protocol.declared.from_log import SPEEDS
from slackwater.protocol.units.quantity import QuantityError

if TYPE_CHECKING:
    from slackwater.protocol.declared.limits import Limit

SMOOTH = 5.0  # [s] over which what shows planing is averaged, so that a wave is no coming off
BRIEF = 1.5  # [s] over which it is to tell when she came off
SETTLED = 3.0  # [s] over which the speed is, so that a receiver's noise is no straying
PLANES, OFF, UNKNOWN = 1, 0, -1
LEAST_SAMPLES = 5
AWAY = 4.0  # [s] that she has to be off the plane for, or silent, to have come off it


@dataclass(frozen=True, slots=True)
class Hold:
    """A speed that was held: first and last sample, and its mean. [kn]"""

    first: int
    last: int
    mean: float


def planing(
    wanted: Wanted, path: Path, circles: Circles, channels: Sequence[Channel]
) -> Iterator[FoundTry | LeftOut]:
    """Stretches on the plane that end in coming off it, each with the slowest speed held before.

    Notes
    -----
    Common practice: from a planing speed come down in small steps, hold each, until she comes off; the last held is the
    slowest. No standard for small craft is known that says by what a boat planes, so the protocol does.

    Raises
    ------
    NoTrack
        When what shows that she planes is not recorded.
    """
    (value,) = wanted.values
    way, freed = through_water(wanted, path, circles)
    if value.held is None or not way.velocity_seconds.size:
        return
    coming = _Coming(value.held, way, channels)
    for stretch in coming.stretches():
        start, end = (float(coming.seconds[at]) for at in stretch)
        try:
            figure, during, note = coming.read(stretch)
        except _NoTry as error:
            yield LeftOut(start, end, f"no {wanted.name}: {error}")
            continue
        one = FoundTry(wanted.name, *during, {value.name: figure}, course_made(way, *during))
        yield replace(one, aside="" if freed else NO_DRIFT, notes=(note,))


class _NoTry(ValueError):
    """A stretch on the plane that tells no slowest speed; says why."""


class _Coming:
    """One outing as it is looked at: her speed, and when she planed."""

    def __init__(self, held: Held, way: Path, channels: Sequence[Channel]) -> None:
        self.held, self.way, self.channels = held, way, channels
        self.seconds, self.speed = way.velocity_seconds, speed_of(way)
        self.settled = smooth(self.seconds, self.speed, SETTLED)
        self.shown = _shown(held, channels, self.seconds)
        self.fast = _fast(held, self.settled)

    def stretches(self) -> Iterator[tuple[int, int]]:
        """First and last sample of each stretch on the plane that is long enough to hold a speed."""
        there = np.flatnonzero((self.shown == PLANES) & self.fast)
        if not there.size:
            return
        parted = np.flatnonzero(np.diff(self.seconds[there]) > AWAY)
        for part in np.split(there, parted + 1):
            if self.seconds[part[-1]] - self.seconds[part[0]] >= self.held.seconds:
                yield int(part[0]), int(part[-1])

    def read(self, stretch: tuple[int, int]) -> tuple[Figure, tuple[float, float], str]:
        """The slowest speed held, from when to when, and what it was found by. [kn, s]"""
        hold = self._last_hold(stretch)
        off = self._speed_off(stretch[1])
        if hold.mean - off > self.held.step:
            raise _NoTry(
                f"she came off the plane at {off:.1f} kn, more than {self.held.step:g} kn below the {hold.mean:.1f} kn "
                "that she held, and might have held less: come down in small steps"
            )
        window = self._steadiest(hold)
        if (count := window.stop - window.start) < LEAST_SAMPLES:
            raise _NoTry(
                f"{count} speeds are recorded while she held it; {LEAST_SAMPLES} are needed"
            )
        during = (float(self.seconds[window.start]), float(self.seconds[window.stop - 1]))
        if (turn := turned(self.way, *during)) > MOST_TURN:
            raise _NoTry(f"she turned by {turn:.0f} deg while she held it")
        later = max(float(self.seconds[stretch[1]]) - during[1], 0.0)
        note = f"she came off the plane at {off:.1f} kn, {later:.0f} s later"
        return self._mean(hold, window), during, note

    def _speed_off(self, end: int) -> float:
        """The speed at which she came off the plane, as what shows it has it. [kn]"""
        after = self.shown[(self.seconds > self.seconds[end]) & (self.seconds <= self.seconds[end] + AWAY)]  # fmt: skip
        if not (after == PLANES).any() and not (after == OFF).any():
            raise _NoTry("the log does not go on to where she came off the plane")
        if not (after == OFF).any():
            raise _NoTry("she slowed down below where the protocol has her planing, and nothing showed that she came off the plane")  # fmt: skip
        return float(np.interp(self._came_off(float(self.seconds[end])), self.seconds, self.speed))

    def _came_off(self, about: float) -> float:
        """When a reading first showed her off the plane for good, averaged so briefly that it is not seen early. [s]"""
        moments = []
        for channel, limit in showing(self.held, self.channels):
            level = smooth(channel.seconds, channel.values, BRIEF)
            fast = np.interp(channel.seconds, self.seconds, self.fast) > 0.5
            there = _keeps(limit, level, channel.unit) & fast & (np.abs(channel.seconds - about) <= SMOOTH)  # fmt: skip
            if there.any():
                after = min(int(np.flatnonzero(there)[-1]) + 1, there.size - 1)
                moments.append(float(channel.seconds[after]))
        return min(moments, default=about)

    def _last_hold(self, stretch: tuple[int, int]) -> Hold:
        held = self.held
        holds = list(holds_in(self.seconds, self.settled, stretch, held))
        if not holds:
            raise _NoTry(f"she held no speed within {held.within:g} kn for {held.seconds:g} s before she came off the plane")  # fmt: skip
        slowest, last = min(holds, key=lambda one: one.mean), holds[-1]
        if slowest.mean < last.mean - held.within:
            raise _NoTry(f"she held {slowest.mean:.1f} kn, and came off the plane later, from {last.mean:.1f} kn")  # fmt: skip
        return last

    def _steadiest(self, hold: Hold) -> slice:
        """Those seconds of a hold in which the speed strayed least."""
        best, least = slice(hold.first, hold.last + 1), math.inf
        for a in range(hold.first, hold.last + 1):
            b = int(np.searchsorted(self.seconds, self.seconds[a] + self.held.seconds + 1e-6))
            if b > hold.last + 1 or self.seconds[b - 1] - self.seconds[a] < 0.9 * self.held.seconds:
                continue
            strays = float(self.speed[a:b].std())
            if strays < least:
                best, least = slice(a, b), strays
        return best

    def _mean(self, hold: Hold, window: slice) -> Figure:
        """The mean over a window, with its standard uncertainty.

        The window was chosen as the steadiest, so that its own scatter is less than the noise; that of the whole hold
        stands beside it.
        """
        part = self.speed[window]
        noise = max(float(part.std(ddof=1)), noise_of(self.speed[hold.first : hold.last + 1]))
        parts: list[float | None] = [noise / math.sqrt(independent(part)), rounded_to(self.speed)]
        return Figure(float(part.mean()), "kn", root_sum(parts))


def _fast(held: Held, speed: Array) -> Mask:
    """Where she is as fast as the protocol has her at least to plane. [kn]"""
    fast = np.ones(speed.size, bool)
    for name, limit in held.planing.items():
        if name in SPEEDS:
            fast &= _keeps(limit, speed, "kn")
    return fast


def showing(held: Held, channels: Sequence[Channel]) -> Iterator[tuple[Channel, Limit]]:
    """The channels that show that she planes, each with its limit.

    Raises
    ------
    NoTrack
        When one is not recorded, or is of another kind than its limit.
    """
    for name, limit in held.planing.items():
        if name in SPEEDS:
            continue
        channel, words = first(channels, name), name.replace("_", " ")
        if channel is None:
            raise NoTrack(f"no {words} is recorded, and the protocol has it show that she planes ({words} {limit})")  # fmt: skip
        try:
            limit.bounds(channel.unit)
        except QuantityError:
            raise NoTrack(f"{words} is recorded in {channel.unit}, and the protocol has it '{limit}' for her to plane") from None  # fmt: skip
        yield channel, limit


def _shown(held: Held, channels: Sequence[Channel], seconds: Array) -> NDArray[np.int8]:
    """Whether what shows it has her planing, at each moment: PLANES, OFF, or UNKNOWN where it is silent."""
    found = np.full(seconds.size, PLANES, np.int8)
    for channel, limit in showing(held, channels):
        level = smooth(channel.seconds, channel.values, SMOOTH)
        keeps = _keeps(limit, np.interp(seconds, channel.seconds, level), channel.unit)
        found[~keeps] = OFF
        found[_apart(seconds, channel.seconds) > AWAY] = UNKNOWN
    return found


def _apart(seconds: Array, samples: Array) -> Array:
    """How far each moment is from the nearest sample. [s]"""
    after = np.clip(np.searchsorted(samples, seconds), 1, samples.size - 1)
    return np.minimum(np.abs(samples[after] - seconds), np.abs(seconds - samples[after - 1]))


def _keeps(limit: Limit, values: Array, unit: str) -> Mask:
    """Which values keep a limit."""
    low, high = limit.bounds(unit)
    return np.asarray((values >= low) & (values <= high))


def smooth(seconds: Array, values: Array, over: float) -> Array:
    """Means over so many seconds around each sample. [s]"""
    total = np.concatenate([[0.0], np.cumsum(values)])
    a = np.searchsorted(seconds, seconds - over / 2 - 1e-6)
    b = np.searchsorted(seconds, seconds + over / 2 + 1e-6)
    return np.asarray((total[b] - total[a]) / (b - a))


def holds_in(
    seconds: Array, settled: Array, stretch: tuple[int, int], held: Held
) -> Iterator[Hold]:
    """The longest stretches in which the speed stayed within the tolerance, in order of time; none overlaps another."""
    start, end = stretch
    spans: dict[int, int] = {}  # last sample by the first
    low, highest, lowest = start, deque[int](), deque[int]()
    for high in range(start, end + 1):
        for ends, sign in ((highest, 1.0), (lowest, -1.0)):
            while ends and sign * settled[ends[-1]] <= sign * settled[high]:
                ends.pop()
            ends.append(high)
        while settled[highest[0]] - settled[lowest[0]] > 2 * held.within:
            low += 1
            for ends in (highest, lowest):
                if ends[0] < low:
                    ends.popleft()
        spans[low] = high
    long = [(a, b) for a, b in spans.items() if seconds[b] - seconds[a] >= held.seconds]
    for a, b in _parted(seconds, long):
        yield Hold(a, b, float(settled[a : b + 1].mean()))


def _parted(seconds: Array, spans: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Of spans that overlap the longer ones."""
    taken: list[tuple[int, int]] = []
    for a, b in sorted(spans, key=lambda each: seconds[each[0]] - seconds[each[1]]):
        if all(b < x or a > y for x, y in taken):
            taken.append((a, b))
    return sorted(taken)
