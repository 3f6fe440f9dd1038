"""How session values are combined into a difference: contrasts, residuals and what they carry.

All arrays follow one convention: axis -2 runs over the sessions, axis -1 over the set points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Contrasts:
    """The least-squares layout of one comparison, set point by set point.

    Attributes
    ----------
    weights : ndarray, shape (sessions, set_points)
        Weight of each session value in the difference, modified minus baseline. NaN in a column
        whose difference the sessions cannot give. [1]
    residual : ndarray, shape (set_points, sessions, sessions)
        Takes session values to residuals about the fitted configurations (and blocks). [1]
    residual_df : ndarray, shape (set_points,)
        Degrees of freedom left at each set point. [1]
    complete : bool
        Every session has a value at every set point, so that one layout serves all.
    sides : tuple of ndarray of bool, shape (sessions, set_points) each, or None
        The session values of baseline and modified, where their plain means are compared; None
        with blocks or covariates.
    """

    weights: Array
    residual: Array
    residual_df: Array
    complete: bool
    sides: tuple[NDArray[np.bool_], NDArray[np.bool_]] | None = None

    @property
    def spread(self) -> Array:
        """Sum of squared weights, shape (set_points,): variance of a difference per unit noise."""
        return np.asarray((self.weights**2).sum(axis=0))


def contrasts(
    configurations: Sequence[str],
    baseline: str,
    modified: str,
    present: NDArray[np.bool_],
    blocks: Sequence[str] | None = None,
    covariates: Array | None = None,
) -> Contrasts:
    """Lay out the comparison of two configurations over the sessions.

    Parameters
    ----------
    configurations : sequence of str, length sessions
        What was fitted; sessions of further configurations help to tell the noise.
    baseline, modified : str
        The two compared.
    present : ndarray of bool, shape (sessions, set_points)
        Which session values exist.
    blocks : sequence of str, optional, length sessions
        Sessions of one block are compared with each other only.
    covariates : ndarray, optional, shape (sessions, n)
        What else differed between the sessions; the comparison is made at equal covariates.
    """
    n_sessions, n_points = present.shape
    # A configuration that was not run yet has a column of zeros: its difference is not estimable.
    names = sorted({*configurations, baseline, modified})
    design = _indicators(configurations, names)
    if blocks is not None:
        design = np.hstack([design, _indicators(blocks, sorted(set(blocks)))])
    if covariates is not None:
        centred = covariates - covariates.mean(axis=0)
        design = np.hstack([design, centred / np.maximum(np.abs(centred).max(axis=0), 1e-300)])
    wanted = np.zeros(design.shape[1])
    wanted[names.index(modified)], wanted[names.index(baseline)] = 1.0, -1.0

    weights = np.zeros((n_sessions, n_points))
    residual = np.zeros((n_points, n_sessions, n_sessions))
    df = np.zeros(n_points)
    done: dict[bytes, int] = {}
    for p in range(n_points):
        rows = present[:, p]
        earlier = done.setdefault(rows.tobytes(), p)
        if earlier != p:
            weights[:, p], residual[p], df[p] = weights[:, earlier], residual[earlier], df[earlier]
            continue
        x = design[rows]
        inverse = np.linalg.pinv(x)
        hat = x @ inverse
        residual[p][np.ix_(rows, rows)] = np.eye(int(rows.sum())) - hat
        df[p] = rows.sum() - round(float(np.trace(hat)))
        estimable = np.allclose(wanted @ inverse @ x, wanted, atol=1e-8)
        if estimable:
            weights[rows, p] = wanted @ inverse
        else:  # also where no session has a value
            weights[:, p] = np.nan
    sides = None
    if blocks is None and covariates is None:
        fitted = np.array(configurations)
        sides = tuple((fitted == name)[:, None] & present for name in (baseline, modified))
    return Contrasts(weights, residual, df, bool(present.all()), sides)


def _indicators(labels: Sequence[str], names: Sequence[str]) -> Array:
    return np.array([[float(label == name) for name in names] for label in labels])
