"""The text forms of NMEA 2000: joined lines, candump in its forms, lines with base64."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.blocks import BLANK_LINE, COMMENT
from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.decimals import HEX, LONGEST, Bytes, Whole, read_decimals
from slackwater.analysis.logs.messages import WIDTH, Messages, from_identifier
from slackwater.analysis.logs.parameter_groups import NOT_READ, is_read
from slackwater.analysis.logs.stamps import line_stamps

BROKEN = "line that is no message"

_PAD = b"\n" * (LONGEST + 3 * WIDTH + 48)
_SHORT = 6  # digits of the numbers in a line
_64 = np.full(256, 255, np.uint8)
_64[[*b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"]] = range(64)
_64[ord("=")] = 0


class Lines:
    """The lines of a block that are no comments, and where the marks are in them."""

    def __init__(self, block: bytes, base: int, faults: Counter[str]) -> None:
        self.data = np.frombuffer(block + _PAD, np.uint8)
        feeds = np.flatnonzero(self.data[: len(block)] == ord("\n"))
        start = np.concatenate([[0], feeds[:-1] + 1])
        stop = feeds - ((feeds > start) & (self.data[feeds - 1] == ord("\r")))
        self.count = feeds.size
        self._found: dict[str, tuple[Whole, Whole]] = {}
        first = self.data[start]
        comment = (first == ord("#")) & (stop > start)
        faults[COMMENT] += int(comment.sum())
        faults[BLANK_LINE] += int((stop <= start).sum())
        keep = ~comment & (stop > start)
        self.start, self.stop = start[keep], stop[keep]
        self.line = np.flatnonzero(keep) + base

    def field(self, mark: str, number: int) -> Whole:
        """Where the mark of that number (from 1) stands in each line; its end where it has none."""
        marks, first = self._marks(mark)
        within: Whole = self.stop
        if marks.size:
            at = first + (number - 1)
            there = np.minimum(marks[np.minimum(at, marks.size - 1)], self.stop)
            within = np.where(at < marks.size, there, self.stop)
        return within

    def _marks(self, mark: str) -> tuple[Whole, Whole]:
        """Where a mark stands in the block, and the first in or behind each line."""
        if mark not in self._found:
            there = np.flatnonzero(self.data == ord(mark))
            self._found[mark] = there, np.searchsorted(there, self.start)
        return self._found[mark]

    def only(self, which: NDArray[np.bool_]) -> None:
        """Leave out the other lines."""
        self.start, self.stop, self.line = self.start[which], self.stop[which], self.line[which]
        self._found = {mark: (there, first[which]) for mark, (there, first) in self._found.items()}


def _number(data: Bytes, start: Whole, stop: Whole) -> Whole:
    """A whole number not below nought; -1 for what is none."""
    length = stop - start
    value, good = np.zeros(start.size, np.int64), (length > 0) & (length <= _SHORT)
    for column in range(_SHORT):
        inside = length > column
        if not inside.any():
            break
        digit = data[start + column] - np.uint8(48)  # wraps round below "0"
        good &= (digit < 10) | ~inside
        value = np.where(inside, value * 10 + digit, value)
    odd = np.flatnonzero(~good)  # blanks, signs, or nothing that is a number
    if odd.size:
        read = read_decimals(data, np.minimum(start, stop)[odd], stop[odd])
        whole = ~read.unusable & (read.places == 0) & (read.digits >= 0)
        value[odd] = np.where(whole, read.digits, -1)
    return value


def hex_number(data: Bytes, start: Whole, digits: int) -> Whole:
    """A hexadecimal number of so many digits; -1 for what is none."""
    read = HEX[data[np.maximum(start, 0)[:, None] + np.arange(digits)]]
    good = (read < 16).all(axis=1) & (start >= 0)
    value = read @ (16.0 ** np.arange(digits - 1, -1, -1))  # exact to 13 digits
    return np.where(good, value, -1.0).astype(np.int64)


def hex_bytes(
    data: Bytes, start: Whole, stop: Whole, stride: int
) -> tuple[Bytes, Whole, NDArray[np.bool_]]:
    """Bytes in hexadecimal, each so many characters after the one before.

    Returns
    -------
    payload : ndarray of uint8, shape (lines, WIDTH)
    length : ndarray of int, shape (lines,)
    good : ndarray of bool, shape (lines,)
    """
    length = np.maximum(stop - start + stride - 2, 0) // stride
    even = (length == 0) | ((stop - start + stride - 2) % stride == 0)
    columns = np.arange(min(WIDTH, int(length.max(initial=0))))
    at = np.minimum(start[:, None] + stride * columns, data.size - 2)
    high, low = HEX[data[at]], HEX[data[at + 1]]
    inside = columns < length[:, None]
    good = even & ~((high > 15) | (low > 15)).__and__(inside).any(axis=1)
    payload = np.full((start.size, WIDTH), 255, np.uint8)
    payload[:, : columns.size] = np.where(inside, high << 4 | low, 255)
    return payload, length, good


def _messages(
    lines: Lines,
    seconds: Numbers,
    group: Whole,
    source: Whole,
    read: tuple[Bytes, Whole, NDArray[np.bool_]],
    faults: Counter[str],
) -> Messages:
    payload, length, good = read
    faults[BROKEN] += int((~good).sum())
    return Messages(lines.line, seconds, group, source, length, payload).part(good)


def _wanted(lines: Lines, group: Whole, well_formed: NDArray[np.bool_], faults: Counter[str]) -> NDArray[np.bool_]:  # fmt: skip
    known = is_read(group)
    faults[BROKEN] += int((~well_formed).sum())
    faults[NOT_READ] += int((well_formed & ~known).sum())
    return well_formed & known


def joined_lines(block: bytes, base: int, faults: Counter[str]) -> tuple[Messages, int]:
    """`stamp,priority,group,source,destination,length,hh,hh,…`."""
    lines = Lines(block, base, faults)
    edges = [lines.field(",", number) for number in range(1, 7)]
    group, source, length = (_number(lines.data, edges[n - 1] + 1, edges[n]) for n in (2, 3, 5))
    formed = (edges[5] < lines.stop) & (group >= 0) & (source >= 0) & (length >= 0)
    wanted = _wanted(lines, group, formed, faults)
    lines.only(wanted)
    seconds, _ = line_stamps(lines.data, lines.start, edges[0][wanted])
    stop = _unblanked(lines.data, lines.stop)
    payload, found, good = hex_bytes(lines.data, edges[5][wanted] + 1, stop, 3)
    good &= found == length[wanted]
    read = payload, found, good
    return _messages(lines, seconds, group[wanted], source[wanted], read, faults), lines.count


def _unblanked(data: Bytes, stop: Whole) -> Whole:
    """Without blanks, or a comma, at the end of lines."""
    for _ in range(4):
        stop = stop - np.isin(data[stop - 1], np.frombuffer(b" ,\t", np.uint8))
    return stop


def candump_lines(block: bytes, base: int, faults: Counter[str]) -> tuple[Messages, int]:
    """`(seconds) can0 IDENTIFIER#HEX`, as `candump -L` writes it."""
    lines = Lines(block, base, faults)
    mark = lines.field("#", 1)
    identifier = hex_number(lines.data, mark - 8, 8)
    group, source = from_identifier(np.maximum(identifier, 0))
    formed = (mark < lines.stop) & (identifier >= 0)
    wanted = _wanted(lines, group, formed, faults)
    lines.only(wanted)
    seconds = _bracketed(lines)
    stop = lines.field(" ", 3)  # some versions add R or T behind
    read = hex_bytes(lines.data, mark[wanted] + 1, stop, 2)
    return _messages(lines, seconds, group[wanted], source[wanted], read, faults), lines.count


def spaced_lines(block: bytes, base: int, faults: Counter[str]) -> tuple[Messages, int]:
    """`<0xIDENTIFIER> [8] hh hh …` or `can0  IDENTIFIER   [8]  hh hh …`, a stamp before it or none."""
    lines = Lines(block, base, faults)
    opens = lines.field("[", 1)
    closes = lines.field("]", 1)
    closes = np.where(closes < opens, lines.stop, closes)
    end = opens
    for _ in range(12):
        end = end - np.isin(lines.data[np.maximum(end - 1, 0)], np.frombuffer(b" >", np.uint8))
    identifier = hex_number(lines.data, end - 8, 8)
    group, source = from_identifier(np.maximum(identifier, 0))
    formed = (closes < lines.stop) & (identifier >= 0) & (end - 8 >= lines.start)
    wanted = _wanted(lines, group, formed, faults)
    lines.only(wanted)
    begin = closes[wanted] + 1
    for _ in range(4):
        begin = begin + (lines.data[begin] == ord(" "))
    seconds = _bracketed(lines)
    read = hex_bytes(lines.data, begin, _unblanked(lines.data, lines.stop), 3)
    return _messages(lines, seconds, group[wanted], source[wanted], read, faults), lines.count


def _bracketed(lines: Lines) -> Numbers:
    """The stamp in brackets at the beginning of lines; NaN where there is none."""
    begin = lines.start
    for _ in range(4):
        begin = begin + (lines.data[begin] == ord(" "))
    close = lines.field(")", 1)
    has = (lines.data[begin] == ord("(")) & (close < lines.stop)
    seconds, _ = line_stamps(lines.data, begin + 1, np.where(has, close, begin + 1))
    bare = np.flatnonzero(has & np.isnan(seconds))
    seconds[bare] = read_decimals(lines.data, begin[bare] + 1, close[bare]).values()
    return seconds


def base64_lines(block: bytes, base: int, faults: Counter[str]) -> tuple[Messages, int]:
    """`!PDGY,group,priority,source,destination,seconds,BASE64`."""
    lines = Lines(block, base, faults)
    edges = [lines.field(",", number) for number in range(1, 7)]
    group = _number(lines.data, edges[0] + 1, edges[1])
    source = _number(lines.data, edges[2] + 1, edges[3])
    formed = (edges[5] < lines.stop) & (group >= 0) & (source >= 0)
    formed &= lines.data[lines.start] == ord("!")
    wanted = _wanted(lines, group, formed, faults)
    lines.only(wanted)
    seconds = _unpadded(lines.data, edges[4][wanted] + 1, edges[5][wanted])
    read = _sixty_four(lines.data, edges[5][wanted] + 1, lines.stop)
    return _messages(lines, seconds, group[wanted], source[wanted], read, faults), lines.count


def _unpadded(data: Bytes, start: Whole, stop: Whole) -> Numbers:
    """Seconds and milliseconds, with the noughts before the latter left out: 482.37 is 482.037."""
    read = read_decimals(data, start, stop)
    whole, behind = np.divmod(read.digits, 10 ** np.minimum(read.places, 9))
    seconds: Numbers = np.where(read.places <= 3, whole + behind / 1000, read.values())
    seconds[read.unusable] = np.nan
    return seconds


def _sixty_four(data: Bytes, start: Whole, stop: Whole) -> tuple[Bytes, Whole, NDArray[np.bool_]]:
    """Bytes in base64."""
    characters = stop - start
    padding = (data[stop - 1] == ord("=")).astype(int) + (data[stop - 2] == ord("="))
    length = characters // 4 * 3 - padding
    quads = np.arange(-(-WIDTH // 3))
    at = np.minimum(start[:, None] + 4 * quads, data.size - 4)
    parts = [_64[data[at + place]] for place in range(4)]
    inside = 4 * quads < characters[:, None]
    bad = np.any([part > 63 for part in parts], axis=0) & inside
    good = (characters % 4 == 0) & (characters > 0) & ~bad.any(axis=1)
    wide = [part.astype(np.int64) for part in parts]
    value = wide[0] << 18 | wide[1] << 12 | wide[2] << 6 | wide[3]
    whole = np.stack([value >> 16 & 255, value >> 8 & 255, value & 255], axis=2)
    payload = whole.reshape(len(start), 3 * quads.size)[:, :WIDTH].astype(np.uint8)
    payload = np.where(np.arange(WIDTH) < length[:, None], payload, 255).astype(np.uint8)
    return payload, length, good
