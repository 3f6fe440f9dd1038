"""How the double runs and the passes of a cell stray from its mean, quantity by quantity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.reduction.reduction import Reduction
from slackwater.protocol.catalogue.recipes import powers

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Scatter:
    """Sums of squares within the cells of one trial.

    Attributes
    ----------
    double_runs, double_runs_df : float
        Of the double runs about their cells, and its degrees of freedom.
    passes, passes_df : float
        Twice that of half the difference of out and back, which expects the variance of a pass;
        0 degrees of freedom where passes cannot be told from the current.
    inverse_count : float
        Mean over the cells of one over the double runs. [1]
    double_runs_spread, passes_spread : float
        Sum over the set points of squared sums of squares over their degrees of freedom and two:
        set points differ in noise, and the sums are known less well for it.
    """

    double_runs: float
    double_runs_df: float
    passes: float
    passes_df: float
    inverse_count: float
    double_runs_spread: float = 0.0
    passes_spread: float = 0.0


def _spread(squares: Array, group: NDArray[np.int_], df: Array) -> float:
    """Sum over groups of squared sums of squares over degrees of freedom and two."""
    return float((np.bincount(group, squares, minlength=df.size) ** 2 / (df + 2)).sum())


def scatter_of(reduction: Reduction, table: SessionValues) -> Scatter:
    """Scatter within the cells of a trial, on the scale of the analysis.

    Parameters
    ----------
    reduction : Reduction
    table : SessionValues
        Of the quantity.

    Notes
    -----
    Where the current was fitted, it is taken from every pass; what is left of a difference
    between out and back is then the noise of passes. Where it was not, that difference is the
    current, and passes cannot be told. In other measures a steady difference between out and
    back (wind, as a rule) is taken out session by session.
    """
    frame = reduction.frame
    cells = frame["cell"].to_numpy(dtype=int)
    parts = powers(table.quantity, frame.columns)
    relative = table.scale == "ratio" or parts.keys() != {table.quantity}
    deviation = np.zeros(len(frame))
    of_speed = "speed_over_ground" in parts
    for name, sign in parts.items():
        if name not in frame:
            continue  # engine speed that was held and not read is without scatter
        values = _through_water(reduction) if name == "speed_over_ground" else None
        if values is None:
            values = frame[name].to_numpy(dtype=float)
        mean = _cell_means(values, cells)
        strayed = values - mean[cells]
        deviation += sign * (strayed / np.abs(mean[cells]) if relative else strayed)
    if table.quantity == "slip":
        deviation *= -(1 - _level(table))
    usable = np.isfinite(deviation)
    return _sums(reduction, deviation, usable, of_speed)


def _level(table: SessionValues) -> float:
    """Mean of the session values; NaN where there is none."""
    known = table.values[np.isfinite(table.values)]
    return float(known.mean()) if known.size else float("nan")


def _through_water(reduction: Reduction) -> Array | None:
    """Speed of each run less the current of the fit; None where no curve was fitted."""
    frame = reduction.frame
    if reduction.method != "tide_fit" or not reduction.outings:
        return None
    speed = frame["speed_over_ground"].to_numpy(dtype=float).copy()
    sign, seconds = frame["sign"].to_numpy(dtype=float), frame["middle"].to_numpy(dtype=float)
    for outing in reduction.outings:
        if outing.curve is not None:
            rows = outing.rows
            speed[rows] -= sign[rows] * outing.curve.at(seconds[rows])[0]
    return speed


def _cell_means(values: Array, cells: NDArray[np.int_]) -> Array:
    known = np.isfinite(values)
    count = np.bincount(cells, known)
    total = np.bincount(cells, np.where(known, values, 0.0))
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(total / count)


def _sums(
    reduction: Reduction, deviation: Array, usable: NDArray[np.bool_], of_speed: bool
) -> Scatter:
    frame = reduction.frame
    pairs = frame["pair"].to_numpy(dtype=int)
    whole = ~np.isin(pairs, pairs[~usable])
    sign = frame["sign"].to_numpy(dtype=float)[whole]
    deviation, pairs = deviation[whole], np.unique(pairs[whole], return_inverse=True)[1]
    cells = frame["cell"].to_numpy(dtype=int)[whole]
    sessions = frame["session"].to_numpy()[whole]
    if not pairs.size:
        return Scatter(0.0, 0.0, 0.0, 0.0, 1.0)
    count = np.bincount(pairs)
    middle = np.bincount(pairs, deviation) / count
    cell_of_pair = np.zeros(count.size, dtype=int)
    cell_of_pair[pairs] = np.unique(cells, return_inverse=True)[1]
    per_cell = np.bincount(cell_of_pair)
    centre = np.bincount(cell_of_pair, middle) / per_cell
    squares = (middle - centre[cell_of_pair]) ** 2
    double_runs, df = float(squares.sum()), float(count.size - per_cell.size)
    point_of_pair = np.zeros(count.size, dtype=int)
    points = frame["set_point"].to_numpy(dtype=float)[whole]
    point_of_pair[pairs] = np.unique(points, return_inverse=True)[1]
    point_of_cell = np.zeros(per_cell.size, dtype=int)
    point_of_cell[cell_of_pair] = point_of_pair
    freedom = (np.bincount(point_of_pair) - np.bincount(point_of_cell)).astype(np.float64)
    inverse = float((1 / per_cell).mean())
    spread = _spread(squares, point_of_pair, freedom)

    both = (count == 2) & (np.bincount(pairs, sign) == 0)
    curves = [outing.curve for outing in reduction.outings if outing.curve is not None]
    if not both.any() or (of_speed and not (reduction.method == "tide_fit" and curves)):
        return Scatter(double_runs, df, 0.0, 0.0, inverse, spread)
    half = (np.bincount(pairs, sign * deviation) / 2)[both]
    session_of_pair = np.zeros(count.size, dtype=int)
    session_of_pair[pairs] = np.unique(sessions, return_inverse=True)[1]
    mine = session_of_pair[both]
    lost = np.unique(mine).size
    half = half - (np.bincount(mine, half) / np.maximum(np.bincount(mine), 1))[mine]
    if of_speed:
        lost = max(lost, sum(curve.degree + 1 for curve in curves))
    passes_df = max(float(half.size - lost), 0.0)
    if passes_df == 0:
        return Scatter(double_runs, df, 0.0, 0.0, inverse, spread)
    part = passes_df / half.size
    mine = point_of_pair[both]
    return Scatter(
        double_runs=double_runs,
        double_runs_df=df,
        passes=2 * float((half**2).sum()),
        passes_df=passes_df,
        inverse_count=inverse,
        double_runs_spread=spread,
        passes_spread=_spread(2 * half**2, mine, part * np.bincount(mine)),
    )
