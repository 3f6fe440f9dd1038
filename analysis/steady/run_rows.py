"""The run table of what was cut, in the trial's own headings."""

from __future__ import annotations

import csv
import hashlib
import io
import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from slackwater.analysis.intake.headings import split_heading
from slackwater.analysis.steady.other_water import note_of
from slackwater.analysis.wording.characters import utf_8
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.units.quantity import convert, show_number

if TYPE_CHECKING:
    from slackwater.analysis.steady.cut_result import CutResult
    from slackwater.analysis.steady.cutting import CutRun
    from slackwater.protocol.declared.trial import Trial

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def columns(result: CutResult) -> dict[str, str]:
    """The columns in order, with the unit of each; empty for texts and counts."""
    there = {name for _, run in result.runs for name in run.readings}
    measures = {name: unit for name, unit, _ in result.terms.measures if name in there}
    return {
        "session": "",
        "set_point": result.terms.unit,
        "double_run": "",
        "direction": "",
        "start": "",
        "duration": "s",
        **measures,
        "set_aside": "",
        "note": "",
    }


def headings(result: CutResult) -> dict[str, str]:
    """The heading of each column, by name.

    Raises
    ------
    InputError
        When the trial gives several columns to a quantity: a log gives it one.
    """
    return {name: _heading(result.trial, name, unit) for name, unit in columns(result).items()}


def _heading(trial: Trial, name: str, unit: str) -> str:
    own = trial.columns.get(name, name)
    if not isinstance(own, str):
        raise InputError(
            [
                Finding(
                    "columns-several",
                    Severity.ERROR,
                    f"the trial gives several columns to {name}, and a table cut from logs has one",
                    f"leave '{name}' out of the trial's columns; readings of several engines are joined as "
                    "the protocol says",
                )
            ]
        )
    unit = trial.units.get(name, unit)
    return f"{own} [{unit}]" if unit and split_heading(own)[1] is None else own


def rows(result: CutResult) -> list[list[str]]:
    """A row for each run, as text."""
    units = columns(result)
    return [
        [_cell(result, session, run, name, unit) for name, unit in units.items()]
        for session, run in result.runs
    ]


def _cell(result: CutResult, session: str, run: CutRun, name: str, unit: str) -> str:
    if name in run.readings:
        written = split_heading(_heading(result.trial, name, unit))[1] or unit
        return _number(convert(run.readings[name].value, run.readings[name].unit, written))
    texts = {
        "session": session,
        "double_run": str(run.double_run) if run.double_run else "",
        "direction": _direction(result.trial, run.direction),
        "start": result.clock(run.start),
        "duration": _number(run.duration),
        "set_aside": run.set_aside,
        "note": note_of(run) if run.by_order else "",
    }
    if name == "set_point":
        written = split_heading(_heading(result.trial, name, unit))[1] or unit
        return _number(convert(run.set_point, unit, written))
    return texts.get(name, "")


def _direction(trial: Trial, direction: str) -> str:
    """The trial's own word for a direction."""
    return next((word for word, means in trial.directions.items() if means == direction), direction)


def _number(value: float) -> str:
    """Six digits: more than any instrument has."""
    return show_number(float(f"{value:.6g}")) if math.isfinite(value) else ""


def table_dict(result: CutResult) -> dict[str, Any]:
    """The table with the hash of its bytes as comma-separated values, as a provenance holds it."""
    return {
        "sha256": hashlib.sha256(
            utf_8(written(headings(result).values(), rows(result)))
        ).hexdigest(),
        "headings": list(headings(result).values()),
        "rows": rows(result),
    }


def to_csv(result: CutResult) -> str:
    """The run table as comma-separated values.

    Raises
    ------
    InputError
        When a text would be taken for a formula by spreadsheet programs.
    """
    head = headings(result)
    for text in (*head.values(), *(session for session, _ in result.runs)):
        if text.startswith(FORMULA_STARTS):
            message = f"'{text}' would be taken for a formula by spreadsheet programs"
            raise InputError(
                [Finding("cell-formula", Severity.ERROR, message, "rename it in the trial")]
            )
    return written(head.values(), rows(result))


def written(head: Iterable[str], rows: Iterable[Sequence[str]]) -> str:
    """Headings and rows as comma-separated values."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue()
