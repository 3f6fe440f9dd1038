"""Circles through points."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_STEPS = 20
_CLOSE = 1e-14  # of the radius; less than rounding moves it


def circle_through(x: Array, y: Array) -> tuple[float, float, float, Array]:
    """The circle that points stray least from, by least squares of their distances.

    Parameters
    ----------
    x, y : ndarray, shape (points,)
        Three at least, not in one line.

    Returns
    -------
    x, y, radius : float
        Middle and radius. [unit of the points]
    strays : ndarray, shape (points,)
        Distances from the circle, outwards. [unit of the points]

    Notes
    -----
    Begins with the algebraic fit, which is exact for points of a circle, and mends it by Gauss and
    Newton's steps, since the algebraic one makes circles of noisy points on a part of the way around too small.
    """
    level = float(x.mean()), float(y.mean())
    u, v = x - level[0], y - level[1]
    design = np.stack([2 * u, 2 * v, np.ones_like(u)], axis=1)
    solved, *_ = np.linalg.lstsq(design, u * u + v * v, rcond=None)
    middle = solved[:2]
    radius = float(np.sqrt(max(solved[2] + middle @ middle, 0.0)))
    for _ in range(_STEPS):
        dx, dy = u - middle[0], v - middle[1]
        far = np.maximum(np.hypot(dx, dy), 1e-300)
        slopes = np.stack([-dx / far, -dy / far, -np.ones_like(far)], axis=1)
        step, *_ = np.linalg.lstsq(slopes, radius - far, rcond=None)
        middle, radius = middle + step[:2], radius + float(step[2])
        if np.abs(step).max() <= _CLOSE * abs(radius):
            break
    strays = np.hypot(u - middle[0], v - middle[1]) - radius
    return level[0] + float(middle[0]), level[1] + float(middle[1]), radius, strays
