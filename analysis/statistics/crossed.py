"""A component of variance of groups that cross blocks, or not: which can be told apart is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc

from slackwater.analysis.statistics.variance import component_interval

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Crossed:
    """What groups differ by, blocks taken out.

    Attributes
    ----------
    value, low, high : float or None
        Standard deviation between groups, with its 95 % interval; None where nothing tells it. [unit]
    df, rest_df : float
        Degrees of freedom of the groups beside the blocks, and of what is left. [1]
    rest : float or None
        Standard deviation of values of one group in one block. [unit]
    p_value : float or None
        How often groups alike differ as much. [1]
    """

    value: float | None
    low: float | None
    high: float | None
    df: float
    rest_df: float
    rest: float | None
    p_value: float | None


def between_groups(
    values: Sequence[float], blocks: Sequence[str], groups: Sequence[str]
) -> Crossed:
    """What groups differ by within blocks.

    Parameters
    ----------
    values : sequence of float, shape (n,)
        [any unit]
    blocks, groups : sequence of str, shape (n,)
        The block and the group that each value is of.

    Notes
    -----
    Henderson's third method: the squares that groups take up once blocks are fitted are set against
    those that are left, by their expectation. Unequal numbers and missing cells need nothing special.

    References
    ----------
    C. R. Henderson, "Estimation of variance and covariance components", Biometrics 9 (1953), method 3.
    """
    y = np.asarray(values, dtype=float)
    of_blocks, of_groups = _indicators(blocks), _indicators(groups)
    beside = of_groups - _fitted(of_blocks, of_groups)  # groups, blocks taken out
    beside[np.abs(beside) < 1e-9] = 0.0  # rounding alone is left of a group that is a block
    free = y - _fitted(of_blocks, y)
    left = free - _fitted(beside, free)
    df = float(np.linalg.matrix_rank(beside)) if len(y) else 0.0
    rest_df = len(y) - df - len(set(blocks))
    taken = float((free**2).sum() - (left**2).sum())
    if df <= 0 or rest_df <= 0:
        rest = sqrt(float((left**2).sum()) / rest_df) if rest_df > 0 else None
        return Crossed(None, None, None, df, max(rest_df, 0.0), rest, None)
    square, error = taken / df, float((left**2).sum()) / rest_df
    weight = float((beside**2).sum()) / df  # of the groups' variance in their mean square
    ends = component_interval(square, df, error, rest_df)
    low, high = (None, None) if ends is None else (sqrt(end / weight) for end in ends)
    return Crossed(
        value=sqrt(max(square - error, 0.0) / weight),
        low=low,
        high=high,
        df=df,
        rest_df=rest_df,
        rest=sqrt(error),
        p_value=float(fdtrc(df, rest_df, square / error)) if error > 0 else None,
    )


def connected(blocks: Sequence[str], groups: Sequence[str]) -> list[tuple[set[str], set[str]]]:
    """Blocks and groups that can be compared with each other, part by part.

    Two groups are in one part when a chain of blocks that groups share leads from one to the other.
    """
    parts: list[tuple[set[str], set[str]]] = []
    for block, group in zip(blocks, groups, strict=True):
        touched = [part for part in parts if block in part[0] or group in part[1]]
        whole: tuple[set[str], set[str]] = ({block}, {group})
        for part in touched:
            whole[0].update(part[0])
            whole[1].update(part[1])
            parts.remove(part)
        parts.append(whole)
    return parts


def _indicators(names: Sequence[str]) -> Array:
    kinds = list(dict.fromkeys(names))
    return np.array([[name == kind for kind in kinds] for name in names], dtype=float).reshape(
        len(names), len(kinds)
    )


def _fitted(columns: Array, values: Array) -> Array:
    """Values as the columns fit them, by least squares; columns may depend on each other."""
    return np.asarray(columns @ np.linalg.lstsq(columns, values, rcond=None)[0])
