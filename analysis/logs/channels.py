"""What is read from the instruments: channels of values over time, and what was not read, counted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import PurePath
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from slackwater.protocol.catalogue.logged import CIRCULAR, UNITS

Numbers = NDArray[np.float64]

#: What the seconds of a channel count from: 1970-01-01 in UTC; midnight of a day that nothing
#: names; some moment that nothing names, the start of a device; or nothing, a number a line.
Clock = Literal["utc", "time of day", "since start", "none"]


@dataclass(frozen=True, slots=True)
class Channel:
    """One quantity as one source of one log wrote it.

    Parameters
    ----------
    quantity : str
        A key of `UNITS` of `catalogue/logged.py`, or a measure that a protocol declares. Directions are true unless the name says `_magnetic`.
    source : str
        What wrote it: talker and kind of a sentence ("GP VTG"), parameter group and address on the
        bus ("129026 from 52"), the heading of a column; and the engine or tank, if there are more.
    unit : str
        That of the quantity in `UNITS`, or that its protocol declares.
    seconds : ndarray, shape (samples,)
        When, never falling. On the clock of the log: seconds since 1970-01-01 UTC where that is
        known. [s]
    values : ndarray, shape (samples,)
        All finite; what was not available is counted, and no sample. [unit]
    repaired : str
        What was done to its clock ("1024 weeks added"); empty for nothing.
    lines : ndarray of int, shape (samples,)
        Line or record of the file that each sample stood in, counted from 1; empty where a file
        has none.
    """

    quantity: str
    source: str
    unit: str
    seconds: Numbers
    values: Numbers
    repaired: str = ""
    lines: NDArray[np.integer[Any]] = field(default_factory=lambda: np.empty(0, np.int64))

    def __post_init__(self) -> None:
        if self.seconds.shape != self.values.shape or self.seconds.ndim != 1:
            raise ValueError(f"{self.quantity}: a time for each value, and in one row")

    def part(self, which: NDArray[np.bool_]) -> Channel:
        """Some of the samples."""
        lines = self.lines[which] if self.lines.size else self.lines
        return replace(self, seconds=self.seconds[which], values=self.values[which], lines=lines)

    @property
    def circular(self) -> bool:
        """Whether the values go around the compass."""
        return self.quantity in CIRCULAR

    @property
    def span(self) -> tuple[float, float] | None:
        """First and last second; None without samples. [s]"""
        return (float(self.seconds[0]), float(self.seconds[-1])) if self.seconds.size else None


def in_their_order(channels: Iterable[Channel]) -> tuple[Channel, ...]:
    """By quantity in the order of `UNITS`, what a protocol declares behind them, then by source."""
    place = {quantity: number for number, quantity in enumerate(UNITS)}
    return tuple(
        sorted(channels, key=lambda each: (place.get(each.quantity, len(place)), each.source))
    )


@dataclass(frozen=True, slots=True)
class Log:
    """One file of instruments as read, with an account of every line.

    Parameters
    ----------
    path : PurePath
        As given; a member of an archive stands below the archive.
    form : str
        In words, as "NMEA 0183".
    clock : Clock
        What the seconds count from.
    channels : tuple of Channel
        In their order.
    lines : int
        Lines, frames, points or records that the file has.
    faults : mapping
        Lines or fields that gave no value, counted by reason. Nothing else is left out.
    notes : tuple of str
        What has to be said of it: no checksums, no date, a clock that was repaired.
    sha256 : str
        Of the bytes as they lie on the disk.
    """

    path: PurePath
    form: str
    clock: Clock
    channels: tuple[Channel, ...]
    lines: int
    faults: Mapping[str, int] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    sha256: str = ""

    @property
    def span(self) -> tuple[float, float] | None:
        """First and last second of all channels; None where there is no sample. [s]"""
        ends = [channel.span for channel in self.channels if channel.span]
        return (min(a for a, _ in ends), max(b for _, b in ends)) if ends else None

    def of(self, quantity: str) -> Iterator[Channel]:
        """The channels of a quantity, one a source."""
        return (channel for channel in self.channels if channel.quantity == quantity)
