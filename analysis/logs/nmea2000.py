"""NMEA 2000 to channels, from any of the forms that loggers write it in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np

from slackwater.analysis.logs.bus_dates import DATED, Sender, brought_to_date, moments_of
from slackwater.analysis.logs.channels import Channel, Clock, Log, Numbers, in_their_order
from slackwater.analysis.logs.clocks import unwrapped
from slackwater.analysis.logs.decimals import Whole
from slackwater.analysis.logs.gathering import Gathered
from slackwater.analysis.logs.messages import Messages, is_frame, join_frames, joined
from slackwater.analysis.logs.opening import Opened
from slackwater.analysis.logs.parameter_groups import decode
from slackwater.analysis.logs.timing import BACK, jumps, kept
from slackwater.protocol.catalogue.logged import UNITS

LOST = "frame of a message that is not whole"
NO_STAMP = "message without a stamp, where others have one"
#: Seconds beyond this count from 1970; what is less counts from when the device was switched on.
_SINCE_1970 = 1e8
#: After which the counter of the base64 form begins anew. [s]
_ROUND = 1000.0

Key = tuple[str, int, int, int, str]  # quantity, group, source, which engine, kind
Read = Iterator[tuple[Messages, int]]


@dataclass(slots=True)
class _Reading:
    lines: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    values: Gathered[Key] = field(default_factory=Gathered)
    stamps: Gathered[str] = field(default_factory=Gathered)
    dates: Gathered[Sender] = field(default_factory=Gathered)
    frames: list[Messages] = field(default_factory=list)


def read_joined(opened: Opened) -> Log:
    """A message a line, in fields parted by commas."""
    from slackwater.analysis.logs.bus_text import joined_lines

    return _read_text(opened, "NMEA 2000, a message a line", joined_lines)


def read_candump(opened: Opened) -> Log:
    """Frames as `candump -L` writes them."""
    from slackwater.analysis.logs.bus_text import candump_lines

    return _read_text(opened, "NMEA 2000, candump", candump_lines)


def read_spaced(opened: Opened) -> Log:
    """Frames as other versions of candump write them."""
    from slackwater.analysis.logs.bus_text import spaced_lines

    return _read_text(opened, "NMEA 2000, candump", spaced_lines)


def read_base64(opened: Opened) -> Log:
    """Messages in base64."""
    from slackwater.analysis.logs.bus_text import base64_lines

    return _read_text(opened, "NMEA 2000, base64", base64_lines, _ROUND)


def read_capture(opened: Opened) -> Log:
    """Frames as a computer captured them."""
    from slackwater.analysis.logs.capture import captured

    reading = _Reading()
    return _read(opened, "NMEA 2000, PCAP of SocketCAN", reading, captured(opened, reading.faults))


def _read_text(
    opened: Opened,
    name: str,
    lines: Callable[[bytes, int, Counter[str]], tuple[Messages, int]],
    round_of: float | None = None,
) -> Log:
    reading = _Reading()

    def blocks() -> Read:
        for block in opened.blocks():
            yield lines(block, reading.lines + 1, reading.faults)

    return _read(opened, name, reading, blocks(), round_of)


def _read(
    opened: Opened, name: str, reading: _Reading, parts: Read, round_of: float | None = None
) -> Log:
    for messages, count in parts:
        reading.lines += count
        frames = is_frame(messages)
        if frames.any():
            reading.frames.append(messages.part(frames))
            messages = messages.part(~frames)
        _take(reading, messages)
    if reading.frames:
        whole, lost = join_frames(joined(reading.frames))
        reading.faults[LOST] += lost
        _take(reading, whole)
    clock, moments, notes = _clock(reading, round_of)
    channels = _channels(reading, moments)
    faults = dict(sorted((+reading.faults).items()))
    return Log(
        opened.path, name, clock, channels, reading.lines, faults, tuple(notes), opened.sha256
    )


def _take(reading: _Reading, messages: Messages) -> None:
    """Decode messages, group by group, and part them by source."""
    reading.stamps.add("", messages.line, messages.seconds)
    for group in np.unique(messages.group).tolist():
        of_group = np.flatnonzero(messages.group == group)
        payload, length = messages.payload[of_group], messages.length[of_group]
        if group in DATED:
            _take_dates(reading, messages, of_group, group)
        for decoded in decode(group, payload, length, reading.faults):
            rows = of_group[decoded.rows]
            key = messages.source[rows] * 256 + decoded.which + 1
            for one in np.unique(key).tolist():
                mine = key == one
                source, number = divmod(one, 256)
                reading.values.add(
                    (decoded.quantity, group, source, number - 1, decoded.kind),
                    messages.line[rows[mine]],
                    decoded.values[mine],
                )


def _take_dates(reading: _Reading, messages: Messages, of_group: Whole, group: int) -> None:
    rows, moments = moments_of(group, messages.payload[of_group], messages.length[of_group])
    source = messages.source[of_group[rows]]
    for one in np.unique(source).tolist():
        mine = source == one
        reading.dates.add((group, one), messages.line[of_group[rows[mine]]], moments[mine])


@dataclass(frozen=True, slots=True)
class _Moments:
    """When each line was, and whether that can be used."""

    line: Whole
    seconds: Numbers
    keep: Whole


def _clock(reading: _Reading, round_of: float | None) -> tuple[Clock, _Moments, list[str]]:
    """One clock for all: that of the logger, with the date of the bus where it has none."""
    line, seconds = _stamps(reading)
    if round_of is not None:
        at = np.flatnonzero(~np.isnan(seconds))
        seconds[at] = unwrapped(seconds[at], round_of)
    there = ~np.isnan(seconds)
    notes: list[str] = []
    if not line.size:
        return "none", _Moments(line, seconds, there), ["no message in it that is read here"]
    if not there.any():
        notes.append("no time in the log: values have an order, and no duration")
        return "none", _Moments(line, line.astype(float), np.ones(line.size, bool)), notes
    reading.faults[NO_STAMP] += int((~there).sum())
    keep = there.copy()
    stamped = np.flatnonzero(there)
    keep[stamped] = kept(seconds[stamped])
    if not keep[stamped].all():
        notes.append(jumps(seconds[stamped], keep[stamped]))
    clock: Clock = "utc" if float(np.median(seconds[stamped])) > _SINCE_1970 else "since start"
    if clock == "since start":
        late, note = brought_to_date(line, seconds, reading.dates)
        if np.isfinite(late):
            clock, seconds = "utc", seconds + late
        notes.append(
            note or "no date in the log: seconds count from when the device was switched on"
        )
    return clock, _Moments(line, seconds, keep), notes


def _stamps(reading: _Reading) -> tuple[Whole, Numbers]:
    for _, line, seconds in reading.stamps:
        return line, seconds
    return np.empty(0, np.int64), np.empty(0)


def _channels(reading: _Reading, moments: _Moments) -> tuple[Channel, ...]:
    found = []
    before: Whole | None = None
    for (quantity, group, source, which, kind), line, values in reading.values:
        if line is not before:  # else all is as with the quantity before
            at, before = np.searchsorted(moments.line, line), line
            keep, seconds = moments.keep[at], moments.seconds[at]
            off = int((~keep & ~np.isnan(seconds)).sum())
            lines = line if keep.all() else line[keep]
            seconds = seconds if keep.all() else seconds[keep]
        reading.faults[BACK] += off
        if keep.any():
            name = f"{group} from {source}" + (f" no. {which}" if which >= 0 else "")
            name = f"{name} {kind}".rstrip()
            found.append(
                Channel(
                    quantity,
                    name,
                    UNITS[quantity],
                    seconds,
                    values if keep.all() else values[keep],
                    "",
                    lines,
                )
            )
    return in_their_order(found)
