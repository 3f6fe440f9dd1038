"""The noise budget of past trials: where their scatter arises, and how well that is known.

For each quantity the session values of a trial are split into what all set points of a session
share, what a set point has in one session, what double runs and what single passes add. Several
trials are put together by their mean squares, each about its own configurations.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from math import sqrt

from slackwater.analysis.planning.noise_loading import LoadingFound, loading_found
from slackwater.analysis.planning.noise_sums import NoisePart, NoiseSums, noise_parts
from slackwater.analysis.planning.noise_totals import NoiseTotals, totals_of
from slackwater.analysis.planning.noise_trend import Trend, trends
from slackwater.analysis.result.analysed import Analysed
from slackwater.analysis.statistics.interlaboratory import LIMIT, reproducibility_variance
from slackwater.analysis.statistics.variance import component_interval, mean_square_interval

BETWEEN, SPECIFIC, DOUBLE_RUNS, PASSES = (
    "between sessions",
    "session by set point",
    "between double runs",
    "between passes",
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
    repeats : str
        What a session repeats, as a noun.
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
    repeats: str = "double run"

    def component(self, name: str) -> Component:
        """A component by its name."""
        return next(each for each in self.components if each.name == name)

    @property
    def limits(self) -> tuple[float | None, float | None]:
        """Repeatability and reproducibility limit: 2.8 standard deviations."""
        repeated = None if self.repeatability is None else LIMIT * self.repeatability
        reproduced = None if self.reproducibility is None else LIMIT * self.reproducibility
        return repeated, reproduced


def budgets(trials: Sequence[Analysed], quantity: str | None = None) -> list[Budget]:
    """The noise budget of every quantity that the trials give, or of one.

    Parameters
    ----------
    trials : sequence of Analysed
        In any order; those that repeat a configuration in no session add to the runs alone.
    quantity : str, optional
    """
    parts: dict[str, list[NoisePart]] = {}
    for analysed in trials:
        for part in noise_parts(analysed, quantity):
            parts.setdefault(part.table.quantity, []).append(part)
    return [_with_trends(budget_of([p.sums for p in mine]), mine) for mine in parts.values()]


def _with_trends(budget: Budget, parts: Sequence[NoisePart]) -> Budget:
    """The budget with what only the session values themselves tell."""
    totals = totals_of(part.sums for part in parts)
    between = _mean(totals.between, totals.between_df)
    return replace(
        budget,
        trends=tuple(
            trends(
                [part.analysed for part in parts],
                [part.table for part in parts],
                [part.levels for part in parts],
                None if between is None else between / max(totals.unit_share, 1.0),
                totals.between_df,
            )
        ),
        loading=loading_found([part.table for part in parts], [part.layout for part in parts]),
    )


def budget_of(sums: Iterable[NoiseSums]) -> Budget:
    """The budget of one quantity from what trials, one or more, tell of it.

    Parameters
    ----------
    sums : iterable of NoiseSums
        All of one quantity.
    """
    return budget_from(totals_of(sums))


def budget_from(totals: NoiseTotals) -> Budget:
    """The budget of one quantity from what trials tell of it together."""
    between_df, specific_df = totals.between_df, totals.specific_df
    scatter, inverse = totals.scatter, totals.inverse_count
    between = _mean(totals.between, between_df)
    specific = _mean(totals.specific, specific_df)
    runs = _mean(scatter.double_runs, scatter.double_runs_df)
    passes = _mean(scatter.passes, scatter.passes_df)
    runs_df = _effective(scatter.double_runs, scatter.double_runs_spread)
    passes_df = _effective(scatter.passes, scatter.passes_spread)

    within, within_df = (runs, runs_df) if runs is not None else (_times(passes, 0.5), passes_df)
    own_runs = _mean(totals.own_runs, specific_df)
    part = 1 / max(totals.unit_share, 1.0)
    components = [
        _difference(BETWEEN, between, between_df, specific, specific_df, part),
        _difference(SPECIFIC, specific, specific_df, own_runs, within_df),
        _difference(DOUBLE_RUNS, runs, runs_df, _times(passes, 0.5), passes_df),
        _plain(PASSES, passes, passes_df),
    ]
    if specific is None:  # a single set point: what is shared and what is its own are one
        components[0] = _difference(
            BETWEEN, between, between_df, _times(within, inverse), within_df
        )
    total = None
    if between is not None:
        # Variance of one session value about its configuration, over all its set points.
        total = (totals.between + totals.specific) / (between_df + specific_df)
    reproduced = None
    if total is not None and within is not None:
        reproduced = sqrt(reproducibility_variance(total, within, 1 / inverse))
    return Budget(
        quantity=totals.quantity,
        unit=totals.unit,
        scale=totals.scale,
        trials=totals.trials,
        sessions=totals.sessions,
        components=_with_parts(components, inverse),
        within_session=None if within is None else sqrt(within),
        repeatability=None if within is None else sqrt(within),
        reproducibility=reproduced,
        double_runs=1 / inverse,
        between_df=between_df,
        repeats=totals.repeats,
    )


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
    ends = component_interval(first, first_df, second or 0.0, second_df)
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
