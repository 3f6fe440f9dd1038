"""Points of a track or rows of a table, column by column, to the channels of a log."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import UNITS, Channel, Clock, Log, Numbers, in_their_order
from slackwater.analysis.logs.meaning import BEYOND, NOWHERE, RANGES
from slackwater.analysis.logs.opening import Opened
from slackwater.analysis.logs.timing import BACK, jumps, kept

NO_TIME = "point without a time"
SAME_TIME = "point at the time of the one before"


@dataclass(slots=True)
class Points:
    """What a file of points has, while it is read.

    Parameters
    ----------
    form : str
    clock : Clock
    source : str
        What the channels are said to come from.
    columns : dict of str to list of float
        By quantity; NaN where a point has none. All as long as `seconds`.
    sources : dict of str to str
        By quantity, where that differs from `source`.
    seconds : list of float
        NaN for none. [s]
    lines : list of int
        Where each point stands.
    count : int
        Of lines, points or records in the file.
    """

    form: str
    source: str
    clock: Clock = "utc"
    columns: dict[str, list[float]] = field(default_factory=dict)
    sources: dict[str, str] = field(default_factory=dict)
    seconds: list[float] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    count: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    notes: list[str] = field(default_factory=list)

    def add(self, line: int, second: float, values: Sequence[tuple[str, float]]) -> None:
        """Add a point: what it does not say is NaN."""
        for quantity, value in values:
            column = self.columns.get(quantity)
            if column is None:
                column = self.columns[quantity] = [np.nan] * len(self.seconds)
            column.append(value)
        self.seconds.append(second)
        self.lines.append(line)
        if len(values) < len(self.columns):
            for column in self.columns.values():
                column += [np.nan] * (len(self.seconds) - len(column))

    def log(self, opened: Opened) -> Log:
        """The whole, with what does not stand left out and counted."""
        seconds, lines = np.array(self.seconds, float), np.array(self.lines, np.int64)
        usable = self._usable(seconds)
        nowhere = self._nowhere()
        channels = []
        for quantity, column in self.columns.items():
            values = np.array(column, float)
            good = usable & ~np.isnan(values)
            if quantity in ("latitude", "longitude"):
                self.faults[NOWHERE] += int((good & nowhere).sum())
                good &= ~nowhere
            low, high = RANGES.get(quantity, (-np.inf, np.inf))
            inside = (values >= low) & (values <= high)
            self.faults[BEYOND] += int((good & ~inside).sum())
            good &= inside
            if good.any():
                source = self.sources.get(quantity, self.source)
                channels.append(
                    Channel(quantity, source, UNITS[quantity], seconds[good], values[good], "", lines[good])
                )  # fmt: skip
        faults = dict(sorted((+self.faults).items()))
        return Log(
            opened.path, self.form, self.clock, in_their_order(channels), self.count, faults,
            tuple(self.notes), opened.sha256,
        )  # fmt: skip

    def _usable(self, seconds: Numbers) -> NDArray[np.bool_]:
        """Points with a time that never falls, and only the first of those at one time."""
        timed = ~np.isnan(seconds)
        self.faults[NO_TIME] += int((~timed).sum())
        there = np.flatnonzero(timed)
        if not there.size:
            return np.zeros(seconds.size, bool)
        keep = kept(seconds[there])
        if not keep.all():
            self.notes.append(jumps(seconds[there], keep))
            self.faults[BACK] += int((~keep).sum())
        there = there[keep]
        again = np.diff(seconds[there], prepend=-np.inf) == 0
        self.faults[SAME_TIME] += int(again.sum())
        usable = np.zeros(seconds.size, bool)
        usable[there[~again]] = True
        return usable

    def _nowhere(self) -> NDArray[np.bool_]:
        latitude, longitude = self.columns.get("latitude"), self.columns.get("longitude")
        if latitude is None or longitude is None:
            return np.zeros(len(self.seconds), bool)
        return np.asarray((np.array(latitude) == 0) & (np.array(longitude) == 0))
