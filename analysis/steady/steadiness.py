"""Where speed and course stand still, by a measure whose scale the log itself gives.

At each moment the mean over nine seconds is followed through eighteen; how far it ranges is small while
the boat holds her speed and course, and large while she answers to throttle or helm. What small is
depends on sea and receiver, and is taken from the quietest part of the log at such a speed.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from slackwater.analysis.logs.joining import smoothed
from slackwater.analysis.steady.track import Array, Mask, Track

SMOOTH = 9.0  # [s]
WITHIN = 18.0  # [s]
QUIET = 0.2  # the part of the log that its noise is taken from
TIMES_QUIET = 4.0  # of the quiet range
LEAST_RANGE = 0.006  # of speed: a receiver with dead bands shows no noise at all
MOST_RANGE = 0.05  # of speed: more is not steady in any sea
LEAST_TURN, MOST_TURN = 2.0, 10.0  # [deg]
LEAST_TOUCH, MOST_TOUCH = 0.01, 0.03  # of what is held
LEVELS = 6  # of speed, each with a scale of its own
UNDER_WAY = 1.0  # [kn]


def steady_cells(track: Track) -> Mask:
    """Cells around which speed and course range no more than the log's quiet part allows."""
    moving = track.known & (track.speed > UNDER_WAY)
    speed_range = ranging(track, track.speed) / np.maximum(track.speed, UNDER_WAY)
    course_range = ranging(track, track.course)
    speed_limit = np.clip(
        TIMES_QUIET * quiet(track.speed, speed_range, moving), LEAST_RANGE, MOST_RANGE
    )
    course_limit = np.clip(
        TIMES_QUIET * quiet(track.speed, course_range, moving), LEAST_TURN, MOST_TURN
    )
    straight = moving & (speed_range <= speed_limit) & (course_range <= course_limit)
    return np.asarray(straight & _untouched(track, moving))


def _untouched(track: Track, moving: Mask) -> Mask:
    """Where what is held stands, too; everywhere where it was not recorded."""
    if track.held is None:
        return np.ones_like(moving)
    there = np.isfinite(track.held)
    held = np.where(there, track.held, 0.0)
    level = np.maximum(np.abs(smoothed(held, track.cells(SMOOTH))), 1e-9)
    ranges = ranging(track, held) / level
    limit = np.clip(
        TIMES_QUIET * quiet(track.speed, ranges, moving & there), LEAST_TOUCH, MOST_TOUCH
    )
    return np.asarray(~there | (ranges <= limit))


def ranging(track: Track, values: Array) -> Array:
    """Range of the smoothed values around each cell; infinite where a gap comes near."""
    half = track.cells(WITHIN / 2)
    means = smoothed(values, track.cells(SMOOTH))
    low = np.where(track.known, means, -np.inf)
    high = np.where(track.known, means, np.inf)
    windows = 2 * half + 1
    lowest = sliding_window_view(np.pad(low, half, constant_values=-np.inf), windows).min(axis=1)
    highest = sliding_window_view(np.pad(high, half, constant_values=np.inf), windows).max(axis=1)
    return np.asarray(highest - lowest)


def quiet(speed: Array, ranges: Array, moving: Mask) -> Array:
    """What the quiet part of the log ranges at such a speed, for each cell."""
    sound = moving & np.isfinite(ranges)
    if sound.sum() < LEVELS * 20:
        level = float(np.quantile(ranges[sound], QUIET)) if sound.any() else 0.0
        return np.full(speed.size, level)
    order = np.flatnonzero(sound)[np.argsort(speed[sound], kind="stable")]
    groups = np.array_split(order, LEVELS)
    centres = [float(np.median(speed[group])) for group in groups]
    levels = [float(np.quantile(ranges[group], QUIET)) for group in groups]
    return np.asarray(np.interp(speed, centres, levels))
