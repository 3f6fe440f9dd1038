"""Several comparisons judged together, step by step: what is found leaves the family first.

A comparison is a distance: how far an estimate lies beyond what it is held against. `Reach` says how
far noise alone reaches over a family of so many. At each step the distances still in the family are
held against the reach over that family; those beyond it are established and leave, until none is
[1]_. The chance that anything is established that is not there stays at the declared level.

An adjusted p-value is the level at which the same steps would just have established a comparison,
so that p at most the level, a distance beyond the reach, and an interval of that half-width clear of
the value tested are one and the same decision.

References
----------
.. [1] R. Marcus, E. Peritz, K. R. Gabriel, "On closed testing procedures with special reference to
   ordered analysis of variance", Biometrika 63 (1976), 655-660, for the principle;
   what it keeps is shown in tests/calibration.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Counts = NDArray[np.int_]

# Adjusted p-values are kept this far, in parts of it, from the level on the side of their decision.
_ROUNDING = 1e-12


class Reach(Protocol):
    """How far noise alone reaches, over a family of comparisons."""

    def widths(self, family: Counts) -> Array:
        """Critical distances, shape (..., positions), for families of shape (...)."""

    def p_values(self, distance: Array, family: Counts) -> Array:
        """The levels at which the critical distances are just these."""


@dataclass(frozen=True, slots=True)
class Decision:
    """What the steps came to, shape (..., positions) each.

    Attributes
    ----------
    established : ndarray of bool
    bound : ndarray
        The critical distance that decided, at the step at which a comparison left the family, or at
        the last one.
    single_step : ndarray
        The critical distance over the whole family.
    """

    established: Mask
    bound: Array
    single_step: Array


def decide(distance: Array, reach: Reach, given: Mask, *, together: bool = True) -> Decision:
    """Which comparisons are established.

    Parameters
    ----------
    distance : ndarray, shape (..., positions)
        NaN where there is none.
    reach : Reach
    given : ndarray of bool, shape (positions,)
        Which positions are in the family.
    together : bool
        All positions are one family, or each is one by itself.
    """
    family = int(given.sum()) if together else 1
    left = np.full(distance.shape[:-1], max(family, 1))
    bound = single_step = reach.widths(left)
    established = np.asarray(distance > bound)
    while together and family > 1:
        fewer = family - established.sum(axis=-1)
        moved = (fewer < left) & (fewer > 0)
        if not moved.any():
            break
        left = np.where(moved, fewer, left)
        bound = np.where(established, bound, reach.widths(left))
        established = established | (distance > bound)
    return Decision(established, bound, single_step)


def adjusted(
    distance: Array, reach: Reach, given: Mask, decision: Decision, level: float, *, together: bool
) -> Array:
    """p-values of the same steps, shape (..., positions); NaN where no distance is. [1]

    Parameters
    ----------
    distance, reach, given, together
        As in `decide`.
    decision : Decision
        What they came to at the level; rounding is never left to contradict it.
    level : float
        1 less the confidence.
    """

    def of_family(family: Counts) -> Array:
        return reach.p_values(distance, family)

    if together:
        p = step_down(of_family, given, distance.shape)
    else:
        p = np.where(given, of_family(np.ones(distance.shape[:-1], dtype=int)), np.nan)
    level = round(level, 12)
    below, above = level * (1 - _ROUNDING), level * (1 + _ROUNDING)
    return np.where(decision.established, np.minimum(p, below), np.maximum(p, above))


def step_down(of_family: Callable[[Counts], Array], given: Mask, shape: tuple[int, ...]) -> Array:
    """Adjusted p-values of a step-down procedure.

    Parameters
    ----------
    of_family : callable
        p-values of shape (..., positions) that each comparison would have as the largest of a
        family, given the sizes of the families, shape (...). They rise with the size.
    given : ndarray of bool, shape (positions,)
    shape : tuple of int

    Examples
    --------
    With the sum of the tails as p-value of a family, this is Holm's procedure:

    >>> p = np.array([0.01, 0.04, 0.03, 0.005])
    >>> step_down(lambda k: k[..., None] * p, np.ones(4, bool), (4,)).round(4).tolist()
    [0.03, 0.06, 0.06, 0.02]
    """
    out = np.full(shape, np.nan)
    left = np.broadcast_to(given, shape).copy()
    before = np.zeros((*shape[:-1], 1))
    for size in range(int(given.sum()), 0, -1):
        p = of_family(np.full(shape[:-1], size))
        p = np.where(left, np.where(np.isfinite(p), p, 1.0), np.inf)
        next_one = p.argmin(axis=-1)[..., None]
        before = np.minimum(np.maximum(before, np.take_along_axis(p, next_one, -1)), 1.0)
        np.put_along_axis(out, next_one, before, -1)
        np.put_along_axis(left, next_one, False, -1)
    return out
