"""Double runs: two runs in opposite directions at one set point, over the same water."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from slackwater.analysis.steady.track import Track
from slackwater.analysis.steady.windows import Window, begun_at, mean_course, moved, way_made

LEAST_OVERLAP = 0.6  # of the shorter of the two stretches of water
MOVES = 12  # in which two runs are brought over the same water


@dataclass(frozen=True, slots=True)
class Doubled:
    """The two runs of a double run by index, where they are cut, and how much water they share.

    Parameters
    ----------
    indices : tuple of int
    windows : tuple of Window
    overlap : float
        Part of the shorter one's way that both cover. [1]
    by_order : bool
        Whether they are a pair since one follows the other, over other water than is asked for.
    """

    indices: tuple[int, int]
    windows: tuple[Window, Window]
    overlap: float
    by_order: bool = False


def opposite_by(one: float, other: float) -> float:
    """How far two courses are from opposite. [deg]"""
    return abs((one - other) % 360.0 - 180.0)


def overlap_of(one: tuple[float, float], other: tuple[float, float]) -> float:
    """How much of the shorter interval both cover. [1]"""
    shared = min(one[1], other[1]) - max(one[0], other[0])
    shorter = min(one[1] - one[0], other[1] - other[0])
    return max(0.0, shared / shorter) if shorter > 0 else 0.0


def double_runs(
    track: Track,
    windows: Sequence[Window],
    within: float,
    everywhere: Sequence[Window] = (),
    planned: int = 0,
) -> list[Doubled]:
    """Pair the runs of one set point, in order of time.

    Which two may be a pair, the water decides; which of those that may are one, the time between them
    does, since the current changes with time: as many pairs as there can be, and with the least time.

    A boat that breaks a run off and makes it again does so over other water. Her two runs are still the
    double run of the plan where nothing was recorded between them and they have some water in common: so
    what the water gives no partner is paired by the order made in, up to the number of pairs planned.

    Parameters
    ----------
    track : Track
    windows : sequence of Window
        Of one set point.
    within : float
        How far courses may be from opposite. [deg]
    everywhere : sequence of Window
        Every run of the session, at whatever set point; without it none is paired by order.
    planned : int
        Double runs at the set point.
    """
    from scipy.optimize import linear_sum_assignment

    courses = [mean_course(track, window) for window in windows]
    ahead = [i for i, c in enumerate(courses) if opposite_by(c, courses[0]) >= 90.0]
    behind = [i for i in range(len(courses)) if i not in ahead]
    if not ahead or not behind:
        return []
    turn = {first: n for n, first in enumerate(sorted(window.first for window in everywhere))}
    pairs = [[_pair(track, windows, (i, j), courses, within, turn) for j in behind] for i in ahead]
    apart = np.array([[abs(windows[i].first - windows[j].first) for j in behind] for i in ahead])
    fits = np.array([[pair.overlap >= LEAST_OVERLAP for pair in row] for row in pairs])
    follows = np.array([[pair.by_order for pair in row] for row in pairs])
    most = (apart.sum() + 1.0) * max(apart.shape)
    cost = np.where(fits, apart, np.where(follows, apart + 2.0 * most, 3.0 * most))
    rows, columns = linear_sum_assignment(cost)
    chosen = [
        pairs[r][c] for r, c in zip(rows, columns, strict=True) if fits[r, c] or follows[r, c]
    ]
    chosen.sort(key=lambda pair: (pair.by_order, _begins(pair)))
    by_water = sum(not pair.by_order for pair in chosen)
    return sorted(chosen[: max(planned, by_water)], key=_begins)


def _begins(pair: Doubled) -> int:
    return min(window.first for window in pair.windows)


def _pair(
    track: Track,
    windows: Sequence[Window],
    indices: tuple[int, int],
    courses: Sequence[float],
    within: float,
    turn: Mapping[int, int],
) -> Doubled:
    """Two runs over the same water, or one that follows the other over some of it.

    The latter are cut where they were if they share any there, else where they share most.
    """
    found = _together(track, windows, indices, courses, within)
    one, other = (windows[index] for index in indices)
    if found.overlap >= LEAST_OVERLAP or opposite_by(*(courses[i] for i in indices)) > within:
        return found
    next_to = bool(turn) and abs(turn[one.first] - turn[other.first]) == 1
    line = line_of(*(courses[i] for i in indices))
    as_cut = _shared(track, indices, (one, other), line)
    most = as_cut if as_cut.overlap > 0.0 else found
    return replace(most, by_order=True) if next_to and most.overlap > 0.0 else found


def line_of(one: float, other: float) -> float:
    """The line that two opposite courses lie on best: the same, or its opposite, whichever comes first. [deg]"""
    return one + ((other - one) % 360.0 - 180.0) / 2


def _together(
    track: Track,
    windows: Sequence[Window],
    indices: tuple[int, int],
    courses: Sequence[float],
    within: float,
) -> Doubled:
    """Two runs, each cut where the other covers the water too, as far as their legs allow."""
    both = windows[indices[0]], windows[indices[1]]
    one, other = (courses[index] for index in indices)
    if opposite_by(one, other) > within:
        return Doubled(indices, both, 0.0)
    axis = line_of(one, other)
    found = as_cut = _shared(track, indices, both, axis)
    for early in (False, True):
        if found.overlap < LEAST_OVERLAP:
            found = _nearer(track, as_cut, axis, early=early)
    return found


def _shared(
    track: Track, indices: tuple[int, int], both: tuple[Window, Window], axis: float
) -> Doubled:
    one, other = (way_made(track, window.cells, axis) for window in both)
    return Doubled(indices, both, overlap_of(one, other))


def _nearer(track: Track, pair: Doubled, axis: float, *, early: bool) -> Doubled:
    """Both moved towards the water that both legs cover, no further than it takes to share enough of it.

    What was waited for and recorded on board is what follows the time to settle; each second away from
    there is other waves and other noise.
    """
    both = pair.windows
    spans = [slice(w.earliest if early else w.usable[0], w.usable[1]) for w in both]
    whole = [way_made(track, span, axis) for span in spans]
    middle = (max(low for low, _ in whole) + min(high for _, high in whole)) / 2
    ends = [moved(track, window, middle, axis, early=early) for window in both]
    found = pair
    for part in np.linspace(0.0, 1.0, MOVES + 1)[1:]:
        one, other = (
            begun_at(track, window, round(window.first + part * (end.first - window.first)))
            for window, end in zip(both, ends, strict=True)
        )
        found = _shared(track, pair.indices, (one, other), axis)
        if found.overlap >= LEAST_OVERLAP:
            break
    return found


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
