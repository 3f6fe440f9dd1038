"""Numbers out of bytes, all fields of a block at once: one pass a column of characters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Numbers

Bytes = NDArray[np.uint8]
Whole = NDArray[np.int64]

#: More digits than this do not fit in 64 bits; no instrument writes them.
LONGEST = 20

#: What a character is as a hexadecimal digit, either case; 255 for any other.
HEX = np.full(256, 255, np.uint8)
HEX[[*b"0123456789abcdef"]] = range(16)
HEX[[*b"ABCDEF"]] = range(10, 16)

_TENS = 10.0 ** np.arange(LONGEST + 1)
_TENS_WHOLE = np.concatenate([10 ** np.arange(19, dtype=np.int64), np.full(2, 10**18)])
_ZERO, _DOT, _MINUS, _PLUS, _SPACE = (ord(c) for c in "0.-+ ")


@dataclass(frozen=True, slots=True)
class Decimals:
    """Numbers as they were written: digits, and how many of them stand after the point.

    Parameters
    ----------
    digits : ndarray of int, shape (fields,)
        With their sign.
    places : ndarray of int, shape (fields,)
    empty, broken : ndarray of bool, shape (fields,)
        Nothing in the field; something that is no decimal number.
    """

    digits: Whole
    places: Whole
    empty: NDArray[np.bool_]
    broken: NDArray[np.bool_]

    @property
    def unusable(self) -> NDArray[np.bool_]:
        """Fields without a number."""
        return self.empty | self.broken

    def values(self) -> Numbers:
        """As numbers, each the nearest to what is written; NaN where there is none."""
        values: Numbers = self.digits / _TENS[self.places]
        values[self.unusable] = np.nan
        return values

    def degrees(self) -> Numbers:
        """Read as degrees and minutes (`dddmm.mmm`), in degrees."""
        whole = _TENS_WHOLE[np.minimum(self.places + 2, 18)]
        degrees, minutes = np.divmod(np.abs(self.digits), whole)
        values: Numbers = degrees + minutes / _TENS[self.places] / 60.0
        values[self.unusable | (minutes >= 60 * _TENS[self.places])] = np.nan
        return values

    def part(self, which: slice) -> Decimals:
        """Some of the fields."""
        return Decimals(
            self.digits[which], self.places[which], self.empty[which], self.broken[which]
        )


def read_decimals(data: Bytes, start: Whole, stop: Whole) -> Decimals:
    """Read the fields `data[start:stop]` as decimal numbers.

    Parameters
    ----------
    data : ndarray of uint8
        A block of a file, with `LONGEST` bytes more than the last field needs.
    start, stop : ndarray of int, shape (fields,)

    Returns
    -------
    Decimals

    Examples
    --------
    >>> data = np.frombuffer(b"6.20,,-7,4x" + bytes(20), np.uint8)
    >>> read_decimals(data, np.array([0, 5, 6, 9]), np.array([4, 5, 8, 11])).values()
    array([ 6.2,  nan, -7. ,  nan])
    """
    start, stop = _trimmed(data, start, stop)
    there = np.flatnonzero(stop > start)  # half of all fields are left empty
    first = data[start[there]]
    negative = first == _MINUS
    signed = negative | (first == _PLUS)
    found, behind, count, good = _columns(
        data, start[there] + signed, stop[there] - start[there] - signed
    )
    digits, places = np.zeros(start.size, np.int64), np.zeros(start.size, np.int64)
    digits[there], places[there] = np.where(negative, -found, found), behind
    empty, broken = np.ones(start.size, bool), np.zeros(start.size, bool)
    empty[there], broken[there] = False, ~good | (count == 0) | (count > 18)
    return Decimals(digits, places, empty, broken)


def _trimmed(data: Bytes, start: Whole, stop: Whole) -> tuple[Whole, Whole]:
    """Without the blanks around them; looked for only where there are any."""
    stop = np.maximum(stop, start)
    while (blank := (stop > start) & (data[start] == _SPACE)).any():
        start = start + blank
    while (blank := (stop > start) & (data[stop - 1] == _SPACE)).any():
        stop = stop - blank
    return start, stop


def _columns(
    data: Bytes, start: Whole, length: Whole
) -> tuple[Whole, Whole, Whole, NDArray[np.bool_]]:
    """Digits, places after the point, number of digits, and whether there was nothing else."""
    digits = np.zeros(start.size, np.int64)
    behind = np.full(start.size, LONGEST + 1)  # column after the point
    dots = np.zeros(start.size, np.int8)
    good = length <= LONGEST
    width = int(length.max(initial=0))
    for column in range(min(width, LONGEST)):
        inside = length > column
        character = data[start + column]
        digit = character - np.uint8(_ZERO)  # wraps round below "0"
        numeral = inside & (digit < 10)
        digits = np.where(numeral, digits * 10 + digit, digits)
        other = inside & ~numeral
        if other.any():
            dot = other & (character == _DOT)
            behind[dot] = column + 1
            dots += dot
            good &= ~other | dot
    pointed = dots > 0
    places = np.where(pointed, np.maximum(length - behind, 0), 0)
    good &= dots <= 1
    places[~good] = 0
    return digits, places, length - pointed, good
