"""The tables of the HTML report, as text ready to be written."""

from __future__ import annotations

from typing import Any

from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.report.trial import cross_check
from slackwater.analysis.report.trial import seal_words as sealing
from slackwater.analysis.report.trial import sentences as wording
from slackwater.analysis.report.trial.blocks import Block, Row, by_position
from slackwater.analysis.result.fields import NOISE_COMPONENTS
from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.numbers import (
    MISSING,
    common_decimals,
    fixed,
    unit_text,
    value_scale,
)
from slackwater.analysis.wording.words import quantity_title

MARKS = {
    "gain": "▲",
    "loss": "▼",
    "higher": "△",
    "lower": "▽",
    "equivalent": "◆",
    "within noise": "○",
    "untestable": "✕",
}


def _bracketed(name: str, unit: str) -> str:
    return f"{name} [{unit}]" if unit else name


def text_or_dash(value: Any) -> str:
    return MISSING if value in (None, "") else str(value)


def title_of(result: Result, configuration: str) -> str:
    return result.configurations.get(configuration, configuration)


def comparison(result: Result, block: Block) -> Sheet:
    unit, change = block.value.unit, block.change.unit
    headings: tuple[str, ...] = (
        "at",
        "verdict",
        _bracketed("change", change),
        _bracketed("interval", change),
        _bracketed("noise floor", change),
        _bracketed(title_of(result, block.baseline), unit),
        _bracketed(title_of(result, block.modified), unit),
        "p",
        "worth",
    )
    rows: tuple[tuple[str, ...], ...] = tuple(
        (
            text_or_dash(row.at),
            f"{MARKS[row.verdict]} {row.verdict}",
            block.change_text(row),
            block.interval_text(row),
            block.floor_text(row),
            block.mean_text(row, "baseline_mean"),
            block.mean_text(row, "modified_mean"),
            _p_text(row.p_value),
            f"{row.worth} {block.declared_text(row.worthwhile)}{block.change_unit}"
            if row.worth
            else "",
        )
        for row in block.rows
    )
    notes = [sealing.note(block), wording.interval_note(block), wording.sessions_note(block)]
    declared = {row.worthwhile for row in block.rows} - {None}
    if len(declared) == 1:
        notes.append(f"worthwhile difference {block.declared_text(*declared)}{block.change_unit}")
    if any(row.p_value is not None for row in block.rows):
        notes.append("p adjusted over the family, by the steps that decide")
    if not any(row[-1] for row in rows):
        headings, rows = headings[:-1], tuple(row[:-1] for row in rows)
    name = f"{block.title}, {wording.subject(result, block.baseline, block.modified)}"
    note = "; ".join(note for note in notes if note) + "."
    return Sheet(name, headings, rows, frozenset((0, 2, 3, 4, 5, 6, 7)), note, True)


def _p_text(p_value: float | None) -> str:
    if p_value is None:
        return MISSING
    return "< 0.001" if p_value < 0.001 else fixed(p_value, 3 if p_value < 0.1 else 2)


def points(result: Result, rows: list[Row]) -> Sheet:
    scale = value_scale(rows[0]["unit"])
    name = quantity_title(rows[0]["quantity"])
    headings = ("at", "configuration", _bracketed(name, scale.unit), "low", "high")
    lines = []
    for row in by_position(rows):
        width = scale.width(row["low"], row["high"])
        decimals = common_decimals([width])
        ends = [fixed(scale.of(row[key]), decimals) for key in ("mean", "low", "high")]
        counts = [text_or_dash(row["sessions"]), text_or_dash(row["double_runs"])]
        lines.append(
            (text_or_dash(row["at"]), title_of(result, row["configuration"]), *ends, *counts)
        )
    figures = frozenset((0, 2, 3, 4, 5, 6))
    return Sheet(name, (*headings, "sessions", "double runs"), tuple(lines), figures)


def session_values(result: Result, rows: list[Row], decimals: int | None) -> Sheet:
    scale = value_scale(rows[0]["unit"])
    places = list(dict.fromkeys(row["at"] for row in by_position(rows)))
    held = {(row["session"], row["at"]): row for row in rows}
    sessions = {row["session"]: row for row in rows}
    lines = []
    for session, first in sessions.items():
        found = [held.get((session, at)) for at in places]
        values = [
            MISSING if row is None else fixed(scale.of(row["value"]), decimals) for row in found
        ]
        head = (
            text_or_dash(session),
            title_of(result, first["configuration"]),
            text_or_dash(first["date"]),
        )
        lines.append((*head, *values))
    headings = ("session", "configuration", "date", *(text_or_dash(at) for at in places))
    name = _bracketed(quantity_title(rows[0]["quantity"]), scale.unit)
    return Sheet(name, headings, tuple(lines), frozenset(range(3, len(headings))), f"{name}.")


def current_runs(rows: list[Row]) -> Sheet:
    headings = ("session", "time", "set point", "direction")
    unit = unit_text(rows[0]["unit"])
    lines = tuple(
        (
            text_or_dash(row["session"]),
            text_or_dash(row["at"]).replace("T", " "),
            text_or_dash(row["set_point"]),
            text_or_dash(row["direction"]),
            fixed(row["value"], 2, signed=True),
        )
        for row in rows
    )
    name = _bracketed("current", unit)
    return Sheet(name, (*headings, name), lines, frozenset((1, 2, 4)))


def noise(result: Result) -> Sheet | None:
    """The parts of the noise as standard deviations, a row a quantity."""
    held: dict[str, dict[str, Row]] = {}
    for row in result.records("noise"):
        held.setdefault(row["quantity"], {})[row["component"]] = row
    if not held:
        return None
    lines = tuple(
        (
            quantity_title(quantity),
            *(_component(parts.get(name)) for name in NOISE_COMPONENTS),
            text_or_dash(next(iter(parts.values()))["sessions"]),
        )
        for quantity, parts in held.items()
    )
    headings = ("quantity", *NOISE_COMPONENTS, "sessions")
    note = "Standard deviations; in brackets the interval, where one is known."
    return Sheet("noise", headings, lines, frozenset((4,)), note)


def _component(row: Row | None) -> str:
    if row is None:
        return MISSING
    value, ends, unit = wording.noise_texts(row)
    if value == MISSING:
        return value
    return f"{value} {unit}" if ends == MISSING else f"{value} {unit} ({ends})"


def cross_checked(result: Result) -> Sheet | None:
    lines = cross_check.rows(result)
    if not lines:
        return None
    return Sheet("cross-check", cross_check.HEADINGS, tuple(lines), frozenset(range(2, 8)))


def set_aside(result: Result) -> Sheet | None:
    keys = ("row", "session", "set_point", "double_run", "direction", "reason")
    lines = tuple(
        tuple(text_or_dash(row[key]) for key in keys) for row in result.records("set_aside")
    )
    headings = tuple(key.replace("_", " ") for key in keys)
    return Sheet("runs set aside", headings, lines, frozenset((0, 2, 3))) if lines else None
