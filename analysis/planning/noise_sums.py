"""What a trial adds to the noise of a quantity: sums of squares, which trials are put together by.

A few numbers a quantity, so that they can be kept where the runs are not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.planning.run_deviations import Scatter, scatter_of
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.result.analysed import Analysed
from slackwater.analysis.statistics.contrasts import Contrasts, contrasts
from slackwater.analysis.statistics.noise import between_sessions, estimate_noise, residuals_of
from slackwater.analysis.statistics.panel import panel_of
from slackwater.analysis.statistics.tries import Levels

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SessionSquares:
    """Mean squares of the session values of one trial and quantity.

    Attributes
    ----------
    between, between_df : float
        Sum of squares that fitting a level for each session takes up, and its freedom.
    specific, specific_df : float
        What is left of the set points about those levels.
    unit : float
        What the variance shared by a session is multiplied with in the first mean square. [1]
    runs : float
        What runs contribute to the second mean square.
    levels : ndarray, shape (sessions,)
        Level of each session about its configuration, on the scale of the analysis; NaN for a
        session without any value.
    """

    between: float
    between_df: float
    specific: float
    specific_df: float
    unit: float
    runs: float
    levels: Array


def session_layout(
    table: SessionValues, configurations: Sequence[str], blocks: Sequence[str] | None = None
) -> Contrasts:
    """How residuals of the session values about their configurations are formed."""
    name = configurations[0]
    return contrasts(configurations, name, name, np.isfinite(table.on_scale()), blocks)


def session_squares(table: SessionValues, layout: Contrasts) -> SessionSquares:
    """Split the session values of a trial, by the estimator that its analysis uses."""
    values = table.on_scale()
    noise = estimate_noise(values, table.run_variance_on_scale(), layout)
    if noise is None:
        levels = np.where(np.isfinite(values).any(axis=1), 0.0, np.nan)
        return SessionSquares(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, levels)
    levels, _, _ = between_sessions(residuals_of(values, layout), noise.specific, layout)
    levels = np.where(np.isfinite(values).any(axis=1), levels, np.nan)
    runs = float(noise.typical(noise.runs))
    if noise.specific_df <= 0:  # what is shared and what is its own cannot be told apart
        told = layout.residual_df > 0
        square = float(noise.total[told].sum())
        return SessionSquares(
            square * noise.shared_df, noise.shared_df, 0.0, 0.0, 1.0, runs, levels
        )
    # In units of a variance: all set points as noisy as the typical one.
    own = float(noise.typical(noise.specific))
    df = float(layout.residual_df.sum()) - noise.shared_df
    return SessionSquares(
        between=float(noise.ratio) * noise.shared_df * own,
        between_df=noise.shared_df,
        specific=own * df,
        specific_df=df,
        unit=float((noise.share / noise.specific).mean()) * own,
        runs=runs,
        levels=levels,
    )


@dataclass(frozen=True, slots=True)
class NoiseSums:
    """What one trial tells of the noise of one quantity at its set points.

    Attributes
    ----------
    quantity, unit, scale : str
        Squares are of fractions where the scale is "ratio", else of the unit.
    sessions, cells : int
        Sessions with a value, and values in all.
    between, between_df, specific, specific_df, unit_share, runs : float
        As in `SessionSquares`; `unit_share` is its `unit`.
    scatter : Scatter
        Within the cells.
    repeats : str
        What a session repeats, as a noun: "double run", "rater", "pair of tries" or "try".
    """

    quantity: str
    unit: str
    scale: str
    sessions: int
    cells: int
    between: float
    between_df: float
    specific: float
    specific_df: float
    unit_share: float
    runs: float
    scatter: Scatter
    repeats: str = "double run"


@dataclass(frozen=True, slots=True)
class NoisePart:
    """The sums of one trial with the session values that they are of."""

    analysed: Analysed
    table: SessionValues
    layout: Contrasts
    levels: Array
    sums: NoiseSums


def noise_parts(analysed: Analysed, quantity: str | None = None) -> Iterator[NoisePart]:
    """What a trial tells of the noise of its quantities, or of one, at its set points."""
    for table in analysed.tables.values():
        if table.kind != "set points" or table.untestable or quantity not in (None, table.quantity):
            continue
        blocks = analysed.trial.blocks(table.sessions)
        layout = session_layout(table, analysed.configurations, blocks)
        squares = session_squares(table, layout)
        sums = _sums(table, squares, scatter_of(analysed.reduction, table))
        yield NoisePart(analysed, table, layout, squares.levels, sums)
    for table, scatter, repeats in _beside(analysed):
        if quantity not in (None, table.quantity):
            continue
        layout = session_layout(
            table, analysed.configurations, analysed.trial.blocks(table.sessions)
        )
        squares = session_squares(table, layout)
        yield NoisePart(
            analysed, table, layout, squares.levels, _sums(table, squares, scatter, repeats)
        )


def _beside(analysed: Analysed) -> Iterator[tuple[SessionValues, Scatter, str]]:
    """What is told once a session and not by its runs, with its scatter and what it is a mean of.

    What cannot be told is left out: where no session was tried both ways there is no scatter either.
    """
    for figure in () if analysed.rated is None else analysed.rated.figures:
        if not figure.table.untestable:
            yield figure.table, scatter_of_raters(figure.scores), "rater"
    for each in () if analysed.tried is None else analysed.tried.figures:
        if not each.table.untestable:
            yield each.table, scatter_of_tries(each.levels), each.declared.repeated


def scatter_of_tries(levels: Levels) -> Scatter:
    """Scatter of pairs of tries, one each way, in the place of double runs about their cells."""
    ways = levels.counts.shape[1]
    whole = (levels.counts > 0).all(axis=1)
    square = levels.scatter * levels.df / ways
    return Scatter(
        double_runs=square,
        double_runs_df=levels.df,
        passes=0.0,
        passes_df=0.0,
        inverse_count=float((1 / levels.counts[whole]).mean()),
        double_runs_spread=square**2 / (levels.df + 2),
    )


def scatter_of_raters(scores: Array) -> Scatter:
    """Scatter of scores about session and rater, in the place of double runs about their cells."""
    panel = panel_of(scores)
    count = np.isfinite(scores).sum(axis=1)
    square = panel.residual_variance * panel.residual_df
    return Scatter(
        double_runs=square,
        double_runs_df=panel.residual_df,
        passes=0.0,
        passes_df=0.0,
        inverse_count=float((1 / count[count > 0]).mean()),
        double_runs_spread=square**2 / (panel.residual_df + 2),
    )


def _sums(
    table: SessionValues, squares: SessionSquares, scatter: Scatter, repeats: str = "double run"
) -> NoiseSums:
    seen = np.isfinite(table.values)
    return NoiseSums(
        quantity=table.quantity,
        unit="" if table.scale == "ratio" else table.unit,
        scale=table.scale,
        sessions=int(seen.any(axis=1).sum()),
        cells=int(seen.sum()),
        between=squares.between,
        between_df=squares.between_df,
        specific=squares.specific,
        specific_df=squares.specific_df,
        unit_share=squares.unit,
        runs=squares.runs,
        scatter=scatter,
        repeats=repeats,
    )
