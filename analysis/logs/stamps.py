"""Stamps that a logger wrote before each line, all of a block at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.decimals import Bytes, Whole, read_decimals

DAY = 86400
_ISO_LENGTH = 19  # 2026-05-04T09:12:00
_FIELDS = ((0, 4), (5, 2), (8, 2), (11, 2), (14, 2), (17, 2))  # year to second: place and width
_PLACES = np.array([at + column for at, width in _FIELDS for column in range(width)])
#: What each digit counts in each field.
_WEIGHTS = np.array(
    [
        [10.0 ** (width - 1 - column) if own == at else 0.0 for own, _ in _FIELDS]
        for at, width in _FIELDS
        for column in range(width)
    ]
)
_FIXED = ((4, "-"), (7, "-"), (13, ":"), (16, ":"))


def days_since_1970(year: Whole, month: Whole, day: Whole) -> Numbers:
    """Days of the proleptic Gregorian calendar; NaN where there is no such day.

    Examples
    --------
    >>> days = days_since_1970(np.array([1970, 2024, 2023]), np.array([1, 2, 2]), np.array([2, 29, 29]))
    >>> days.tolist()
    [1.0, 19782.0, nan]
    """
    shifted = year - (month <= 2)
    era, month_from_march = shifted // 400, (month + 9) % 12
    of_era = shifted - era * 400
    day_of_year = (153 * month_from_march + 2) // 5 + day - 1
    days = era * 146097 + of_era * 365 + of_era // 4 - of_era // 100 + day_of_year - 719468
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    longest = np.array([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    last = longest[np.clip(month, 0, 12)] + (leap & (month == 2))
    good = (month >= 1) & (month <= 12) & (day >= 1) & (day <= last)
    return np.where(good, days.astype(float), np.nan)


def iso_seconds(data: Bytes, start: Whole, stop: Whole) -> tuple[Numbers, NDArray[np.bool_]]:
    """Read stamps in ISO 8601, to any fraction, with or without a zone.

    Parameters
    ----------
    data : ndarray of uint8
        With some bytes after the last stamp.
    start, stop : ndarray of int, shape (stamps,)

    Returns
    -------
    seconds : ndarray, shape (stamps,)
        Since 1970-01-01 UTC, NaN for what is no such stamp. [s]
    zoned : ndarray of bool, shape (stamps,)
        Whether a zone is written.
    """
    start = np.minimum(start, data.size - 44)  # so that what is no stamp can be looked at, too
    good = stop - start >= _ISO_LENGTH
    for column, mark in _FIXED:
        good &= data[start + column] == ord(mark)
    between = data[start + 10]
    good &= (between == ord("T")) | (between == ord(" ")) | (between == ord("-"))
    digits = data[start[:, None] + _PLACES] - np.uint8(48)  # wraps round below "0"
    good &= (digits < 10).all(axis=1)
    year, month, day, hour, minute, second = (digits @ _WEIGHTS).T.astype(np.int64)
    good &= (hour < 24) & (minute < 60) & (second < 61)
    fraction_end = _end_of_fraction(data, start + _ISO_LENGTH, stop)
    fraction = read_decimals(data, start + _ISO_LENGTH, fraction_end)
    offset, zoned = _zone(data, fraction_end, stop)
    clock = hour * 3600 + minute * 60 + second + np.where(fraction.empty, 0.0, fraction.values())
    seconds = days_since_1970(year, month, day) * DAY + clock - offset
    return np.where(good, seconds, np.nan), zoned & good


def _digits(data: Bytes, start: Whole, width: int, good: NDArray[np.bool_]) -> Whole:
    """A whole number of fixed width; `good` loses what is none."""
    value = np.zeros(start.size, np.int64)
    for column in range(width):
        digit = data[start + column] - np.uint8(48)
        good &= digit < 10
        value = value * 10 + np.minimum(digit, 9)
    return value


def _end_of_fraction(data: Bytes, start: Whole, stop: Whole) -> Whole:
    end = start.copy()
    moving = (data[end] == ord(".")) & (end < stop)
    for _ in range(12):
        if not moving.any():
            break
        end = end + moving
        moving &= (end < stop) & (data[end] - np.uint8(48) < 10)
    return end


def _zone(data: Bytes, start: Whole, stop: Whole) -> tuple[Numbers, NDArray[np.bool_]]:
    """The offset from UTC that is written there, 0 for none; and whether one is. [s]"""
    mark = np.where(start < stop, data[start], 0)
    zulu = (mark == ord("Z")) | (mark == ord("z"))
    signed = (mark == ord("+")) | (mark == ord("-"))
    numeral = signed.copy()
    hours = _digits(data, start + 1, 2, numeral)
    colon = data[start + 3] == ord(":")
    with_minutes = numeral & (stop - start >= 5)
    minutes = _digits(data, start + 3 + colon, 2, with_minutes)
    size = hours * 3600.0 + np.where(with_minutes, minutes, 0) * 60.0
    offset = np.where(numeral, np.where(mark == ord("-"), -size, size), 0.0)
    return offset, zulu | numeral


def line_stamps(data: Bytes, start: Whole, stop: Whole) -> tuple[Numbers, NDArray[np.bool_]]:
    """The stamps that stand before lines: ISO 8601, or seconds since 1970.

    Returns
    -------
    seconds : ndarray, shape (lines,)
        NaN where there is none. [s]
    zoned : ndarray of bool, shape (lines,)
        Whether it is known to be UTC.
    """
    seconds, zoned = np.full(start.size, np.nan), np.zeros(start.size, bool)
    dated = np.flatnonzero(data[start + _FIXED[0][0]] == ord(_FIXED[0][1]))
    if dated.size:
        seconds[dated], zoned[dated] = iso_seconds(data, start[dated], stop[dated])
    missing = np.isnan(seconds)
    if missing.any():
        opened = (data[start] == ord("(")) | (data[start] == ord("["))
        end = _without_tail(data, stop)
        counted = read_decimals(data, start + opened, np.maximum(end, start + opened)).values()
        since_1970 = missing & (counted > 1e8) & (counted < 1e10)
        seconds = np.where(since_1970, counted, seconds)
        zoned = zoned | since_1970
    return seconds, zoned


def _without_tail(data: Bytes, stop: Whole) -> Whole:
    """Before the blanks, comma or bracket that part a stamp from what follows."""
    for _ in range(3):
        before = data[np.maximum(stop - 1, 0)]
        stop = stop - np.isin(before, np.frombuffer(b" \t,;:)]", np.uint8))
    return stop
