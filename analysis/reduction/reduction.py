"""Runs to double runs to session values.

Everything measured is reduced here in the same way: runs to cells (a set point in a session), and
cells to a table of session values. Only the speed over ground needs more, for it carries the
current.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.reduction.current import (
    Cells,
    CurrentCurve,
    ReductionError,
    by_double_runs,
    by_mean_of_means,
    by_single_runs,
    tide_fit,
)
from slackwater.analysis.reduction.set_aside import SetAside, select

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

# Runs further apart than this do not share one smooth current.
OUTING_GAP = 2 * 3600.0  # [s]


@dataclass(frozen=True, slots=True)
class Outing:
    """Runs without a long gap, whatever was fitted, and the current found in them.

    Attributes
    ----------
    rows : ndarray of int
        Positions of its runs in the reduced table.
    curve : CurrentCurve or None
        None where the method gives no curve.
    """

    rows: NDArray[np.int_]
    curve: CurrentCurve | None


@dataclass(frozen=True)
class Reduction:
    """Runs as used, and what they were reduced to.

    Attributes
    ----------
    frame : DataFrame
        The runs used, with columns `sign` (+1 out, -1 back), `middle` [s], `cell`, `pair`.
    set_aside : tuple of SetAside
        Those the user set aside and those that make no whole double run.
    cells : list of (session, set point)
    outings : tuple of Outing
    current_of_run : ndarray, shape (runs,)
        The current as each run alone shows it; NaN where unknown. [unit of speed]
    method : str
        How the current was taken out: a method of the protocol, or "one_way".
    notes : tuple of str
        Where the reduction had to depart from the method declared.
    """

    frame: pd.DataFrame
    set_aside: tuple[SetAside, ...]
    cells: tuple[tuple[str, float], ...]
    outings: tuple[Outing, ...]
    speed: Cells | None
    current_of_run: Array
    method: str
    notes: tuple[str, ...] = field(default=())


def reduce_runs(
    frame: pd.DataFrame, *, method: str, one_way: bool, reciprocal_within: float = 15.0
) -> Reduction:
    """Take the current out of the runs of a trial.

    Parameters
    ----------
    frame : DataFrame
        As read by the intake, with a column `speed_over_ground` where speed was measured.
    method : str
        tide_fit, mean_of_means, double_run or none.
    one_way : bool
        The protocol declares runs in one direction.
    reciprocal_within : float
        How far from opposite the headings of a double run may be. [deg]
    """
    paired = method != "none" and not one_way
    used, aside = select(frame, paired=paired, reciprocal_within=reciprocal_within)
    firsts = used.drop_duplicates("cell").sort_values("cell")
    cells = tuple(
        (str(session), float(point))
        for session, point in zip(firsts["session"], firsts["set_point"], strict=True)
    )
    base = Reduction(
        frame=used,
        set_aside=tuple(aside),
        cells=cells,
        outings=(),
        speed=None,
        current_of_run=np.full(len(used), np.nan),
        method="one_way" if one_way and method != "none" else method,
    )
    return take_current_out(base)


#: What a method of taking the current out is held against: one that assumes less, or else more.
ANOTHER = {"tide_fit": "double_run", "mean_of_means": "double_run", "double_run": "tide_fit"}


def by_another_method(reduction: Reduction) -> Reduction | None:
    """The same runs with the current taken out in another way; None where there is no other.

    A smooth tide or a steady drift is assumed by the methods that fit one; the mean of each double
    run assumes that the current stood still for the two, and can be checked by a tide fit where
    the runs have a start.
    """
    other = ANOTHER.get(reduction.method)
    if other is None or reduction.speed is None:
        return None
    try:
        found = take_current_out(replace(reduction, method=other, notes=()))
    except ReductionError:
        return None
    return found if found.method == other else None


def take_current_out(base: Reduction) -> Reduction:
    """The same runs with the current out of their speed, where one was measured.

    Parameters
    ----------
    base : Reduction
        Its runs are sorted and its method is set; a speed that it has already is found anew.

    Raises
    ------
    ReductionError
        When the method cannot be used on these runs.
    """
    used = base.frame
    if "speed_over_ground" not in used or used.empty or base.method == "one_way":
        return base
    speed = used["speed_over_ground"].to_numpy(dtype=float)
    if np.isnan(speed).any():
        note = "runs without a speed over ground were left out of the speed, with their partners"
        base = replace(base, notes=(*base.notes, note))
        keep = ~used["pair"].isin(used.loc[np.isnan(speed), "pair"]).to_numpy()
    else:
        keep = np.ones(len(used), dtype=bool)
    rows = np.flatnonzero(keep)
    if rows.size == 0:
        return base
    part = used.iloc[rows]
    speed = speed[rows]
    sign = part["sign"].to_numpy(dtype=float)
    cell = part["cell"].to_numpy(dtype=int)
    pair = np.unique(part["pair"].to_numpy(dtype=int), return_inverse=True)[1]
    seconds = part["middle"].to_numpy(dtype=float)
    n_cells = len(base.cells)

    method, notes = base.method, list(base.notes)
    outings: list[Outing] = []
    if method in ("tide_fit", "mean_of_means") and np.isnan(seconds).any():
        notes.append(
            f"{method} needs the start of every run; it is missing on "
            f"{int(np.isnan(seconds).sum())} of {rows.size} runs, so each double run was averaged "
            "by itself (double_run)"
        )
        method = "double_run"
    if method == "none":
        reduced = _spread(by_single_runs(speed, _dense(cell)[0]), cell, n_cells)
    elif method == "double_run":
        reduced = _spread(by_double_runs(speed, pair, _dense(cell)[0]), cell, n_cells)
    elif method == "mean_of_means":
        dense, known = _dense(cell)
        found, plain = by_mean_of_means(speed, sign, seconds, pair, dense)
        if plain:
            where = ", ".join(f"{s} at {p:g}" for s, p in (base.cells[known[c]] for c in plain[:6]))
            notes.append(
                "the runs do not alternate in direction, so the plain mean of the double runs "
                f"stands for the mean of means: {where}"
                + (f" and {len(plain) - 6} more" if len(plain) > 6 else "")
            )
        reduced = _spread(found, cell, n_cells)
    else:
        reduced, outings = _fit_outings(speed, sign, seconds, cell, pair, rows, n_cells)

    current = np.full(len(used), np.nan)
    if method != "none":
        current[rows] = sign * (speed - reduced.value[cell])
    return replace(
        base,
        speed=reduced,
        outings=tuple(outings),
        current_of_run=current,
        method=method,
        notes=tuple(notes),
    )


def _dense(cell: NDArray[np.int_]) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
    known, dense = np.unique(cell, return_inverse=True)
    return dense, known


def _spread(found: Cells, cell: NDArray[np.int_], n_cells: int) -> Cells:
    """Cells found among some of the runs, laid out over all cells; NaN where there is none."""
    known = np.unique(cell)
    value = np.full(n_cells, np.nan)
    factor, scatter, df = np.full(n_cells, np.nan), np.zeros(n_cells), np.zeros(n_cells)
    value[known], factor[known] = found.value, found.factor
    scatter[known], df[known] = found.scatter, found.df
    return Cells(value, factor, scatter, df)


def _fit_outings(
    speed: Array,
    sign: Array,
    seconds: Array,
    cell: NDArray[np.int_],
    pair: NDArray[np.int_],
    rows: NDArray[np.int_],
    n_cells: int,
) -> tuple[Cells, list[Outing]]:
    """One tide fit an outing; a cell that two outings share is joined by its precision."""
    precision, weighted = np.zeros(n_cells), np.zeros(n_cells)
    scatter, df = np.zeros(n_cells), np.zeros(n_cells)
    outings = []
    # A double run stays whole: both its runs belong to the outing of their common middle.
    together = np.bincount(pair, seconds) / np.bincount(pair)
    for part in split_outings(together[pair]):
        dense, known = _dense(cell[part])
        found, curve, _ = tide_fit(speed[part], sign[part], seconds[part], dense)
        precision[known] += 1 / found.factor
        weighted[known] += found.value / found.factor
        scatter[known] += found.scatter
        df[known] += found.df
        outings.append(Outing(rows[part], curve))
    with np.errstate(invalid="ignore", divide="ignore"):
        value, factor = weighted / precision, 1 / precision
    missing = precision == 0
    value[missing] = factor[missing] = np.nan
    return Cells(value, factor, scatter, df), outings


def split_outings(seconds: Array) -> list[NDArray[np.int_]]:
    """Row numbers of each outing, in order of time.

    Parameters
    ----------
    seconds : ndarray, shape (runs,)
        Middle of each run. [s]
    """
    order = np.argsort(seconds, kind="stable")
    gaps = np.flatnonzero(np.diff(seconds[order]) > OUTING_GAP) + 1
    return [np.sort(part) for part in np.split(order, gaps)]


def reduce_measure(reduction: Reduction, name: str) -> Cells:
    """Cells of a measure that carries no current: the mean over its double runs.

    Where the runs make no double runs (one way, or no current), the mean over the runs. Runs
    without the measure are left out, and with them the partner that would weigh one direction more.
    """
    used = reduction.frame
    values = used[name].to_numpy(dtype=float)
    cell, n_cells = used["cell"].to_numpy(dtype=int), len(reduction.cells)
    paired = reduction.method not in ("none", "one_way")
    missing = np.isnan(values)
    if paired:
        missing = used["pair"].isin(used.loc[missing, "pair"]).to_numpy()
    rows = np.flatnonzero(~missing)
    if rows.size == 0:
        empty = np.full(n_cells, np.nan)
        return Cells(empty, empty.copy(), np.zeros(n_cells), np.zeros(n_cells))
    dense, _ = _dense(cell[rows])
    if paired:
        pair = np.unique(used["pair"].to_numpy(dtype=int)[rows], return_inverse=True)[1]
        return _spread(by_double_runs(values[rows], pair, dense), cell[rows], n_cells)
    return _spread(by_single_runs(values[rows], dense), cell[rows], n_cells)
