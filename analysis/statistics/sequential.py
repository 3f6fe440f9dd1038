"""Looking at a trial part-way without losing the error rate: group-sequential boundaries.

A trial that is looked at after every few sessions and stopped at the first difference that seems
established finds a difference too often where there is none. The cure is to ask more of each
look. How much more follows from the joint distribution of the looks, found here by recursive
numerical integration [1]_.

References
----------
.. [1] P. Armitage, C. K. McPherson, B. C. Rowe, "Repeated significance tests on accumulating
   data", Journal of the Royal Statistical Society A 132 (1969), 235-244. The figures are computed
   here; tests/reference holds them to printed constants.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

Array = NDArray[np.float64]

BOUNDARIES = ("obrien_fleming", "pocock")

_NODES = 96  # at each look; the rates of 20 looks then stand to eight digits


@lru_cache(maxsize=1)
def _unit_nodes() -> tuple[Array, Array]:
    x, w = np.polynomial.legendre.leggauss(_NODES)
    return x, w


def crossing_probability(limits: Sequence[float] | Array, fractions: Sequence[float]) -> Array:
    """Chance that |z| has passed its limit by each look, where nothing has changed.

    Parameters
    ----------
    limits : sequence of float, length looks
        Of the standardised statistic at each look. [1]
    fractions : sequence of float, length looks
        Part of all the information that each look has, rising; the last is usually 1. [1]

    Returns
    -------
    ndarray, shape (looks,)
        Cumulative. [1]

    Notes
    -----
    The statistic times the root of the information is a random walk with independent normal
    steps. Its density inside the limits is carried from look to look on Gauss-Legendre nodes.
    """
    x, w = _unit_nodes()
    inside = []
    nodes, mass = np.zeros(1), np.ones(1)  # where the walk is, and how likely
    before = 0.0
    for limit, now in zip(limits, fractions, strict=True):
        edge, step = limit * np.sqrt(now), np.sqrt(now - before)
        new = edge * x
        density = np.exp(-0.5 * ((new[:, None] - nodes) / step) ** 2) / (step * np.sqrt(2 * np.pi))
        # The last stretch is integrated exactly; the nodes only carry the walk onwards.
        stay = ndtr((edge - nodes) / step) - ndtr((-edge - nodes) / step)
        inside.append(float(mass @ stay))
        nodes, mass, before = new, (density @ mass) * w * edge, now
    return 1 - np.array(inside)


@lru_cache(maxsize=64)
def boundary_constant(fractions: tuple[float, ...], boundary: str, level: float = 0.05) -> float:
    """The constant of a boundary whose looks together err at the level declared.

    Parameters
    ----------
    fractions : tuple of float
        Part of all the information at each look, rising to 1. [1]
    boundary : "obrien_fleming" or "pocock"
    level : float
        Chance of a false difference at any look, two-sided. [1]

    Returns
    -------
    float
        Pocock's limit at every look; or O'Brien and Fleming's at the last one, the limit at a
        look of fraction t being the constant over the root of t. [1]

    Raises
    ------
    ValueError
        When the boundary is none of the two.
    """
    if boundary not in BOUNDARIES:
        raise ValueError(f"the boundary '{boundary}' is none of {', '.join(BOUNDARIES)}")
    shape = _shape(fractions, boundary)
    low, high = float(ndtri(1 - level / 2)), float(ndtri(1 - level / (2 * len(fractions)))) + 1e-9
    for _ in range(36):
        middle = (low + high) / 2
        if crossing_probability(middle * shape, fractions)[-1] > level:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _shape(fractions: Sequence[float], boundary: str) -> Array:
    t = np.asarray(fractions, dtype=float)
    return np.ones_like(t) if boundary == "pocock" else 1 / np.sqrt(t)


def boundary_limits(fractions: Sequence[float], boundary: str, level: float = 0.05) -> Array:
    """Limit of the standardised statistic at each look, shape (looks,). [1]

    Parameters
    ----------
    fractions : sequence of float
        Part of all the information at each look, rising to 1. [1]
    boundary : "obrien_fleming" or "pocock"
    level : float
        Chance of a false difference at any look, two-sided. [1]
    """
    known = tuple(float(t) for t in fractions)
    return boundary_constant(known, boundary, level) * _shape(known, boundary)


def look_confidences(
    fractions: Sequence[float], boundary: str, confidence: float = 0.95, family: int = 1
) -> Array:
    """Confidence that each look has to work at, so that all looks together keep the one declared.

    Parameters
    ----------
    fractions : sequence of float
        Part of all the information at each look, rising to 1. [1]
    boundary : "obrien_fleming" or "pocock"
    confidence : float
        Of the whole trial, 0 to 1.
    family : int
        Comparisons that the confidence covers together.

    Returns
    -------
    ndarray, shape (looks,)
        0 to 1.

    Notes
    -----
    The limits are those of normal statistics; at each look their tail is handed on to the
    analysis as the level of its own critical values [1]_.

    For a family, the constants are those of one comparison at the level that independent
    comparisons would share out. The looks at a maximum over a family hang together less than
    those at one comparison, which this allows for; where the comparisons move together it asks a
    little too much, never too little.

    References
    ----------
    .. [1] C. Jennison, B. W. Turnbull, *Group Sequential Methods with Applications to Clinical
       Trials*, 2000, on t statistics. What it keeps is shown in tests/calibration.
    """
    each = 1 - confidence ** (1 / family)
    limits = boundary_limits(fractions, boundary, each)
    return np.asarray((1 - 2 * ndtr(-limits)) ** family)
