"""Clocks: which second each line of a log belongs to, midnight, clocks that jump or are years off."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.decimals import Whole

DAY = 86400.0  # [s]
#: The week counter of the satellites has ten bits.
ROLLOVER = 1024 * 7 * DAY  # [s]
#: A step of a clock beyond this is looked at by itself: it may be a jump. [s]
_LONG_STEP = 10.0
#: No log goes on for longer: a clock that does was not set for a while. [s]
_LONGEST_OUTING = 14 * DAY


@dataclass(frozen=True, slots=True)
class Ticks:
    """The times that one kind of sentence of one talker carries.

    Parameters
    ----------
    line : ndarray of int, shape (ticks,)
        Rising.
    time : ndarray, shape (ticks,)
        Of the day. [s]
    date : ndarray, shape (ticks,)
        Midnight of its day since 1970-01-01; NaN where no date is written. [s]
    """

    line: Whole
    time: Numbers
    date: Numbers


def unwrapped(time: Numbers) -> Numbers:
    """Times of day, counted on over midnight.

    A fall is midnight only if it comes within two steps of 24 h; any other is a clock put back.
    """
    if time.size < 2:
        return time
    steps = np.diff(time)
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 1.0
    midnight = (steps < 0) & (np.abs(steps + DAY) <= 2 * usual)
    back = (steps > 0) & (np.abs(steps - DAY) <= 2 * usual)  # before it again, and soon over it
    days = np.cumsum(midnight.astype(int) - back)
    result: Numbers = time + DAY * np.concatenate([[0], days])
    return result


def dated(ticks: Ticks, line: Whole, moment: Numbers) -> Numbers:
    """The moments of ticks without a date: on the day that brings each nearest to a dated one.

    Parameters
    ----------
    line, moment : ndarray, shape (dated ticks,)
        Of those with a date, by rising line.
    """
    after = np.clip(np.searchsorted(line, ticks.line), 0, line.size - 1)
    before = np.maximum(after - 1, 0)
    nearer = np.where(
        np.abs(line[after] - ticks.line) <= np.abs(line[before] - ticks.line), after, before
    )
    result: Numbers = ticks.time + DAY * np.round((moment[nearer] - ticks.time) / DAY)
    return result


def in_order(seconds: Numbers) -> NDArray[np.bool_]:
    """Which samples to keep so that time never falls, and as many as can be.

    A clock that was put back, or showed another time for a while, is cut there: sorting would
    lay one passage into another.
    """
    if seconds.size < 2:
        return np.ones(seconds.size, bool)
    near = np.abs(seconds - np.median(seconds)) <= _LONGEST_OUTING
    if not near.all():
        there = np.flatnonzero(near)
        near[there] = in_order(seconds[there])
        return near
    steps = np.diff(seconds)
    if (steps >= 0).all():
        return np.ones(seconds.size, bool)
    cuts = np.flatnonzero((steps < 0) | (steps > _LONG_STEP)) + 1
    first = np.concatenate([[0], cuts])
    last = np.append(cuts, seconds.size) - 1
    kept = _heaviest_chain(seconds[first], seconds[last], last - first + 1)
    keep = np.zeros(seconds.size, bool)
    for piece in kept:
        keep[first[piece] : last[piece] + 1] = True
    return keep


def _heaviest_chain(begins: Numbers, ends: Numbers, weights: Whole) -> list[int]:
    """Pieces, in order, each beginning no earlier than the one before ended; the most samples."""
    best: list[tuple[float, int, int]] = []  # end, samples so far, piece; rising in the first two
    before = [-1] * begins.size
    for piece, (begin, end, weight) in enumerate(
        zip(begins.tolist(), ends.tolist(), weights.tolist(), strict=True)
    ):
        at = bisect_right(best, begin, key=lambda entry: entry[0]) - 1
        before[piece] = best[at][2] if at >= 0 else -1
        total = weight + (best[at][1] if at >= 0 else 0)
        at = bisect_right(best, end, key=lambda entry: entry[0])
        if at and best[at - 1][1] >= total:
            continue
        beaten = at
        while beaten < len(best) and best[beaten][1] <= total:
            beaten += 1
        while at and best[at - 1][0] == end:
            at -= 1
        best[at:beaten] = [(end, total, piece)]
    chain, piece = [], best[-1][2]
    while piece >= 0:
        chain.append(piece)
        piece = before[piece]
    return chain[::-1]


def rollovers(apparent: float, stamped: float) -> int:
    """How many times the week counter of a receiver went round, by the stamp of the logger.

    Parameters
    ----------
    apparent, stamped : float
        The moment by the receiver and by the logger, since 1970. [s]
    """
    rounds = round((stamped - apparent) / ROLLOVER)
    near = abs(stamped - apparent - rounds * ROLLOVER) <= DAY
    return rounds if rounds > 0 and near else 0


@dataclass(frozen=True, slots=True)
class Cycles:
    """Rounds of sentences, each with the second that it belongs to.

    Parameters
    ----------
    begin : ndarray of int, shape (cycles,)
        First line of each.
    moment : ndarray, shape (cycles,)
        [s]
    """

    begin: Whole
    moment: Numbers

    def of(self, line: Whole) -> NDArray[np.intp]:
        """The cycle that each line is in."""
        return np.maximum(np.searchsorted(self.begin, line, side="right") - 1, 0)

    def seconds(self, line: Whole) -> Numbers:
        """The moments of the lines of one channel.

        The last of a cycle has the moment of the clock; those before it (an instrument that is
        faster than the clock, or a clock that missed a beat) lie evenly before it.
        """
        cycle = self.of(line)
        counts = np.bincount(cycle, minlength=self.moment.size)
        usual = max(float(np.median(counts[counts > 0])), 1.0)
        still_to_come = np.cumsum(counts)[cycle] - 1 - np.arange(line.size)
        moment = self.moment[cycle] - still_to_come * (self.step / usual)
        floor = np.where(cycle > 0, self.moment[np.maximum(cycle - 1, 0)], -np.inf)
        rising = floor <= self.moment[cycle]
        result: Numbers = np.where(rising, np.maximum(moment, floor), moment)
        return result

    @property
    def step(self) -> float:
        """The usual time from one cycle to the next. [s]"""
        steps = np.diff(self.moment)
        return float(np.median(steps[steps > 0])) if (steps > 0).any() else 1.0


def cycles(line: Whole, moment: Numbers, openers: Whole) -> Cycles:
    """Cut a log into cycles: each has one tick of the clock, and begins with the same sentence.

    Parameters
    ----------
    line, moment : ndarray, shape (ticks,)
        Of the clock.
    openers : ndarray of int
        Lines of the kind that the log begins with: a logger starts in the pause between cycles.
        Values before the first tick of their cycle belong to the tick that follows.
    """
    previous = np.concatenate([[-1], line[:-1]])
    at = np.searchsorted(openers, previous, side="right")
    bounded = np.append(openers, np.iinfo(np.int64).max)[at]
    begin = np.where(bounded <= line, bounded, previous + 1)
    begin[0] = 0
    found = Cycles(begin, moment)
    left = openers[np.searchsorted(openers, line[-1], side="right") :]
    if left.size:  # a last cycle that the log breaks off before its tick
        begin, moment = np.append(begin, left[0]), np.append(moment, moment[-1] + found.step)
        found = Cycles(begin, moment)
    return found
