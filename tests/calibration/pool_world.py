"""Invented pools whose truth is known: what the intervals cover, and how often a claim is false.

Each boat's own change is drawn about the mean, and her trial errs by a standard error that she knows from
a few degrees of freedom only. Both statements go through the same functions as a user's pool.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from slackwater.analysis.statistics.pooled_differences import mean_of_boats, next_boat
from slackwater.analysis.statistics.random_effects import pool

Array = NDArray[np.float64]

ALIKE, UNLIKE = (0.01,), (0.004, 0.01, 0.02)


@dataclass(frozen=True)
class PoolCell:
    """One cell of the grid.

    Attributes
    ----------
    boats : int
    tau : float
        Standard deviation of the boats' own changes. [fraction]
    errors : tuple of float
        True standard errors of the trials, boat after boat, again from the first. [fraction]
    df : int
        Degrees of freedom by which a trial knows its error; 0 for exactly. [1]
    places : int
        Judged together, each with draws of its own.
    """

    boats: int
    tau: float
    errors: tuple[float, ...] = UNLIKE
    df: int = 6
    places: int = 1


@dataclass(frozen=True)
class PoolRates:
    """What came of a cell, each a part of the pools. [1]

    Attributes
    ----------
    mean, following : float
        The interval of the mean holds it at all places; that of the next boat holds her.
    false : float
        The mean, truly zero, is named a difference somewhere.
    usual : float
        The usual prediction interval, with Student's t of boats less two, holds the next boat.
    alone : float
        The interval of the mean by Hartung, Knapp, Sidik and Jonkman alone holds it.
    fixed, fixed_false : float
        What the interval of fixed effects holds, and what it names, were it taken for the answer.
    """

    mean: float
    following: float
    false: float
    usual: float
    alone: float
    fixed: float
    fixed_false: float


def rates(cell: PoolCell, pools: int, seed: int) -> PoolRates:
    """Simulate a cell."""
    rng = np.random.default_rng(seed)
    shape = (pools, cell.places, cell.boats)
    error = np.resize(np.array(cell.errors), cell.boats)
    values = cell.tau * rng.standard_normal(shape) + error * rng.standard_normal(shape)
    variance = np.broadcast_to(error**2, shape)
    if cell.df:
        variance = variance * rng.chisquare(cell.df, shape) / cell.df
    found = pool(values, variance, float(cell.df) if cell.df else np.inf)
    mean, following = mean_of_boats(found), next_boat(found)
    new = cell.tau * rng.standard_normal(shape[:2])
    weight = 1 / variance
    fixed = np.abs((weight * values).sum(-1)) * np.sqrt(1 / weight.sum(-1))
    critical = stats.norm.ppf(1 - 0.025 / cell.places)
    student = stats.t.ppf(1 - 0.025 / cell.places, cell.boats - 1)
    usual = stats.t.ppf(1 - 0.025 / cell.places, max(cell.boats - 2, 1)) * np.sqrt(
        found.heterogeneity + found.standard_error**2
    )
    return PoolRates(
        mean=_all(np.abs(found.mean) <= mean.half_width),
        following=_all(np.abs(new - found.mean) <= following.half_width),
        false=1 - _all(~mean.established),
        usual=_all(np.abs(new - found.mean) <= usual),
        alone=_all(np.abs(found.mean) <= student * found.standard_error),
        fixed=_all(fixed <= critical),
        fixed_false=1 - _all(fixed <= critical),
    )


def _all(held: NDArray[np.bool_]) -> float:
    """Part of the pools in which it held at all places."""
    return float(held.all(axis=-1).mean())


def grid() -> list[PoolCell]:
    """Boats, differences among them, precision and what is known of it; then several places."""
    cells = [
        PoolCell(boats, tau, errors, df)
        for df in (0, 6, 3)
        for errors in (ALIKE, UNLIKE)
        for boats in (3, 5, 10, 20)
        for tau in (0.0, 0.005, 0.01, 0.03)
    ]
    return cells + [PoolCell(boats, 0.01, UNLIKE, 6, places=5) for boats in (3, 5, 10)]


def standard_error(part: float, pools: int) -> float:
    """Monte Carlo standard error of a part. [1]"""
    return float(np.sqrt(part * (1 - part) / pools))
