"""The runs of each session in the order planned: from the printed table, or from the protocol."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.intake.headings import split_heading
from slackwater.analysis.steady.terms import PlannedLeg
from slackwater.protocol.files.reading import read_bytes
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.schedule.making import make_schedule, seats_of
from slackwater.protocol.schedule.planned import ScheduleError
from slackwater.protocol.units.quantity import QuantityError, convert, parse_number

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Trial

MOST = 1 << 22  # [bytes]
NEEDED = ("session", "set_point", "direction")

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

    Raises
    ------
    InputError
    """
    try:
        text = read_bytes(path, MOST).decode("utf-8-sig")
    except (OSError, ValueError) as error:
        raise _wrong(path, None, f"cannot be read: {error}") from None
    rows = list(csv.reader(io.StringIO(text)))
    head = [split_heading(cell) for cell in rows[0]] if rows else []
    names = [name.strip() for name, _ in head]
    for name in NEEDED:
        if name not in names:
            raise _wrong(path, 1, f"has no column '{name}'")
    unit = head[names.index("set_point")][1] or trial.protocol.set_point_unit
    found: Plans = {}
    for number, row in enumerate(rows[1:], start=2):
        if any(cell.strip() for cell in row):
            session, leg = _leg(path, number, dict(zip(names, row, strict=False)), unit, trial)
            found.setdefault(session, []).append(leg)
    return found


def _leg(
    path: str, number: int, row: dict[str, str], unit: str, trial: Trial
) -> tuple[str, PlannedLeg]:
    direction = row.get("direction", "").strip()
    direction = trial.directions.get(direction, direction)
    if direction not in ("out", "back", ""):
        raise _wrong(path, number, f"has the direction '{direction}'")
    try:
        value = convert(parse_number(row["set_point"]), unit, trial.protocol.set_point_unit)
    except QuantityError as error:
        raise _wrong(path, number, f"has no set point that can be read: {error}") from None
    point = min(trial.protocol.set_point_values, key=lambda each: abs(each - value))
    if abs(point - value) > 1e-6 * max(abs(point), 1.0):
        raise _wrong(path, number, f"has the set point {row['set_point']}, which is not planned")
    return row["session"].strip(), PlannedLeg(point, 0, direction)


def _wrong(path: str, line: int | None, message: str) -> InputError:
    where = f"line {line} of the plan" if line else "the plan"
    return InputError(
        [
            Finding(
                "plan-unreadable",
                Severity.ERROR,
                f"{where} {message}",
                "give the table that 'slackwater sheet TRIAL --output plan.csv' writes",
                Place(str(Path(path)), line),
            )
        ]
    )
