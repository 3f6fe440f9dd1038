"""NMEA 0183 to channels: sentences in blocks, each with the second that it belongs to."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.blocks import Sentences, find_sentences
from slackwater.analysis.logs.bus_sentences import (
    ADDRESS,
    ORDER_UNKNOWN,
    UNORDERED,
    carrying,
    read_carried,
)
from slackwater.analysis.logs.channels import Channel, Log, Numbers, in_their_order
from slackwater.analysis.logs.clocks import DAY, Ticks
from slackwater.analysis.logs.decimals import Whole
from slackwater.analysis.logs.gathering import Gathered
from slackwater.analysis.logs.meaning import (
    BEYOND,
    EMPTY,
    MEANINGS,
    NO_NUMBER,
    NO_TIME,
    RANGES,
    usable,
)
from slackwater.analysis.logs.opening import Opened
from slackwater.analysis.logs.sentence_fields import Batch, batches
from slackwater.analysis.logs.stamps import days_since_1970, line_stamps
from slackwater.analysis.logs.timing import BACK, Timing
from slackwater.analysis.logs.transducers import KIND, read_transducers
from slackwater.protocol.catalogue.logged import UNITS

NAME = "NMEA 0183"
MISSING = "checksum missing, where the same sender has them elsewhere"
NOT_READ = "sentence of a kind that is not read"
#: The field that the time of day stands in, for kinds that carry one.
_TIME_FIELD = {"RMC": 1, "GGA": 1, "GLL": 5, "GNS": 1, "ZDA": 1}
_MOST_NAMED = 12
_FIRST_DAY = 3657 * DAY  # 6 January 1980, from which satellites count: a date before is none

Sender = tuple[str, str, bool]  # talker, kind, whether its sentences were checked
Measured = tuple[str, str, Sender]  # quantity, source


@dataclass(slots=True)
class _Reading:
    """All of a log while it is read."""

    lines: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    values: Gathered[Measured] = field(default_factory=Gathered)
    ticks: Gathered[Sender] = field(default_factory=Gathered)
    stamps: Gathered[bool] = field(default_factory=Gathered)
    openers: Gathered[str] = field(default_factory=Gathered)
    opener: int | None = None
    checked: set[tuple[str, str]] = field(default_factory=set)
    unchecked: Counter[tuple[str, str]] = field(default_factory=Counter)
    bare: defaultdict[tuple[str, str], Counter[str]] = field(
        default_factory=lambda: defaultdict(Counter)
    )
    not_read: Counter[str] = field(default_factory=Counter)

    def heard(self, talker: str, kind: str, checked: bool, count: int) -> Counter[str]:
        """Take note of sentences with their checksum or without; what counts the faults in them.

        Those without count once, as missing it, if it comes out that the sender has them elsewhere.
        """
        if checked:
            self.checked.add((talker, kind))
            return self.faults
        self.unchecked[talker, kind] += count
        return self.bare[talker, kind]


def read(opened: Opened) -> Log:
    """Read a log of NMEA 0183, bare or with a stamp before each sentence."""
    reading = _Reading()
    for block in opened.blocks():
        _take(reading, block)
    timing = Timing.of(_ticks(reading), _first(reading.stamps), _first(reading.openers))
    channels = _channels(reading, timing)
    _count_unchecked(reading)
    reading.faults[NOT_READ] += reading.not_read.total()
    faults = reading.faults + timing.faults
    notes = (*_about_checksums(reading), *timing.notes, *_about_kinds(reading))
    return Log(
        opened.path,
        NAME,
        timing.clock,
        channels,
        reading.lines,
        dict(sorted(faults.items())),
        notes,
        opened.sha256,
    )


def _take(reading: _Reading, block: bytes) -> None:
    """Read one block."""
    found = find_sentences(block)
    base = reading.lines + 1
    reading.lines += found.lines.size
    reading.faults += found.faults
    read, others = batches(found)
    for batch in read:
        _take_batch(reading, batch, base)
    _take_transducers(reading, found, others, base)
    _take_carried(reading, found, others, base)
    reading.not_read += +others
    _take_stamps(reading, found, base)
    _take_openers(reading, found, base)


def _take_batch(reading: _Reading, batch: Batch, base: int) -> None:
    sender = (batch.talker, batch.kind, batch.checked)
    faults = reading.heard(*sender, batch.line.size)
    faults[NO_NUMBER] += batch.broken
    said = list(MEANINGS[batch.kind](batch))
    holds = np.ones(batch.line.size, bool)
    for one, good in usable(said, faults):
        source = " ".join(filter(None, (batch.talker, batch.kind, one.which)))
        values = one.values if good.all() else one.values[good]
        line = batch.line if good.all() else batch.line[good]
        reading.values.add((one.quantity, source, sender), line + base, values)
        if one.valid is not None:
            holds &= one.valid
    if said:
        silent = np.all([np.isnan(one.values) for one in said], axis=0)
        faults[EMPTY] += int(silent.sum())
    if batch.kind in _TIME_FIELD:
        faults[NO_TIME] += _take_ticks(reading, batch, holds, sender, base)


def _take_ticks(
    reading: _Reading, batch: Batch, holds: NDArray[np.bool_], sender: Sender, base: int
) -> int:
    """The times of sentences that stand by what they say; how many of them do not exist."""
    written = batch.numbers[_TIME_FIELD[batch.kind]]
    hour, rest = np.divmod(written, 10000)
    minute, second = np.divmod(rest, 100)
    exists = (hour >= 0) & (hour < 24) & (minute < 60) & (second < 61)
    good = holds & exists
    time = np.round(hour * 3600 + minute * 60 + second, 6)
    both = np.stack([time, _date(batch)], axis=1)[good]
    reading.ticks.add(sender, batch.line[good] + base, both)
    return int((holds & ~exists & ~np.isnan(written)).sum())


def _date(batch: Batch) -> Numbers:
    """Midnight of the day that is written; NaN for none, or one before there were satellites."""
    if batch.kind == "RMC":
        written = batch.numbers[9]
        day, rest = np.divmod(written, 10000)
        month, year = np.divmod(rest, 100)
        year = year + np.where(year >= 70, 1900, 2000)
    elif batch.kind == "ZDA":
        day, month, year = (batch.numbers[at] for at in (2, 3, 4))
    else:
        return np.full(batch.line.size, np.nan)
    missing = np.isnan(day) | np.isnan(month) | np.isnan(year)
    whole = (np.where(missing, 0, part).astype(np.int64) for part in (year, month, day))
    midnight = days_since_1970(*whole) * DAY
    return np.where(missing | (midnight < _FIRST_DAY), np.nan, midnight)


def _take_transducers(reading: _Reading, found: Sentences, others: Counter[str], base: int) -> None:
    """Readings of transducers, several to a sentence; sentences without one that is read stay with the others."""
    for (talker, checked), read in read_transducers(found).items():
        others[f"{talker}{KIND}"] -= len(read.lines)
        faults = reading.heard(talker, KIND, checked, len(read.lines))
        faults.update({NO_NUMBER: read.broken, EMPTY: read.empty})
        for (quantity, source), readings in read.readings.items():
            both = np.array(readings)
            low, high = RANGES.get(quantity, (-np.inf, np.inf))
            good = (both[:, 1] >= low) & (both[:, 1] <= high)
            faults[BEYOND] += int((~good).sum())
            line = both[good, 0].astype(np.int64) + base
            reading.values.add((quantity, source, (talker, KIND, checked)), line, both[good, 1])


def _take_carried(reading: _Reading, found: Sentences, others: Counter[str], base: int) -> None:
    """Messages of the bus inside sentences."""
    others.pop(ADDRESS, None)
    reading.faults[ORDER_UNKNOWN] += others.pop(UNORDERED, 0)
    name = (ADDRESS[:2], ADDRESS[2:])
    for checked in (True, False):
        rows = carrying(found, checked=checked)
        if not rows.size:
            continue
        for each in read_carried(found, rows, reading.heard(*name, checked, rows.size)):
            if each.quantity:
                key = each.quantity, each.source, (*name, checked)
                reading.values.add(key, each.line + base, each.values)
                continue
            time = each.values % DAY
            both = np.stack([time, each.values - time], axis=1)
            reading.ticks.add((name[0], each.source, checked), each.line + base, both)


def _take_stamps(reading: _Reading, found: Sentences, base: int) -> None:
    """Stamps of a logger, where something stands before the sentence."""
    begin = found.lines[found.line]
    with_more = np.flatnonzero(found.start - begin > 8)
    if not with_more.size:
        return
    seconds, zoned = line_stamps(found.data, begin[with_more], found.start[with_more] - 1)
    there = ~np.isnan(seconds)
    both = np.stack([seconds, zoned.astype(float)], axis=1)[there]
    reading.stamps.add(True, found.line[with_more][there] + base, both)


def _take_openers(reading: _Reading, found: Sentences, base: int) -> None:
    """Lines of the kind that the log begins with."""
    if not found.start.size:
        return
    if reading.opener is None:
        reading.opener = int(found.address[0])
    line = found.line[found.address == reading.opener] + base
    reading.openers.add("", line, np.empty((line.size, 0)))


def _first(gathered: Gathered[bool] | Gathered[str]) -> tuple[Whole, Numbers]:
    for _, line, values in gathered:
        return line, values
    return np.empty(0, np.int64), np.empty((0, 2))


def _taken(reading: _Reading, sender: Sender) -> bool:
    """Whether sentences of a sender count: without a checksum only where it never sends one."""
    talker, kind, checked = sender
    return checked or (talker, kind) not in reading.checked


def _ticks(reading: _Reading) -> dict[tuple[str, str], Ticks]:
    ticks = {}
    for sender, line, both in reading.ticks:
        if _taken(reading, sender):
            ticks[sender[0], sender[1]] = Ticks(line, both[:, 0], both[:, 1])
    return ticks


def _channels(reading: _Reading, timing: Timing) -> tuple[Channel, ...]:
    found = []
    before: tuple[Whole, Sender] | None = None
    for (quantity, source, sender), line, values in reading.values:
        if not _taken(reading, sender):
            continue
        if before is None or line is not before[0] or sender != before[1]:
            before = line, sender  # else all is as with the quantity before
            seconds, keep = timing.seconds((sender[0], sender[1]), line)
            whole = bool(keep.all())
            seconds, lines = (seconds, line) if whole else (seconds[keep], line[keep])
        timing.faults[BACK] += int((~keep).sum())
        if keep.any():
            values = values if whole else values[keep]
            found.append(
                Channel(quantity, source, UNITS[quantity], seconds, values, timing.repaired, lines)
            )
    return in_their_order(found)


def _count_unchecked(reading: _Reading) -> None:
    """Of what has no checksum: that it lacks one where its sender has them, else what else is wrong with it."""
    for name, count in reading.unchecked.items():
        if name in reading.checked:
            reading.faults[MISSING] += count
        else:
            reading.faults += reading.bare[name]


def _about_checksums(reading: _Reading) -> list[str]:
    """Whole senders without checksums are taken, and that is said."""
    bare = sorted(set(reading.unchecked) - reading.checked)
    if not bare:
        return []
    if not reading.checked:
        return ["no sentence has a checksum: a character changed on its way would not be noticed"]
    names = ", ".join(f"{talker}{kind}" for talker, kind in bare)
    return [f"without a checksum throughout, and taken all the same: {names}"]


def _about_kinds(reading: _Reading) -> list[str]:
    """What was there and is not read, named with its number."""
    if not reading.not_read:
        return []
    counted = sorted(reading.not_read.items(), key=lambda pair: (-pair[1], pair[0]))
    named = ", ".join(f"{_plain(name)} {n}" for name, n in counted[:_MOST_NAMED])
    more = len(counted) - _MOST_NAMED
    return [f"kinds not read: {named}" + (f" and {more} more" if more > 0 else "")]


def _plain(name: str) -> str:
    """A name that may hold anything, made fit to print."""
    return "".join(c if c.isascii() and c.isprintable() else "?" for c in name) or "(none)"
