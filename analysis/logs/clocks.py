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
#: A clock that shows more than this off the rest was not set for a while. [s]
HALF_A_WEEK = 3.5 * DAY


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


def unwrapped(time: Numbers, period: float = DAY) -> Numbers:
    """Times of day, counted on over midnight; or of any counter that goes round.

    A fall is midnight only if it comes within two steps of 24 h; any other is a clock put back.
    """
    if time.size < 2:
        return time
    steps = np.diff(time)
    usual = float(np.median(steps[steps > 0])) if (steps > 0).any() else 1.0
    midnight = (steps < 0) & (np.abs(steps + period) <= 2 * usual)
    back = (steps > 0) & (np.abs(steps - period) <= 2 * usual)  # before it again, and soon over it
    days = np.cumsum(midnight.astype(int) - back)
    result: Numbers = time + period * np.concatenate([[0], days])
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

    What a clock shows that was put back, or off for a while, is left out: sorting would lay one
    passage into another.

    Examples
    --------
    >>> in_order(np.array([1.0, 2.0, 9.0, 3.0, 4.0])).tolist()
    [True, True, False, True, True]
    """
    keep = np.ones(seconds.size, bool)
    if seconds.size < 2 or (seconds[1:] >= seconds[:-1]).all():
        return keep
    # What is neither before nor after anything that it should not be is kept in any case.
    highest = np.maximum.accumulate(seconds)
    lowest = np.minimum.accumulate(seconds[::-1])[::-1]
    doubtful = (highest > seconds) | (lowest < seconds)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], doubtful, [0]])))
    for first, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        keep[first:end] = _longest_rise(seconds[first:end])
    return keep


def _longest_rise(seconds: Numbers) -> NDArray[np.bool_]:
    """The longest part of a row that never falls."""
    ends: list[float] = []  # the lowest second that a rise of each length ends with
    last: list[int] = []
    before = []
    for sample, second in enumerate(seconds.tolist()):
        length = bisect_right(ends, second)
        before.append(last[length - 1] if length else -1)
        ends[length : length + 1] = [second]
        last[length : length + 1] = [sample]
    keep, sample = np.zeros(seconds.size, bool), last[-1]
    while sample >= 0:
        keep[sample] = True
        sample = before[sample]
    return keep


def near_the_rest(seconds: Numbers) -> NDArray[np.bool_]:
    """Which samples lie within the week around the middle one: no log goes on for longer."""
    if not seconds.size or seconds.max() - seconds.min() <= HALF_A_WEEK:
        return np.ones(seconds.size, bool)
    near: NDArray[np.bool_] = np.abs(seconds - np.median(seconds)) <= HALF_A_WEEK
    return near


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
