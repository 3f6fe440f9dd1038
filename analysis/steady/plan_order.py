"""The runs of each session in the order planned: from the printed table, or from the protocol."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slackwater.analysis.intake.headings import COLUMNS
from slackwater.analysis.intake.tables import read_table
from slackwater.analysis.steady.terms import PlannedLeg
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.schedule.making import make_schedule, seats_of
from slackwater.protocol.schedule.planned import ScheduleError

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial

Plans = dict[str, list[PlannedLeg]]


def plan_of_protocol(trial: Trial) -> Plans:
    """The order that the protocol itself tells; empty where it leaves it to chance."""
    protocol = trial.protocol
    if protocol.runs.set_point_order == "shuffled" and len(protocol.set_point_values) > 1:
        return {}
    try:
        schedule = make_schedule(protocol, 0, None, seats_of("A" * len(trial.sessions)))
    except ScheduleError:
        return {}
    return {
        session.id: [
            PlannedLeg(run.set_point, run.double_run, run.direction) for run in planned.runs
        ]
        for session, planned in zip(trial.sessions, schedule.sessions, strict=False)
    }


def read_plan(path: str, trial: Trial) -> Plans:
    """The order of a table as `slackwater sheet` writes it, filled in or not.

    It is read as every run table is, but for what was measured.

    Raises
    ------
    InputError
    """
    protocol = trial.protocol
    table = read_table(
        path,
        measures={},
        set_point_measure=protocol.set_point_measure,
        set_point_unit=protocol.set_point_unit,
        sessions={session.id: session.configuration for session in trial.sessions},
        units=trial.units,
        columns={name: own for name, own in trial.columns.items() if name in COLUMNS},
        directions=protocol.runs.directions,
        set_points=protocol.set_point_values,
        direction_words=trial.directions,
        dates=trial.dates,
        invented=trial.invented,
    )
    names = ("row", "session", "set_point", "direction")
    found: Plans = {}
    for row, session, value, direction in zip(*(table.columns[n] for n in names), strict=True):
        leg = PlannedLeg(_planned(path, row, value, protocol), 0, direction)
        found.setdefault(session, []).append(leg)
    return found


def _planned(path: str, row: int, value: float, protocol: Protocol) -> float:
    """The set point of the protocol that a row has."""
    point = min(protocol.set_point_values, key=lambda each: abs(each - value))
    if abs(point - value) <= 1e-6 * max(abs(point), 1.0):
        return point
    told = f"row {row} has the set point {value:g} {protocol.set_point_unit}, which is not planned"
    fix = "give the table that 'slackwater sheet TRIAL --output plan.csv' writes"
    raise InputError([Finding("plan-unfit", Severity.ERROR, told, fix, Place(path, row))])
