"""Points of a track or rows of a table, column by column, to the channels of a log."""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Channel, Clock, Log, Numbers, in_their_order
from slackwater.analysis.logs.meaning import BEYOND, NOWHERE, RANGES
from slackwater.analysis.logs.opening import Opened
from slackwater.analysis.logs.timing import BACK, jumps, kept
from slackwater.protocol.catalogue.logged import UNITS

NO_TIME = "point without a time"
SAME_TIME = "point at the time of the one before"
SAME_TIME_VALUE = "value at the time of the one before, of one source"

Key = tuple[str, str]  # quantity, source


def _numbers() -> array[float]:
    return array("d")  # a quarter of what a list of as many takes


def _append(column: array[float], values: Sequence[float] | Numbers) -> None:
    """All at once, by their bytes."""
    column.frombytes(np.asarray(values, np.float64).tobytes())


@dataclass(slots=True)
class Points:
    """What a file of points has, while it is read.

    Parameters
    ----------
    form : str
    source : str
        What the channels are said to come from, where nothing else is.
    clock : Clock
    apart : bool
        Whether points at one time may be of different sources, so that each source is looked at by itself.
    units : mapping
        Of quantities that `UNITS` does not have.
    columns : dict of (quantity, source) to array of float
        NaN where a point has none. All as long as `seconds`.
    seconds : array of float
        NaN for none. [s]
    lines : array of int
        Where each point stands.
    count : int
        Of lines, points or records in the file.
    """

    form: str
    source: str
    clock: Clock = "utc"
    apart: bool = False
    units: Mapping[str, str] = field(default_factory=dict)
    columns: dict[Key, array[float]] = field(default_factory=dict)
    seconds: array[float] = field(default_factory=_numbers)
    lines: array[int] = field(default_factory=lambda: array("i"))
    count: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    notes: list[str] = field(default_factory=list)

    def add(self, line: int, second: float, values: Sequence[tuple[str, float]]) -> None:
        """Add a point: what it does not say is NaN."""
        for quantity, value in values:
            self._column((quantity, self.source)).append(value)
        self.seconds.append(second)
        self.lines.append(line)
        if len(values) < len(self.columns):
            for column in self.columns.values():
                column.extend([np.nan] * (len(self.seconds) - len(column)))

    def extend(
        self,
        lines: Sequence[int],
        seconds: Numbers,
        values: Mapping[Key, Sequence[float] | Numbers],
    ) -> None:
        """Add many points: a quantity that none of them says is NaN."""
        before = len(self.seconds)
        for key, several in values.items():
            _append(self._column(key), several)
        _append(self.seconds, seconds)
        for column in self.columns.values():
            if len(column) == before:
                column.extend(array("d", [np.nan]) * (len(self.seconds) - before))
        self.lines.extend(lines)

    def _column(self, key: Key) -> array[float]:
        column = self.columns.get(key)
        if column is None:
            column = self.columns[key] = array("d", [np.nan]) * len(self.seconds)
        return column

    def log(self, opened: Opened) -> Log:
        """The whole, with what does not stand left out and counted."""
        seconds, lines = np.frombuffer(self.seconds), np.frombuffer(self.lines, np.intc)
        usable = self._usable(seconds)
        nowhere = self._nowhere()
        channels = []
        for (quantity, source), column in self.columns.items():
            values = np.frombuffer(column)
            good = usable & self._sound(quantity, values, usable, nowhere)
            if self.apart:
                good = self._once(seconds, good)
            if good.any():
                unit = UNITS.get(quantity) or self.units[quantity]
                channel = Channel(quantity, source, unit, seconds, values, "", lines)
                # What is whole is shared by the channels, and not copied.
                channels.append(channel if good.all() else channel.part(good))
        faults = dict(sorted((+self.faults).items()))
        return Log(
            opened.path, self.form, self.clock, in_their_order(channels), self.count, faults,
            tuple(self.notes), opened.sha256,
        )  # fmt: skip

    def _sound(
        self, quantity: str, values: Numbers, usable: NDArray[np.bool_], nowhere: NDArray[np.bool_]
    ) -> NDArray[np.bool_]:
        """Which values stand; the others are counted by reason."""
        good = usable & ~np.isnan(values)
        if quantity in ("latitude", "longitude"):
            self.faults[NOWHERE] += int((good & nowhere).sum())
            good &= ~nowhere
        low, high = RANGES.get(quantity, (-np.inf, np.inf))
        inside = (values >= low) & (values <= high)
        self.faults[BEYOND] += int((good & ~inside).sum())
        return np.asarray(good & inside)

    def _usable(self, seconds: Numbers) -> NDArray[np.bool_]:
        """Points with a time that never falls; of several at one time the first, unless they are apart."""
        timed = ~np.isnan(seconds)
        self.faults[NO_TIME] += int((~timed).sum())
        if not timed.any():
            return timed
        moments = seconds if timed.all() else seconds[timed]
        keep = kept(moments)
        if not keep.all():
            self.notes.append(jumps(moments, keep))
            self.faults[BACK] += int((~keep).sum())
        usable = timed
        usable[timed] = keep
        return usable if self.apart else self._once(seconds, usable, SAME_TIME)

    def _once(
        self, seconds: Numbers, good: NDArray[np.bool_], reason: str = SAME_TIME_VALUE
    ) -> NDArray[np.bool_]:
        """Of those at one time the first."""
        left = seconds if good.all() else seconds[good]
        again = left[1:] == left[:-1]
        self.faults[reason] += int(again.sum())
        if not again.any():
            return good
        once = good.copy()
        once[good] = np.concatenate([[True], ~again])
        return once

    def _nowhere(self) -> NDArray[np.bool_]:
        """Points at 0, 0, by the first source of positions."""
        places = [
            next(
                (np.frombuffer(c) for (name, _), c in self.columns.items() if name == quantity),
                None,
            )
            for quantity in ("latitude", "longitude")
        ]
        if places[0] is None or places[1] is None:
            return np.zeros(len(self.seconds), bool)
        return np.asarray((places[0] == 0) & (places[1] == 0))
