"""Tries to session values: a value of a manoeuvre is a quantity at one position, told once a session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.tries import Levels, levels_of

if TYPE_CHECKING:
    from slackwater.analysis.intake.tries import Try, TryTable
    from slackwater.protocol.catalogue.measures import Measure
    from slackwater.protocol.declared.manoeuvres import Manoeuvre
    from slackwater.protocol.declared.trial import Trial

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TriedFigure:
    """One value of a manoeuvre, from tries to session values.

    Attributes
    ----------
    name, manoeuvre : str
        Of the value, and of what it is read of.
    declared : Manoeuvre
    measure : Measure
    tries : tuple of Try
        Those that count and in which it was read.
    levels : Levels
        On the scale of the analysis.
    table : SessionValues
        What is judged.
    lacking : tuple of (session, direction)
        Sessions with tries one way and none the other, and the way that is lacking.
    """

    name: str
    manoeuvre: str
    declared: Manoeuvre
    measure: Measure
    tries: tuple[Try, ...]
    levels: Levels
    table: SessionValues
    lacking: tuple[tuple[str, str], ...] = ()

    @property
    def uneven(self) -> tuple[str, ...]:
        """Sessions with more tries one way than the other."""
        counts = self.levels.counts
        differ = (counts > 0).all(axis=1) & (counts != counts[:, :1]).any(axis=1)
        return tuple(self.table.sessions[s] for s in np.flatnonzero(differ))


@dataclass(frozen=True, slots=True)
class Tried:
    """All manoeuvres of a trial."""

    read: TryTable
    figures: tuple[TriedFigure, ...]

    @property
    def tables(self) -> dict[str, SessionValues]:
        """What is judged, by key."""
        return {each.table.key: each.table for each in self.figures}


def tried_of(trial: Trial, read: TryTable, sessions: tuple[str, ...]) -> Tried:
    """Put the tries of a trial into tables of session values.

    Parameters
    ----------
    trial : Trial
    read : TryTable
    sessions : tuple of str
        Those with runs, tries or scores that are used, in the order run.
    """
    trend = trial.protocol.analysis.trend == "linear"
    figures = []
    for key, manoeuvre in trial.protocol.manoeuvres.items():
        for name, measure in manoeuvre.measures.items():
            mine = read.of(name)
            if mine:
                figures.append(_figure(name, key, manoeuvre, measure, mine, sessions, trend=trend))
    return Tried(read, tuple(figures))


def _figure(
    name: str,
    key: str,
    manoeuvre: Manoeuvre,
    measure: Measure,
    mine: Sequence[Try],
    sessions: tuple[str, ...],
    *,
    trend: bool,
) -> TriedFigure:
    values = np.array([each.values[name] for each in mine])
    levels = levels_of(
        np.log(values) if measure.scale == "ratio" else values,
        np.array([sessions.index(each.session) for each in mine]),
        np.array([manoeuvre.ways.index(each.direction) for each in mine]),
        len(sessions),
        len(manoeuvre.ways),
    )
    table = table_of(name, manoeuvre, measure, levels, sessions)
    if trend:
        from slackwater.analysis.sweep.corrections import with_trend

        table = with_trend(table)
    lacking = tuple(
        (sessions[s], manoeuvre.ways[d])
        for s, d in zip(*np.nonzero(levels.counts == 0), strict=True)
        if levels.counts[s].any()
    )
    return TriedFigure(name, key, manoeuvre, measure, tuple(mine), levels, table, lacking)


def table_of(
    name: str, manoeuvre: Manoeuvre, measure: Measure, levels: Levels, sessions: tuple[str, ...]
) -> SessionValues:
    """The levels as the one table that every quantity goes through.

    Parameters
    ----------
    name : str
        Of the value.
    manoeuvre : Manoeuvre
    measure : Measure
    levels : Levels
        On the scale of the analysis.
    sessions : tuple of str
    """
    values, variance = levels.values, levels.variance
    if measure.scale == "ratio":
        values = np.exp(values)
        variance = variance * values**2
    whole = np.isfinite(values)
    return SessionValues(
        quantity=name,
        unit=measure.unit,
        scale=measure.scale,
        better=measure.better,
        sessions=sessions,
        positions=np.array([np.nan]),
        labels=(manoeuvre.label_of(name),),
        values=values[:, None],
        run_variance=variance[:, None],
        double_runs=np.where(whole, levels.counts.sum(axis=1), 0)[:, None],
        instrument_variance=np.zeros(1),
        untestable="" if whole.any() else _one_way_only(manoeuvre),
        kind="whole sweep",
    )


def _one_way_only(manoeuvre: Manoeuvre) -> str:
    listed = " and ".join(manoeuvre.ways)
    return (
        f"no session has a try of each direction ({listed}), and what wind, current or the turn of the "
        "propeller does one way stays in; try it both ways"
    )
