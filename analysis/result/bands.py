"""Along the whole axis: where a difference is established, where it is within noise or equivalent.

The intervals of a sweep hold at all its set points at once. Between two set points the difference
is, but for what the two curves bend, between their two differences, so limits drawn straight from
one set point to the next hold there too; what they bend is found by leaving set points out.
One statement thus covers the whole axis, without a further allowance for the points between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from slackwater.analysis.sweep.curves import MIN_SET_POINTS, curves, spread
from slackwater.analysis.verdict.judgement import Judged
from slackwater.analysis.verdict.verdicts import ESTABLISHED

Array = NDArray[np.float64]

PAIR = ("baseline", "modified")
PARTS = 32  # that each gap between set points is looked at in


@dataclass(frozen=True, slots=True)
class Band:
    """A difference along the axis with its simultaneous limits, on the scale of the analysis.

    Attributes
    ----------
    position : ndarray, shape (n,)
        [unit of the axis]
    difference, low, high : ndarray, shape (..., n)
    """

    position: Array
    difference: Array
    low: Array
    high: Array


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the axis on which one verdict holds throughout.

    Attributes
    ----------
    low, high : float
        Its ends. [unit of the axis]
    verdict : str
    """

    low: float
    high: float
    verdict: str


def band(
    x: Array, means: Sequence[Array], difference: Array, half_width: Array, confidence: float
) -> Band:
    """Simultaneous limits along the axis from those at the set points.

    Parameters
    ----------
    x : ndarray, shape (set_points,)
        Ascending.
    means : sequence of ndarray, shape (..., set_points)
        Mean curve of each of the two configurations: what is left out of either tells how far it
        may be off between set points.
    difference, half_width : ndarray, shape (..., set_points)
    confidence : float
    """
    parts = np.linspace(0.0, 1.0, PARTS + 1)
    position = np.unique(x[:-1, None] + np.diff(x)[:, None] * parts)
    middle = curves(x, difference).at(position)
    between = np.sqrt(sum(spread(x, mean).at(position) ** 2 for mean in means))
    right = np.clip(np.searchsorted(x, position, side="right"), 1, len(x) - 1)
    t = (position - x[right - 1]) / (x[right] - x[right - 1])
    straight = (1 - t) * half_width[..., right - 1] + t * half_width[..., right]
    half = np.hypot(straight, ndtri(0.5 + confidence / 2) * between)
    return Band(position, middle, middle - half, middle + half)


def band_of(judged: Judged) -> Band | None:
    """The band of one comparison; None where its positions make no curve."""
    found, table = judged.differences, judged.table
    x = table.positions
    if found is None or table.kind == "whole sweep" or not judged.rows[0].simultaneous:
        return None
    given = np.isfinite(found.difference) & np.isfinite(x)
    given &= np.array([row.change is not None for row in judged.rows])
    if given.sum() < MIN_SET_POINTS or not (np.diff(x[given]) > 0).all():
        return None
    log = bool((x[given] > 0).all())
    scale = np.log(x[given]) if log else x[given]
    first = judged.rows[0]
    means = [judged.mean_of(side)[given] for side in (first.baseline, first.modified)]
    out = band(scale, means, found.difference[given], found.half_width[given], found.confidence)
    if not log:
        return out
    position = np.exp(out.position)
    position[np.searchsorted(out.position, scale)] = x[given]  # as they were declared
    return replace(out, position=position)


def stretches(judged: Judged) -> list[Stretch]:
    """The axis of one comparison cut into stretches of one verdict each, in order.

    A set point may be established in the table and not in its stretch: the table sets what is
    established aside before it judges the rest, which a statement on the size everywhere cannot.
    """
    found = band_of(judged)
    if found is None:
        return []
    table = judged.table
    limit = judged.rows[0].worthwhile
    if limit is not None and table.scale == "ratio":
        limit = float(np.log1p(limit))
    words = _words(found, table.better, limit)
    return _joined(found.position, words)


def _words(found: Band, better: str | None, limit: float | None) -> list[str]:
    up, down = {
        "more": ("gain", "loss"),
        "less": ("loss", "gain"),
        None: ("higher", "lower"),
    }[better]
    words = []
    for low, high in zip(found.low, found.high, strict=True):
        if low > 0 or high < 0:
            words.append(up if low > 0 else down)
        elif limit is not None and -limit < low and high < limit:
            words.append("equivalent")
        else:
            words.append("within noise")
    return words


def _joined(position: Array, words: Sequence[str]) -> list[Stretch]:
    found: list[Stretch] = []
    start = 0
    for i in range(1, len(words) + 1):
        if i < len(words) and words[i] == words[start]:
            continue
        # A claim ends at the last point that carries it; what lies between two claims is noise.
        found.append(Stretch(float(position[start]), float(position[i - 1]), words[start]))
        start = i
    return [each for each in found if each.high > each.low or each.verdict in ESTABLISHED]
