"""Long curves with fewer points, and nothing left out that an eye could see."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def thinned(x: Array, y: Array, ends: tuple[float, float], columns: int) -> tuple[Array, Array]:
    """The lowest and the highest value of each column of a picture, in their order.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        x never falling.
    ends : (float, float)
        Left and right of the picture, in the unit of x.
    columns : int
        How many the picture has.

    Returns
    -------
    x, y : ndarray
        The same points where there are no more than two for each column.
    """
    if x.size <= 2 * columns:
        return x, y
    low, high = ends
    column = np.clip((x - low) / (high - low) * columns, 0, columns - 1).astype(np.int64)
    begins = np.flatnonzero(np.diff(column, prepend=-1))
    keep: set[int] = set()
    for a, b in pairwise([*begins.tolist(), x.size]):
        keep |= {a + int(np.argmin(y[a:b])), a + int(np.argmax(y[a:b]))}
    kept = np.array(sorted(keep))
    return x[kept], y[kept]


def outermost(x: Array, y: Array, most: int) -> tuple[Array, Array]:
    """Of each of many parts of a way its outermost points on four sides, in order; no more than so many in all."""
    if x.size <= most:
        return x, y
    keep = {0, x.size - 1}
    ends = np.linspace(0, x.size, max(most // 4, 1) + 1).astype(int).tolist()
    for a, b in pairwise(ends):
        for values in (x[a:b], y[a:b]):
            keep |= {a + int(np.argmin(values)), a + int(np.argmax(values))}
    kept = np.array(sorted(keep))
    return x[kept], y[kept]


def followed(x: Array, y: Array, stray: float) -> tuple[Array, Array]:
    """The points of a way that a line through them strays from by no more than so much.

    References
    ----------
    D. Douglas and T. Peucker, "Algorithms for the reduction of the number of points required to represent a
    digitized line or its caricature", The Canadian Cartographer 10 (1973), pp. 112 to 122.
    """
    keep = np.zeros(x.size, dtype=bool)
    keep[[0, -1]] = True
    waiting = [(0, x.size - 1)]
    while waiting:
        a, b = waiting.pop()
        if b - a < 2:
            continue
        off = _off_line(x[a : b + 1], y[a : b + 1])
        worst = int(np.argmax(off))
        if off[worst] > stray:
            keep[a + worst] = True
            waiting += [(a, a + worst), (a + worst, b)]
    return x[keep], y[keep]


def _off_line(x: Array, y: Array) -> Array:
    """How far points are from the straight stretch between the first and the last of them."""
    dx, dy = float(x[-1] - x[0]), float(y[-1] - y[0])
    square = dx * dx + dy * dy
    along = ((x - x[0]) * dx + (y - y[0]) * dy) / square if square else np.zeros(x.size)
    at = np.clip(along, 0.0, 1.0)
    return np.asarray(np.hypot(x - x[0] - at * dx, y - y[0] - at * dy))


def parted(x: Array, longest: float) -> list[slice]:
    """Stretches of points that are no further than so far from the next; a line is drawn in each."""
    cuts = (np.flatnonzero(np.diff(x) > longest) + 1).tolist()
    return [slice(a, b) for a, b in pairwise([0, *cuts, x.size]) if b > a]
