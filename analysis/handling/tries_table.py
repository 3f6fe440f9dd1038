"""The table of the tries that were found, in the trial's own headings."""

from __future__ import annotations

import hashlib
import math
from typing import TYPE_CHECKING, Any

from slackwater.analysis.handling.found_try import FoundTry
from slackwater.analysis.intake.headings import split_heading
from slackwater.analysis.steady.run_rows import FORMULA_STARTS, written
from slackwater.analysis.wording.characters import utf_8
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.units.quantity import convert, show_number

if TYPE_CHECKING:
    from slackwater.analysis.handling.tries_result import TriesResult
    from slackwater.protocol.declared.trial import Trial


def columns(result: TriesResult) -> dict[str, str]:
    """The columns in order, with the unit of each; empty for texts and counts."""
    values: dict[str, str] = {}
    for each in result.wanted:
        values |= {v.name: v.unit for v in each.values} | {v.name: v.unit for v in each.own}
    by_hand = {
        name: result.trial.protocol.manoeuvres[each.name].measures[name].unit
        for each in result.wanted
        for name in each.by_hand
    }
    return {
        "session": "",
        "manoeuvre": "",
        "direction": "",
        "try": "",
        **values,
        **by_hand,
        "set_aside": "",
        "note": "",
    }


def headings(result: TriesResult) -> dict[str, str]:
    """The heading of each column, by name.

    Raises
    ------
    InputError
        When the trial gives several columns to one of them.
    """
    return {name: _heading(result.trial, name, unit) for name, unit in columns(result).items()}


def _heading(trial: Trial, name: str, unit: str) -> str:
    own = trial.columns.get(name, name)
    if not isinstance(own, str):
        message = f"the trial gives several columns to {name}, and a table of tries has one"
        fix = f"leave '{name}' out of the trial's columns"
        raise InputError([Finding("columns-several", Severity.ERROR, message, fix)])
    unit = trial.units.get(name, unit)
    return f"{own} [{unit}]" if unit and split_heading(own)[1] is None else own


def rows(result: TriesResult) -> list[list[str]]:
    """A row for each try, as text."""
    units = columns(result)
    return [
        [_cell(result, session, one, name, unit) for name, unit in units.items()]
        for session, one in result.tries
    ]


def _cell(result: TriesResult, session: str, one: FoundTry, name: str, unit: str) -> str:
    figure = one.values.get(name)
    if figure is not None and figure.value is not None:
        shown = split_heading(_heading(result.trial, name, unit))[1] or unit
        return _number(convert(figure.value, figure.unit, shown))
    ways: dict[str, str] = {means: word for word, means in result.trial.directions.items()}
    texts = {
        "session": session,
        "manoeuvre": one.manoeuvre,
        "direction": ways.get(one.direction, one.direction),
        "try": str(one.number),
        "set_aside": one.aside,
        "note": _note(result, one),
    }
    return texts.get(name, "")


def _note(result: TriesResult, one: FoundTry) -> str:
    """When it was, so that whoever was aboard knows which it is."""
    course = "" if one.course is None else f", course {one.course:.0f}"
    return f"from logs {result.clock(one.start)[11:]}{course}"


def _number(value: float) -> str:
    """Six digits: more than any instrument has."""
    return show_number(float(f"{value:.6g}")) if math.isfinite(value) else ""


def table_dict(result: TriesResult) -> dict[str, Any]:
    """The table with the hash of its bytes as comma-separated values."""
    text = written(headings(result).values(), rows(result))
    return {
        "sha256": hashlib.sha256(utf_8(text)).hexdigest(),
        "headings": list(headings(result).values()),
        "rows": rows(result),
    }


def to_csv(result: TriesResult) -> str:
    """The table of tries as comma-separated values.

    Raises
    ------
    InputError
        When a text would be taken for a formula by spreadsheet programs.
    """
    head = headings(result)
    for text in (*head.values(), *(session for session, _ in result.tries)):
        if text.startswith(FORMULA_STARTS):
            message = f"'{text}' would be taken for a formula by spreadsheet programs"
            raise InputError([Finding("cell-formula", Severity.ERROR, message, "rename it in the trial")])  # fmt: skip
    return written(head.values(), rows(result))
