"""The sums of many trials added up, one trial at a time: nothing grows with the number of trials."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from slackwater.analysis.planning.noise_sums import NoiseSums
from slackwater.analysis.planning.run_deviations import Scatter

_LEAST = 1e-9  # weight of a trial without a cell, so that a mean over such alone has one


@dataclass(slots=True)
class ScatterTotals:
    """The scatter within cells of several trials.

    Attributes
    ----------
    double_runs, double_runs_df, double_runs_spread, passes, passes_df, passes_spread : float
        Sums of what `Scatter` says of each.
    """

    double_runs: float = 0.0
    double_runs_df: float = 0.0
    double_runs_spread: float = 0.0
    passes: float = 0.0
    passes_df: float = 0.0
    passes_spread: float = 0.0

    def add(self, one: Scatter) -> None:
        """One trial more."""
        self.double_runs += one.double_runs
        self.double_runs_df += one.double_runs_df
        self.double_runs_spread += one.double_runs_spread
        self.passes += one.passes
        self.passes_df += one.passes_df
        self.passes_spread += one.passes_spread


@dataclass(slots=True)
class NoiseTotals:
    """What several trials tell of the noise of one quantity.

    Attributes
    ----------
    quantity, unit, scale : str
    trials, sessions : int
    between, between_df, specific, specific_df : float
        Sums of what `NoiseSums` says of each.
    unit_shares : float
        Sum of `unit_share` times `between_df`.
    own_runs : float
        Sum of `runs` times `specific_df`.
    scatter : ScatterTotals
        Of the trials that repeat double runs, or of all where none does: passes and double runs are
        set against each other, from the same trials where possible.
    repeats : str
        What a session repeats, as a noun.
    """

    quantity: str
    unit: str
    scale: str
    repeats: str = "double run"
    trials: int = 0
    sessions: int = 0
    between: float = 0.0
    between_df: float = 0.0
    specific: float = 0.0
    specific_df: float = 0.0
    unit_shares: float = 0.0
    own_runs: float = 0.0
    _all: ScatterTotals = field(default_factory=ScatterTotals)
    _telling: ScatterTotals = field(default_factory=ScatterTotals)
    _counts: list[float] = field(default_factory=lambda: [0.0, 0.0])
    _counts_told: list[float] = field(default_factory=lambda: [0.0, 0.0])

    def add(self, one: NoiseSums) -> None:
        """One trial more, of the same quantity."""
        self.trials += 1
        self.sessions += one.sessions
        self.between += one.between
        self.between_df += one.between_df
        self.specific += one.specific
        self.specific_df += one.specific_df
        self.unit_shares += one.unit_share * one.between_df
        self.own_runs += one.runs * one.specific_df
        self._all.add(one.scatter)
        if one.scatter.double_runs_df > 0:
            self._telling.add(one.scatter)
        cells = max(float(one.cells), _LEAST)
        for counts in (self._counts, *((self._counts_told,) if one.between_df > 0 else ())):
            counts[0] += cells
            counts[1] += cells * one.scatter.inverse_count

    @property
    def scatter(self) -> ScatterTotals:
        """Within cells; see the class."""
        return self._telling if self._telling.double_runs_df > 0 else self._all

    @property
    def unit_share(self) -> float:
        """What the variance shared by a session is multiplied with in its mean square. [1]"""
        return self.unit_shares / max(self.between_df, 1.0)

    @property
    def inverse_count(self) -> float:
        """Mean of one over the double runs, over the cells that tell of sessions. [1]"""
        cells, counted = self._counts_told if self._counts_told[0] > 0 else self._counts
        return counted / cells


def totals_of(sums: Iterable[NoiseSums]) -> NoiseTotals:
    """The sums of trials, one or more, added up.

    Parameters
    ----------
    sums : iterable of NoiseSums
        All of one quantity, one at least.
    """
    rest = iter(sums)
    first = next(rest)
    totals = NoiseTotals(first.quantity, first.unit, first.scale, first.repeats)
    totals.add(first)
    for one in rest:
        totals.add(one)
    return totals
