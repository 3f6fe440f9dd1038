"""The noise budget of past trials: where their scatter arises, and how well that is known.

For each quantity the session values of a trial are split into what all set points of a session
share, what a set point has in one session, what double runs and what single passes add. Several
trials are put together by their mean squares, each about its own configurations.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.planning.noise_loading import LoadingFound, loading_found
from slackwater.analysis.planning.noise_trend import Trend, trends
from slackwater.analysis.planning.run_deviations import Scatter, scatter_of
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.result.analysed import Analysed
from slackwater.analysis.statistics.contrasts import Contrasts, contrasts
from slackwater.analysis.statistics.interlaboratory import LIMIT, reproducibility_variance
from slackwater.analysis.statistics.noise import between_sessions, estimate_noise, residuals_of
from slackwater.analysis.statistics.variance import difference_interval, mean_square_interval

Array = NDArray[np.float64]

BETWEEN, SPECIFIC, DOUBLE_RUNS, PASSES = (
    "between sessions",
    "session by set point",
    "between double runs",
    "between passes",
)


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
class Component:
    """One source of scatter, as a standard deviation.

    Attributes
    ----------
    name : str
    value, low, high : float or None
        On the scale of the analysis; None where it cannot be told.
    df : float
        Degrees of freedom of the mean square it rests on. [1]
    part : float or None
        Its part of the variance of a session value. [1]
    """

    name: str
    value: float | None
    low: float | None
    high: float | None
    df: float
    part: float | None = None


@dataclass(frozen=True, slots=True)
class Budget:
    """The noise of one quantity over all trials.

    Attributes
    ----------
    quantity, unit, scale : str
    trials, sessions : int
    components : tuple of Component
    within_session : float or None
        Standard deviation of one double run in its session, passes and all.
    repeatability, reproducibility : float or None
        In the sense of ISO 5725, of one double run in one session and in different ones.
    double_runs : float
        Behind each session value (harmonic mean). [1]
    between_df : float
        Degrees of freedom between sessions. [1]
    trends : tuple of Trend
        Drift within the trials and shifts between them, looked for.
    loading : LoadingFound or None
        How strongly sessions show along the sweep; None where the trials do not tell.
    """

    quantity: str
    unit: str
    scale: str
    trials: int
    sessions: int
    components: tuple[Component, ...]
    within_session: float | None
    repeatability: float | None
    reproducibility: float | None
    double_runs: float
    between_df: float
    trends: tuple[Trend, ...] = field(default=())
    loading: LoadingFound | None = None

    def component(self, name: str) -> Component:
        """A component by its name."""
        return next(each for each in self.components if each.name == name)

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """Repeatability and reproducibility limit: 2.8 standard deviations."""
        repeated = None if self.repeatability is None else LIMIT * self.repeatability
        reproduced = None if self.reproducibility is None else LIMIT * self.reproducibility
        return repeated, reproduced


@dataclass(frozen=True, slots=True)
class _Part:
    """What one trial gives of one quantity."""

    analysed: Analysed
    table: SessionValues
    layout: Contrasts
    squares: SessionSquares
    scatter: Scatter


def budgets(trials: Sequence[Analysed], quantity: str | None = None) -> list[Budget]:
    """The noise budget of every quantity that the trials give, or of one.

    Parameters
    ----------
    trials : sequence of Analysed
        In any order; those that repeat a configuration in no session add to the runs alone.
    quantity : str, optional
    """
    names = dict.fromkeys(
        table.quantity
        for analysed in trials
        for table in analysed.tables.values()
        if table.kind == "set points" and not table.untestable
    )
    wanted = [name for name in names if quantity in (None, name)]
    return [_budget(name, trials) for name in wanted]


def _parts(name: str, trials: Sequence[Analysed]) -> list[_Part]:
    parts = []
    for analysed in trials:
        for table in analysed.tables.values():
            if table.quantity != name or table.kind != "set points" or table.untestable:
                continue
            blocks = analysed.trial.blocks(table.sessions)
            layout = session_layout(table, analysed.configurations, blocks)
            squares = session_squares(table, layout)
            scatter = scatter_of(analysed.reduction, table)
            parts.append(_Part(analysed, table, layout, squares, scatter))
    return parts


def _budget(name: str, trials: Sequence[Analysed]) -> Budget:
    parts = _parts(name, trials)
    table = parts[0].table
    between_df = sum(part.squares.between_df for part in parts)
    specific_df = sum(part.squares.specific_df for part in parts)
    # Passes and double runs are set against each other: from the same trials where possible.
    telling = [part.scatter for part in parts if part.scatter.double_runs_df > 0]
    telling = telling or [part.scatter for part in parts]
    runs_sum, passes_sum = sum(s.double_runs for s in telling), sum(s.passes for s in telling)
    between = _mean(sum(part.squares.between for part in parts), between_df)
    specific = _mean(sum(part.squares.specific for part in parts), specific_df)
    runs = _mean(runs_sum, sum(s.double_runs_df for s in telling))
    passes = _mean(passes_sum, sum(s.passes_df for s in telling))
    runs_df = _effective(runs_sum, sum(s.double_runs_spread for s in telling))
    passes_df = _effective(passes_sum, sum(s.passes_spread for s in telling))
    inverse = _inverse_count(parts)
    unit = sum(p.squares.unit * p.squares.between_df for p in parts) / max(between_df, 1.0)

    within = runs if runs is not None else (None if passes is None else passes / 2)
    own_runs = _mean(sum(p.squares.runs * p.squares.specific_df for p in parts), specific_df)
    components = [
        _difference(BETWEEN, between, between_df, specific, specific_df, 1 / max(unit, 1.0)),
        _difference(SPECIFIC, specific, specific_df, own_runs, runs_df),
        _difference(DOUBLE_RUNS, runs, runs_df, _times(passes, 0.5), passes_df),
        _plain(PASSES, passes, passes_df),
    ]
    if specific is None:  # a single set point: what is shared and what is its own are one
        components[0] = _difference(BETWEEN, between, between_df, _times(within, inverse), runs_df)
    total = None
    if between is not None:
        # Variance of one session value about its configuration, over all its set points.
        squares = sum(part.squares.between + part.squares.specific for part in parts)
        total = squares / (between_df + specific_df)
    reproduced = None
    if total is not None and within is not None:
        reproduced = sqrt(reproducibility_variance(total, within, 1 / inverse))
    return Budget(
        quantity=name,
        unit="" if table.scale == "ratio" else table.unit,
        scale=table.scale,
        trials=len(parts),
        sessions=sum(int(np.isfinite(p.table.values).any(axis=1).sum()) for p in parts),
        components=_with_parts(components, inverse),
        within_session=None if within is None else sqrt(within),
        repeatability=None if within is None else sqrt(within),
        reproducibility=reproduced,
        double_runs=1 / inverse,
        between_df=between_df,
        trends=tuple(
            trends(
                [part.analysed for part in parts],
                [part.table for part in parts],
                [part.squares.levels for part in parts],
                None if between is None else between / max(unit, 1.0),
                between_df,
            )
        ),
        loading=loading_found([part.table for part in parts], [part.layout for part in parts]),
    )


def _inverse_count(parts: Sequence[_Part]) -> float:
    """Mean of one over the double runs, over the cells that tell of sessions. [1]"""
    held = [part for part in parts if part.squares.between_df > 0] or list(parts)
    cells = [float(np.isfinite(part.table.values).sum()) for part in held]
    counts = [part.scatter.inverse_count for part in held]
    return float(np.average(counts, weights=np.maximum(cells, 1e-9)))


def _effective(square: float, spread: float) -> float:
    """Degrees of freedom of a sum over set points that differ in noise (Satterthwaite). [1]"""
    return square**2 / spread if spread > 0 else 0.0


def _mean(square: float, df: float) -> float | None:
    return square / df if df > 0 else None


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _plain(name: str, square: float | None, df: float) -> Component:
    if square is None:
        return Component(name, None, None, None, 0.0)
    ends = mean_square_interval(square, df)
    low, high = (None, None) if ends is None else (sqrt(ends[0]), sqrt(ends[1]))
    return Component(name, sqrt(square), low, high, df)


def _difference(
    name: str,
    first: float | None,
    first_df: float,
    second: float | None,
    second_df: float,
    factor: float = 1.0,
) -> Component:
    """The component that makes one mean square larger than another."""
    if first is None:
        return Component(name, None, None, None, 0.0)
    ends = difference_interval(first, first_df, second or 0.0, second_df)
    value = sqrt(max(first - (second or 0.0), 0.0) * factor)
    low, high = (None, None) if ends is None else (sqrt(e * factor) for e in ends)
    return Component(name, value, low, high, first_df)


def _with_parts(components: Sequence[Component], inverse: float) -> tuple[Component, ...]:
    """The components with what each contributes to the variance of a session value."""
    factors = {BETWEEN: 1.0, SPECIFIC: 1.0, DOUBLE_RUNS: inverse, PASSES: inverse / 2}
    given = [factors[c.name] * (c.value or 0.0) ** 2 for c in components]
    whole = sum(given)
    return tuple(
        Component(
            c.name,
            c.value,
            c.low,
            c.high,
            c.df,
            None if c.value is None or whole == 0 else share / whole,
        )
        for c, share in zip(components, given, strict=True)
    )
