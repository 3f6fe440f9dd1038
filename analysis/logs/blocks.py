"""Sentences of NMEA 0183 in a block of bytes: where each begins and ends, whether its checksum holds."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.decimals import HEX, LONGEST, Bytes, Whole

_DOLLAR, _STAR, _COMMA, _FEED, _BANG, _HASH = (ord(c) for c in "$*,\n!#")
_PAD = b"\n" * (LONGEST + 12)

_BLANK = 32

WRONG = "checksum wrong"
NO_HEX = "checksum is not two hexadecimal digits"
CUT = "sentence run into by the next one"
COMMENT = "comment line"
BLANK_LINE = "blank line"
OTHER_SHIPS = "sentence of the '!' kind (AIS), of other ships"
NO_SENTENCE = "line without a sentence"


@dataclass(frozen=True, slots=True)
class Sentences:
    """The sentences of a block.

    Parameters
    ----------
    data : ndarray of uint8
        The block, with some line feeds after it.
    start, stop : ndarray of int, shape (sentences,)
        First byte after the `$`, and the one after the last field.
    line : ndarray of int, shape (sentences,)
        Counted from nought within the block.
    checked : ndarray of bool, shape (sentences,)
        Has a checksum, and it is right; the others have none.
    address : ndarray of int, shape (sentences,)
        The first five bytes, which most addresses have, as one number.
    commas : ndarray of int
        Of the whole block.
    lines : ndarray of int
        Where each line begins.
    faults : Counter
        Of what is not among the sentences.
    """

    data: Bytes
    start: Whole
    stop: Whole
    line: Whole
    checked: NDArray[np.bool_]
    address: Whole
    commas: Whole
    lines: Whole
    faults: Counter[str]


def find_sentences(block: bytes) -> Sentences:
    """Find the sentences of a block of whole lines.

    A sentence begins at the last `$` before its end, so that one that was broken off by the next
    costs itself alone.
    """
    data = np.frombuffer(block + _PAD, np.uint8)
    marks = np.flatnonzero((data == _DOLLAR) | (data == _STAR) | (data == _FEED))
    kinds = data[marks]
    feeds = kinds == _FEED
    opens = np.flatnonzero(kinds == _DOLLAR)
    line_of = np.cumsum(feeds)[opens]
    lines = np.concatenate([[0], marks[feeds] + 1])[: block.count(b"\n")]
    first_of_line = data[lines[line_of]]
    plain = (first_of_line != _HASH) & (first_of_line != _BANG)
    start, stop, ending = marks[opens] + 1, marks[opens + 1], kinds[opens + 1]
    starred = ending == _STAR
    right, hexadecimal = _checksums(data, start, stop, starred)
    faults = _line_faults(data, lines, line_of)
    faults[CUT] = int((plain & (ending == _DOLLAR)).sum())
    faults[WRONG] = int((plain & starred & hexadecimal & ~right).sum())
    faults[NO_HEX] = int((plain & starred & ~hexadecimal).sum())
    good = plain & np.where(starred, right, ending == _FEED)
    stop = np.where(ending == _FEED, _without_return(data, stop), stop)
    commas = np.flatnonzero(data == _COMMA)
    start, stop = start[good], stop[good]
    address = _packed(data, start)
    return Sentences(
        data, start, stop, line_of[good], starred[good], address, commas, lines, +faults
    )


def _packed(data: Bytes, start: Whole) -> Whole:
    packed = np.zeros(start.size, np.int64)
    for at in range(5):
        packed = (packed << 8) | data[start + at]
    return packed


def _checksums(
    data: Bytes, start: Whole, stop: Whole, starred: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether the checksum is right, and whether it is one: one digit stands for 0 and it."""
    if not start.size:
        return np.zeros(0, bool), np.zeros(0, bool)
    ends = np.stack([start, stop], axis=1).ravel()
    summed = np.bitwise_xor.reduceat(data, ends)[::2]
    summed = np.where(stop > start, summed, 0)
    ends_at = np.where(starred, stop, 0)
    high, low = data[ends_at + 1], data[ends_at + 2]
    single = (HEX[low] > 15) & (low <= _BLANK)
    tens = np.where(single | (high == _BLANK), 0, HEX[high])
    ones = np.where(single, HEX[high], HEX[low])
    hexadecimal = (tens < 16) & (ones < 16)
    return starred & hexadecimal & (tens * 16 + ones == summed), hexadecimal


def _line_faults(data: Bytes, lines: Whole, line_of: Whole) -> Counter[str]:
    first = data[lines]
    comments, bangs = first == _HASH, first == _BANG
    has = np.zeros(lines.size, bool)
    has[line_of] = True
    blank = (first == _FEED) | ((first == ord("\r")) & (data[lines + 1] == _FEED))
    return Counter(
        {
            COMMENT: int(comments.sum()),
            BLANK_LINE: int(blank.sum()),
            OTHER_SHIPS: int(bangs.sum()),
            NO_SENTENCE: int((~has & ~comments & ~bangs & ~blank).sum()),
        }
    )


def _without_return(data: Bytes, stop: Whole) -> Whole:
    shorter: Whole = stop - (data[stop - 1] == ord("\r"))
    return shorter
