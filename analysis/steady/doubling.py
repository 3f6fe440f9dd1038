"""Double runs: two runs in opposite directions at one set point, over the same water."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.steady.track import Track
from slackwater.analysis.steady.windows import Window, mean_course, moved, way_made

LEAST_OVERLAP = 0.6  # of the shorter of the two stretches of water


@dataclass(frozen=True, slots=True)
class Doubled:
    """The two runs of a double run by index, where they are cut, and how much water they share.

    Parameters
    ----------
    indices : tuple of int
    windows : tuple of Window
    overlap : float
        Part of the shorter one's way that both cover. [1]
    """

    indices: tuple[int, int]
    windows: tuple[Window, Window]
    overlap: float


def opposite_by(one: float, other: float) -> float:
    """How far two courses are from opposite. [deg]"""
    return abs((one - other) % 360.0 - 180.0)


def overlap_of(one: tuple[float, float], other: tuple[float, float]) -> float:
    """How much of the shorter interval both cover. [1]"""
    shared = min(one[1], other[1]) - max(one[0], other[0])
    shorter = min(one[1] - one[0], other[1] - other[0])
    return max(0.0, shared / shorter) if shorter > 0 else 0.0


def double_runs(track: Track, windows: Sequence[Window], within: float) -> list[Doubled]:
    """Pair the runs of one set point.

    Which two may be a pair, the water decides; which of those that may are one, the time between them
    does, since the current changes with time: as many pairs as there can be, and with the least time.
    """
    from scipy.optimize import linear_sum_assignment

    courses = [mean_course(track, window) for window in windows]
    ahead = [i for i, c in enumerate(courses) if opposite_by(c, courses[0]) >= 90.0]
    behind = [i for i in range(len(courses)) if i not in ahead]
    if not ahead or not behind:
        return []
    pairs = [[_together(track, windows, (i, j), courses, within) for j in behind] for i in ahead]
    apart = np.array([[abs(windows[i].first - windows[j].first) for j in behind] for i in ahead])
    never = (apart.sum() + 1.0) * max(apart.shape)
    fits = np.array([[pair.overlap >= LEAST_OVERLAP for pair in row] for row in pairs])
    rows, columns = linear_sum_assignment(np.where(fits, apart, never))
    found = [pairs[r][c] for r, c in zip(rows, columns, strict=True) if fits[r, c]]
    return sorted(found, key=lambda pair: min(window.first for window in pair.windows))


def _together(
    track: Track,
    windows: Sequence[Window],
    indices: tuple[int, int],
    courses: Sequence[float],
    within: float,
) -> Doubled:
    """Two runs, each cut where the other covers the water too, as far as their legs allow."""
    both = windows[indices[0]], windows[indices[1]]
    axis = courses[indices[0]]
    if opposite_by(axis, courses[indices[1]]) > within:
        return Doubled(indices, both, 0.0)
    found = _placed(track, indices, both, axis, early=False)
    return (
        found if found.overlap >= LEAST_OVERLAP else _placed(track, indices, both, axis, early=True)
    )


def _placed(
    track: Track, indices: tuple[int, int], both: tuple[Window, Window], axis: float, *, early: bool
) -> Doubled:
    """Both cut as near as may be to the middle of the water that both legs cover."""
    spans = [slice(w.earliest if early else w.usable[0], w.usable[1]) for w in both]
    whole = [way_made(track, span, axis) for span in spans]
    middle = (max(low for low, _ in whole) + min(high for _, high in whole)) / 2
    one, other = (moved(track, window, middle, axis, early=early) for window in both)
    shared = overlap_of(way_made(track, one.cells, axis), way_made(track, other.cells, axis))
    return Doubled(indices, (one, other), shared)


def why_single(track: Track, windows: Sequence[Window], alone: int, within: float) -> str:
    """What kept a run from having a partner."""
    courses = [mean_course(track, window) for window in windows]
    facing = [i for i in range(len(windows)) if opposite_by(courses[i], courses[alone]) <= within]
    if not facing:
        return f"no run at this set point in the opposite direction, within {within:g} deg"
    most = max(_together(track, windows, (alone, i), courses, within).overlap for i in facing)
    if most < LEAST_OVERLAP:
        return (
            f"no run over the same water: the nearest shares {most:.0%} of it, "
            f"{LEAST_OVERLAP:.0%} are needed"
        )
    return "every run over the same water has its partner"
