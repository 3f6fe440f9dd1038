"""The clock of a log of sentences: from the times in some of them to the second of every line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Clock, Numbers
from slackwater.analysis.logs.clocks import (
    DAY,
    HALF_A_WEEK,
    ROLLOVER,
    Cycles,
    Ticks,
    cycles,
    dated,
    in_order,
    near_the_rest,
    rollovers,
    unwrapped,
)
from slackwater.analysis.logs.decimals import Whole

BACK = "clock off: a time that was over already, or days away"

Name = tuple[str, str]  # talker and kind


@dataclass(slots=True)
class Timing:
    """When each line was.

    Parameters
    ----------
    clock : Clock
    own : dict of Name to (line, moment)
        Of kinds that carry their own time.
    cycles : Cycles or None
        For all others, where no logger stamped the lines.
    stamps : (line, moment) or None
        Of the logger, brought to the clock of the receiver.
    repaired : str
    notes : list of str
    faults : Counter
    """

    clock: Clock
    own: dict[Name, tuple[Whole, Numbers]] = field(default_factory=dict)
    cycles: Cycles | None = None
    dropped: NDArray[np.bool_] | None = None
    stamps: tuple[Whole, Numbers] | None = None
    repaired: str = ""
    notes: list[str] = field(default_factory=list)
    faults: Counter[str] = field(default_factory=Counter)

    @classmethod
    def of(
        cls,
        ticks: Mapping[Name, Ticks],
        stamps: tuple[Whole, Numbers],
        openers: tuple[Whole, Numbers],
    ) -> Timing:
        """The clock of a whole log.

        Parameters
        ----------
        ticks : mapping
            The times that sentences carry, by talker and kind.
        stamps : (line, ndarray of shape (stamps, 2))
            Of a logger, seconds and whether a zone is written; may be empty.
        openers : (line, anything)
            Lines of the kind that the log begins with.
        """
        ticks = {name: each for name, each in ticks.items() if each.line.size}
        if not ticks:
            return cls._by_stamps(*stamps)
        own, has_date = _moments(ticks)
        timing = cls("utc" if has_date else "time of day", own)
        if not has_date:
            timing.notes.append(
                "no date in the log: times are times of day, as the receiver has them"
            )
        line, moment = own[_master(own)]
        if stamps[0].size:
            timing._take_stamps(line, moment, *stamps)
            line, moment = timing.own[_master(own)]
        timing.cycles = cycles(line, moment, openers[0])
        timing._cut_jumps()
        return timing

    @classmethod
    def _by_stamps(cls, line: Whole, both: Numbers) -> Timing:
        if not line.size:
            return cls("none", notes=["no time in the log: values have an order, and no duration"])
        timing = cls("utc", stamps=(line, both[:, 0]))
        timing.notes.append("times are those of the logger's stamps: no sentence carries its own")
        if not both[:, 1].all():
            timing.notes.append("stamps without a zone are taken for UTC")
        return timing

    def _take_stamps(self, line: Whole, moment: Numbers, stamped: Whole, both: Numbers) -> None:
        """Bring the stamps of the logger to the clock of the receiver, by their usual distance."""
        at = np.searchsorted(stamped, line)
        at_once = (at < stamped.size) & (stamped[np.minimum(at, stamped.size - 1)] == line)
        if not at_once.any():
            return
        apart = both[at[at_once], 0] - moment[at_once]
        late = float(np.median(apart))
        rounds = rollovers(0.0, late) if self.clock == "utc" else 0
        if rounds:
            self._roll(rounds)
            late -= rounds * ROLLOVER
        elif self.clock == "time of day":
            self._date_by_stamps(late)
            late -= DAY * np.round(late / DAY)
        self.stamps = (stamped, both[:, 0] - late)
        self.notes.append(
            f"sentences without a time of their own have the logger's stamps, less {late:.2f} s by "
            "which they are usually later than the receiver's times"
        )

    def _roll(self, rounds: int) -> None:
        weeks = rounds * 1024
        self.own = {
            name: (line, moment + rounds * ROLLOVER) for name, (line, moment) in self.own.items()
        }
        self.repaired = f"{weeks} weeks added"
        self.notes.append(
            f"the receiver's dates are {weeks} weeks early by the logger's stamps (its week counter "
            "went round); that was put right"
        )

    def _date_by_stamps(self, late: float) -> None:
        days = DAY * np.round(late / DAY)
        self.own = {name: (line, moment + days) for name, (line, moment) in self.own.items()}
        self.clock = "utc"
        self.notes = ["no date in the sentences: it is that of the logger's stamps"]

    def _cut_jumps(self) -> None:
        """Leave out cycles that lie where time has been already."""
        if self.cycles is None:
            return
        keep = kept(self.cycles.moment)
        if not keep.all():
            self.dropped = ~keep
            self.notes.append(jumps(self.cycles.moment, keep))

    def seconds(self, name: Name, line: Whole) -> tuple[Numbers, NDArray[np.bool_]]:
        """The moments of the lines of one channel, and which of them to keep."""
        seconds, keep = self._moments(name, line)
        if self.cycles is not None:
            cycle = self.cycles.of(line)
            if self.dropped is not None:
                keep &= ~self.dropped[cycle]
            # a sentence of a time when the date was not set
            keep &= np.abs(seconds - self.cycles.moment[cycle]) <= HALF_A_WEEK
        if keep.all():
            return seconds, in_order(seconds)
        left = np.flatnonzero(keep)
        keep = np.zeros(line.size, bool)
        keep[left[in_order(seconds[left])]] = True
        return seconds, keep

    def _moments(self, name: Name, line: Whole) -> tuple[Numbers, NDArray[np.bool_]]:
        if name in self.own:
            return _at_lines(*self.own[name], line)
        if self.stamps is not None:
            return _at_lines(*self.stamps, line)
        if self.cycles is not None:
            return self.cycles.seconds(line), np.ones(line.size, bool)
        return line.astype(float), np.ones(line.size, bool)


def kept(moment: Numbers) -> NDArray[np.bool_]:
    """Which times of a clock to keep: those near the rest, and never falling."""
    keep = near_the_rest(moment)
    if keep.all():
        return in_order(moment)
    there = np.flatnonzero(keep)
    keep[there] = in_order(moment[there])
    return keep


def jumps(moment: Numbers, keep: NDArray[np.bool_]) -> str:
    """What is said of a clock that jumps."""
    furthest = float(-np.diff(moment).min())
    return (
        f"the clock jumps: {int((~keep).sum())} of {keep.size} of its times lie where the rest has been, "
        f"or days off (furthest step back {furthest:.3f} s); what came then is left out"
    )


def _at_lines(lines: Whole, moments: Numbers, wanted: Whole) -> tuple[Numbers, NDArray[np.bool_]]:
    """The moments of lines that have one."""
    at = np.minimum(np.searchsorted(lines, wanted), lines.size - 1)
    return moments[at], lines[at] == wanted


def _moments(ticks: Mapping[Name, Ticks]) -> tuple[dict[Name, tuple[Whole, Numbers]], bool]:
    """Each kind's own clock, on one day where any has a date; and whether any has."""
    with_date = [
        (each.line[there], (each.time + each.date)[there])
        for each in ticks.values()
        if (there := ~np.isnan(each.date)).any()
    ]
    if not with_date:
        return {name: (each.line, unwrapped(each.time)) for name, each in ticks.items()}, False
    line = np.concatenate([part[0] for part in with_date])
    moment = np.concatenate([part[1] for part in with_date])
    order = np.argsort(line, kind="stable")
    line, moment = line[order], moment[order]
    own = {}
    for name, each in ticks.items():
        both = each.time + each.date
        moments = np.where(np.isnan(both), dated(each, line, moment), both)
        own[name] = (each.line, moments)
    return own, True


def _master(own: Mapping[Name, tuple[Whole, Numbers]]) -> Name:
    """The clock that ticks most often; of several, the first by name."""
    return max(sorted(own), key=lambda name: own[name][0].size)
