"""The run table of what was cut, in the trial's own headings."""

from __future__ import annotations

import csv
import hashlib
import io
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
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


@dataclass(frozen=True, slots=True)
class TableColumn:
    """A column of the table: what it holds, its heading, the unit that is written, and of which engine it is."""

    name: str
    heading: str
    unit: str
    engine: int | None = None


def columns(result: CutResult) -> list[TableColumn]:
    """The columns in order; a quantity that the trial gives several has one for each engine.

    Raises
    ------
    InputError
        When the trial gives several columns to what is no reading of engines.
    """
    there = {name for _, run in result.runs for name in run.readings}
    measures = {name: unit for name, unit, _ in result.terms.measures if name in there}
    return [
        *_columns(result.trial, _BEFORE | {"set_point": result.terms.unit}),
        *_columns(result.trial, measures, several=True),
        *_columns(result.trial, _BEHIND),
    ]


_BEFORE = {
    "session": "",
    "set_point": "",
    "double_run": "",
    "direction": "",
    "start": "",
    "duration": "s",
}
_BEHIND = {"set_aside": "", "note": ""}


def _columns(
    trial: Trial, units: Mapping[str, str], *, several: bool = False
) -> Iterator[TableColumn]:
    for name, unit in units.items():
        own = trial.columns.get(name, name)
        if isinstance(own, str):
            yield _column(trial, name, own, unit)
        elif several:
            for engine, heading in enumerate(own):
                yield replace(_column(trial, name, heading, unit), engine=engine)
        else:
            raise InputError([_one_column(name)])


def _column(trial: Trial, name: str, own: str, unit: str) -> TableColumn:
    unit = trial.units.get(name, unit)
    inside = split_heading(own)[1]
    return TableColumn(name, f"{own} [{unit}]" if unit and inside is None else own, inside or unit)


def _one_column(name: str) -> Finding:
    return Finding(
        "columns-several",
        Severity.ERROR,
        f"the trial gives several columns to {name}, which a table cut from logs has one of",
        "only what engines read may have a column for each of them",
    )


def headings(result: CutResult) -> list[str]:
    """The headings in order."""
    return [column.heading for column in columns(result)]


def rows(result: CutResult) -> list[list[str]]:
    """A row for each run, as text."""
    there = columns(result)
    return [[_cell(result, session, run, each) for each in there] for session, run in result.runs]


def _cell(result: CutResult, session: str, run: CutRun, column: TableColumn) -> str:
    name = column.name
    if name in run.readings:
        reading = run.readings[name]
        value = reading.value if column.engine is None else reading.parts[column.engine]
        return _number(convert(value, reading.unit, column.unit))
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
        return _number(convert(run.set_point, result.terms.unit, column.unit))
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
        "sha256": hashlib.sha256(utf_8(written(headings(result), rows(result)))).hexdigest(),
        "headings": headings(result),
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
    for text in (*head, *(session for session, _ in result.runs)):
        if text.startswith(FORMULA_STARTS):
            message = f"'{text}' would be taken for a formula by spreadsheet programs"
            raise InputError(
                [Finding("cell-formula", Severity.ERROR, message, "rename it in the trial")]
            )
    return written(head, rows(result))


def written(head: Iterable[str], rows: Iterable[Sequence[str]]) -> str:
    """Headings and rows as comma-separated values."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue()
