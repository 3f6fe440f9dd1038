"""One quantity of several boats: from what each showed to rows with their verdicts.

The one path of an analysis, with a boat in the place of a session: a table of values, differences
that are decided, and the rows that `verdict.rows` makes of any differences.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from slackwater.analysis.many.alignment import Place, Placed
from slackwater.analysis.many.boats import joined
from slackwater.analysis.many.outcome import Change
from slackwater.analysis.many.pool_result import (
    BoatChange,
    LeftOneOut,
    PooledPlace,
    PooledSweep,
)
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.pooled_differences import (
    LEAST_BOATS,
    PooledDifferences,
    mean_of_boats,
    next_boat,
)
from slackwater.analysis.statistics.random_effects import (
    Method,
    Pooled,
    heterogeneity_interval,
    pool,
)
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.decisions import natural
from slackwater.analysis.verdict.rows import rows_of
from slackwater.analysis.verdict.terms import Terms
from slackwater.analysis.verdict.verdicts import Word
from slackwater.analysis.wording.words import count_of

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Together:
    """What the boats showed in one quantity, and on what terms it is judged.

    Attributes
    ----------
    first : Change
        One of the changes, for what they have in common.
    key : str
    better : str or None
    places : tuple of Place
        `shown` is by trial.
    boats : mapping
        Numbers of the trials of each boat.
    sides : (str, str)
        Ids of baseline and modified.
    sessions : (int, int)
        Behind all trials, of either configuration.
    terms : Terms
    method : Method
    """

    first: Change
    key: str
    better: str | None
    places: tuple[Place, ...]
    boats: Mapping[str, Sequence[int]]
    sides: tuple[str, str]
    sessions: tuple[int, int]
    terms: Terms
    method: Method

    def of_boat(self, place: Place, boat: str) -> Placed | None:
        """What a boat showed at a place, her trials joined."""
        shown = [one for n in self.boats[boat] if (one := place.shown[n]) is not None]
        return joined(shown) if shown else None


def pooled_sweep(asked: Together, *, leave_out: bool) -> PooledSweep:
    """One quantity put together and judged.

    Parameters
    ----------
    asked : Together
    leave_out : bool
        Also judge the mean without each of the boats.
    """
    shown = [[asked.of_boat(place, boat) for boat in asked.boats] for place in asked.places]
    found = _pool(shown, asked)
    means = _rows(found, asked, of_next=False)
    nexts = _rows(found, asked, of_next=True)
    low, high = heterogeneity_interval(found.estimates, found.variances)
    without = _without(shown, asked) if leave_out else {}
    return PooledSweep(
        key=asked.key,
        quantity=asked.first.quantity,
        kind=asked.first.kind,
        deciding=asked.terms.deciding,
        places=tuple(
            PooledPlace(
                mean=means[p],
                next_boat=nexts[p],
                boats=tuple(_boats(asked, shown[p], found.weights[p], place)),
                heterogeneity=_told(found, p, found.heterogeneity[p]),
                heterogeneity_low=_told(found, p, low[p]),
                heterogeneity_high=_told(found, p, high[p]),
                q=float(found.q[p]) if found.count[p] > 1 else None,
                q_p_value=float(found.q_p_value[p]) if found.count[p] > 1 else None,
                inconsistency=float(found.inconsistency[p]) if found.count[p] > 1 else None,
                without=tuple(
                    LeftOneOut(
                        boat=boat,
                        change=row.change,
                        low=row.low,
                        high=row.high,
                        verdict=row.verdict,
                    )
                    for boat, rows in without.items()
                    if (row := rows[p]).change is not None
                    and row.low is not None
                    and row.high is not None
                    and shown[p][list(asked.boats).index(boat)] is not None
                ),
            )
            for p, place in enumerate(asked.places)
        ),
    )


def _told(found: Pooled, p: int, variance: float) -> float | None:
    """A variance between boats as a standard deviation; None where nothing tells it."""
    return sqrt(float(variance)) if found.count[p] > 1 else None


def _pool(shown: Sequence[Sequence[Placed | None]], asked: Together) -> Pooled:
    def array(name: str) -> Array:
        return np.array(
            [[np.nan if one is None else getattr(one, name) for one in row] for row in shown],
            dtype=float,
        )

    df = np.where(np.isfinite(array("df")), array("df"), 1.0)
    return pool(array("value"), array("standard_error") ** 2, df, asked.method)


def _decided(found: Pooled, asked: Together, *, of_next: bool) -> PooledDifferences:
    decide = next_boat if of_next else mean_of_boats
    return decide(found, confidence=asked.terms.confidence, simultaneous=asked.terms.simultaneous)


def _rows(found: Pooled, asked: Together, *, of_next: bool) -> list[Compared]:
    differences = _decided(found, asked, of_next=of_next)
    table = _table(found, asked)
    sides = _BoatSides(asked, table, found.count, LEAST_BOATS if of_next else 2)
    about = "the next boat" if of_next else "the mean over boats like these"

    def holds_for(p: int) -> str:
        return f"; of {about}, from {count_of(int(found.count[p]), 'boat')}"

    return rows_of(table, differences, sides, asked.terms, {}, holds_for)


def _table(found: Pooled, asked: Together) -> SessionValues:
    """The boats' changes as a table of values, a boat in the place of a session."""
    first, values = asked.first, found.estimates.T
    points = len(asked.places)
    return SessionValues(
        quantity=first.quantity,
        unit=first.unit,
        scale=first.scale,
        better=asked.better,
        sessions=tuple(asked.boats),
        positions=np.array(
            [np.nan if place.position is None else place.position for place in asked.places]
        ),
        labels=tuple(place.label for place in asked.places),
        values=np.exp(values) if first.scale == "ratio" else values,
        run_variance=found.variances.T,
        double_runs=np.ones(values.shape, dtype=int),
        instrument_variance=np.zeros(points),
        kind=first.kind,
    )


class _BoatSides:
    """How rows of a pool begin: it has no mean of either configuration, boats being unlike."""

    scattering = "boats"

    def __init__(
        self, asked: Together, table: SessionValues, count: NDArray[np.int_], least: int
    ) -> None:
        self.asked, self.table, self.count, self.least = asked, table, count, least

    def missing(self, p: int) -> str:
        """Why there is nothing to say at a place."""
        boats = count_of(int(self.count[p]), "boat")
        if self.least == LEAST_BOATS:
            return (
                f"with {boats} here, nothing tells how much the next one would differ from them; "
                "three are needed at least"
            )
        return f"{boats} here, and a pool takes two at least; see the trial itself"

    def untestable(self, p: int, terms: Terms, reason: str) -> Compared:
        """The row at one place before, or without, any interval."""
        table, place = self.table, self.asked.places[p]
        return Compared(
            baseline=self.asked.sides[0],
            modified=self.asked.sides[1],
            quantity=table.quantity,
            at=place.label,
            position=place.position,
            baseline_mean=None,
            modified_mean=None,
            unit=table.unit,
            scale=table.scale,
            better=table.better,
            sessions_baseline=self.asked.sessions[0],
            sessions_modified=self.asked.sessions[1],
            confidence=terms.confidence,
            simultaneous=terms.simultaneous,
            worthwhile=terms.worthwhile_at(p),
            deciding=terms.deciding,
            verdict=Word.UNTESTABLE,
            reason=reason,
        )


def _boats(
    asked: Together, shown: Sequence[Placed | None], weights: Array, place: Place
) -> list[BoatChange]:
    found = []
    for (boat, numbers), one, weight in zip(asked.boats.items(), shown, weights, strict=True):
        if one is None:
            continue
        half = float(stdtrit(one.df, 0.975)) * one.standard_error
        scale = asked.first.scale
        found.append(
            BoatChange(
                boat=boat,
                trials=sum(place.shown[n] is not None for n in numbers),
                change=natural(one.value, scale),
                low=natural(one.value - half, scale),
                high=natural(one.value + half, scale),
                weight=float(weight),
            )
        )
    return found


def _without(
    shown: Sequence[Sequence[Placed | None]], asked: Together
) -> dict[str, list[Compared]]:
    """The rows of the mean without each boat."""
    found = {}
    for b, boat in enumerate(asked.boats):
        rest = [[None if i == b else one for i, one in enumerate(row)] for row in shown]
        found[boat] = _rows(_pool(rest, asked), asked, of_next=False)
    return found
