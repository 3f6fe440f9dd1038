"""Runs to double runs to session values.

Everything measured is reduced here in the same way: runs to cells (a set point in a session), and
cells to a table of session values. Only the speed over ground needs more, for it carries the
current.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.current import (
    Cells,
    CurrentCurve,
    by_double_runs,
    by_mean_of_means,
    by_single_runs,
    tide_fit,
)

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

# Runs further apart than this do not share one smooth current.
OUTING_GAP = 2 * 3600.0  # [s]


@dataclass(frozen=True, slots=True)
class SessionValues:
    """The values of one quantity: a row a session, a column a position along the sweep.

    Attributes
    ----------
    quantity, unit : str
    scale : str
        "ratio" (compared as a fraction of the baseline) or "difference".
    better : str or None
        "more", "less" or None.
    sessions : tuple of str
    positions : ndarray, shape (positions,)
        Set points, or speeds for a comparison at equal speed. [unit of the axis]
    labels : tuple of str
        The positions as text with their unit.
    values : ndarray, shape (sessions, positions)
        NaN where missing. [unit]
    run_variance : ndarray, shape (sessions, positions)
        Variance of each value from its runs; 0 where unknown. [unit squared]
    double_runs : ndarray of int, shape (sessions, positions)
    instrument_variance : ndarray, shape (positions,)
        Variance that instruments add to a difference on the scale of the analysis.
    untestable : str
        Why no comparison can be made, or empty.
    kind : str
        "set points" (as measured), "equal speed" (read off the curves at a speed) or "whole
        sweep" (one figure for a session).
    beyond : tuple of str
        For each position, what is to be said where a session does not reach it, which forbids
        the comparison there; empty where a missing value is merely missing.
    curve_variance : ndarray or None, shape (sessions, positions)
        Variance, on the scale of the analysis, that reading off curves adds to the mean of a
        configuration and to a difference. The sessions of one configuration share it.
    level_variance : ndarray or None, shape (sessions, positions)
        The same for what adds to a mean and cancels in a difference.
    loading : ndarray or None, shape (positions,)
        How strongly what disturbs a whole session shows at each position, where that is known
        to differ. [1]
    covariates : ndarray or None, shape (sessions, n)
        What else differed between the sessions, to be allowed for as the sessions themselves
        show it.
    """

    quantity: str
    unit: str
    scale: str
    better: str | None
    sessions: tuple[str, ...]
    positions: Array
    labels: tuple[str, ...]
    values: Array
    run_variance: Array
    double_runs: NDArray[np.int_]
    instrument_variance: Array
    untestable: str = ""
    kind: str = "set points"
    beyond: tuple[str, ...] = ()
    curve_variance: Array | None = None
    level_variance: Array | None = None
    loading: Array | None = None
    covariates: Array | None = None

    @property
    def key(self) -> str:
        """What tells it from the other tables of a trial: the quantity, and where it was read."""
        if self.kind == "set points":
            return self.quantity
        where = "at equal speed" if self.kind == "equal speed" else f"by {self.labels[0]}"
        return f"{self.quantity} {where}"

    def on_scale(self) -> Array:
        """Values on the scale of the analysis: logarithms for ratios."""
        if self.scale == "difference":
            return self.values
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(self.values > 0, np.log(self.values), np.nan)

    def run_variance_on_scale(self) -> Array:
        """Mean run variance at each position on the scale of the analysis, shape (positions,)."""
        variance = self.run_variance
        if self.scale == "ratio":
            with np.errstate(invalid="ignore", divide="ignore"):
                variance = variance / self.values**2
        seen = np.isfinite(variance) & np.isfinite(self.values)
        total = np.where(seen, variance, 0.0).sum(axis=0)
        return np.asarray(total / np.maximum(seen.sum(axis=0), 1))

    def curve_variance_of(self, mine: NDArray[np.bool_], *, level: bool = False) -> Array:
        """Variance that some sessions share from reading off curves, shape (positions,).

        Parameters
        ----------
        mine : ndarray of bool, shape (sessions,)
            The sessions of one configuration.
        level : bool
            Of their mean; else of a difference from it.
        """
        parts = [self.curve_variance, self.level_variance if level else None]
        total = np.zeros(len(self.positions))
        for part in parts:
            if part is not None and mine.any():
                known = np.where(np.isfinite(part[mine]), part[mine], 0.0)
                total = total + known.max(axis=0)
        return total


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


@dataclass(frozen=True, slots=True)
class SetAside:
    """A run left out of the analysis, with its reason."""

    row: int
    session: str
    set_point: float
    double_run: int | None
    direction: str
    reason: str


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


def select(
    frame: pd.DataFrame, *, paired: bool, reciprocal_within: float
) -> tuple[pd.DataFrame, list[SetAside]]:
    """Sort the runs into those used and those set aside.

    Parameters
    ----------
    frame : DataFrame
        As read by the intake.
    paired : bool
        Only whole double runs are used.
    reciprocal_within : float
        How far from opposite the headings of a double run may be. [deg]

    Returns
    -------
    used : DataFrame
        With the columns `sign`, `middle`, `cell` and `pair` added, in the order of the table.
    set_aside : list of SetAside
    """
    import pandas as pd

    frame = frame.copy()
    frame["sign"] = directions(frame)
    half = pd.to_timedelta(frame["duration"].fillna(0.0) / 2, unit="s")
    middle = (frame["start"] + half).astype("datetime64[ns]")
    frame["middle"] = np.where(middle.isna(), np.nan, middle.astype("int64") / 1e9)

    reasons = frame["set_aside"].astype(str).to_numpy(dtype=object)
    if paired:
        rows = np.flatnonzero(reasons == "")
        keys = frame.iloc[rows]
        pair = _codes(keys, ["session", "set_point", "double_run"])
        heading = keys["heading"].to_numpy(dtype=float)
        for members in _broken_pairs(pair, keys["sign"].to_numpy(dtype=float), heading):
            number = str(keys["double_run"].iloc[members[0]])
            sign, course = keys["sign"].to_numpy(dtype=float)[members], heading[members]
            reasons[rows[members]] = _not_whole(sign, course, number, reciprocal_within)
    left_out = frame[reasons != ""]
    aside = [
        SetAside(
            row=int(run.row),
            session=str(run.session),
            set_point=float(run.set_point),
            double_run=None if pd.isna(run.double_run) else int(run.double_run),
            direction=str(run.direction) or _direction_word(run.sign),
            reason=str(reason),
        )
        for run, reason in zip(
            left_out.itertuples(index=False), reasons[reasons != ""], strict=True
        )
    ]
    used = frame[reasons == ""].reset_index(drop=True)
    used["cell"] = _codes(used, ["session", "set_point"])
    used["pair"] = _codes(used, ["session", "set_point", "double_run"])
    used["direction"] = np.where(used["sign"].isna(), "", np.where(used["sign"] > 0, "out", "back"))
    return used, aside


def _codes(frame: pd.DataFrame, columns: list[str]) -> NDArray[np.int_]:
    """Rows numbered by what they have in common, from 0, in order of first appearance."""
    import pandas as pd

    code = np.zeros(len(frame), dtype=int)
    for column in columns:
        own = pd.factorize(frame[column])[0]
        code = pd.factorize(code * (own.max(initial=0) + 1) + own)[0]
    return code


def _broken_pairs(
    pair: NDArray[np.int_], sign: Array, heading: Array
) -> Iterator[NDArray[np.int_]]:
    """Rows of each double run that may not be whole: not one out and one back, or with headings."""
    count = np.bincount(pair)
    known = np.bincount(pair, np.isfinite(sign).astype(float))
    balance = np.bincount(pair, np.nan_to_num(sign))
    headed = np.bincount(pair, np.isfinite(heading).astype(float))
    for number in np.flatnonzero((count != 2) | (known != 2) | (balance != 0) | (headed > 0)):
        yield np.flatnonzero(pair == number)


def _direction_word(sign: float) -> str:
    if not np.isfinite(sign):
        return ""
    return "out" if sign > 0 else "back"


def directions(frame: pd.DataFrame) -> Array:
    """+1 for runs out, -1 for runs back, NaN where neither direction nor heading is known.

    From headings, `out` is the way the first run of the table went. Headings are sorted by the
    side of the course line they point to; the course line is the mean axis of all headings.
    """
    word = frame["direction"].astype(str)
    sign = np.where(word == "out", 1.0, np.where(word == "back", -1.0, np.nan))
    heading = np.radians(frame["heading"].to_numpy(dtype=float))
    open_rows = np.isnan(sign) & np.isfinite(heading)
    if open_rows.any():
        known = heading[np.isfinite(heading)]
        axis = 0.5 * np.angle(np.exp(2j * known).sum())
        if np.cos(known[0] - axis) < 0:
            axis += np.pi
        sign[open_rows] = np.where(np.cos(heading[open_rows] - axis) >= 0, 1.0, -1.0)
    return sign


def _not_whole(sign: Array, heading: Array, number: str, reciprocal_within: float) -> str:
    """Why the runs of one number are no whole double run, or nothing."""
    if np.isnan(sign).any():
        return f"double run {number} has a run without direction or heading"
    if sign.size == 1:
        lacking = "back" if sign[0] > 0 else "out"
        return f"half a double run: double run {number} has no run {lacking}"
    if abs(sign.sum()) == sign.size:
        way = _direction_word(sign[0])
        return f"half a double run: every run of double run {number} went {way}"
    if sign.size != 2:
        return f"double run {number} has {sign.size} runs; a double run is one out and one back"
    if np.isfinite(heading).all():
        off = abs(abs((heading[0] - heading[1]) % 360) - 180)
        if off > reciprocal_within:
            return (
                f"headings {heading[0]:g} and {heading[1]:g} deg are {off:g} deg off opposite; "
                f"the limit is {reciprocal_within:g} deg"
            )
    return ""


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
    if "speed_over_ground" not in used or used.empty:
        return base
    if base.method == "one_way":
        return base
    return _take_current_out(base)


def _take_current_out(base: Reduction) -> Reduction:
    used = base.frame
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
