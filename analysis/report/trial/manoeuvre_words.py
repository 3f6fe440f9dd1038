"""What was read of manoeuvres, ready to be written: how tries scatter, how directions differ, every try."""

from __future__ import annotations

from typing import Any

from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.numbers import (
    MISSING,
    change_scale,
    decimals_for,
    fixed,
    uncertainty_text,
    with_unit,
)
from slackwater.protocol.declared.manoeuvres import WAY_WORDS, WAYS

TITLE = "What was tried"
CURRENT = {
    "averaged": "a steady current averages out over both directions",
    "drift_taken_out": "the values are cleared of the drift of the water, as the protocol declares",
    "none": "whatever the current and the wind did to a try is still in it",
}


def used_tries(result: Result, quantity: str) -> list[dict[str, Any]]:
    """The tries of a value that count."""
    return [
        row
        for row in result.records("tries")
        if row["quantity"] == quantity and not row["set_aside"] and row["value"] is not None
    ]


def sentences(result: Result) -> list[str]:
    """A sentence for each manoeuvre, and for each value that needs one."""
    told: dict[str, str] = {}
    for row in result.records("manoeuvres"):
        told.setdefault(row["manoeuvre"], _how(result, row))
    return [*told.values(), *_untestable(result)]


def _how(result: Result, row: dict[str, Any]) -> str:
    ways = WAY_WORDS[row["directions"]]
    text = f"{row['manoeuvre_title']}: from '{row['start']}' to '{row['end']}', {ways}; {CURRENT[row['current']]}"
    aside = row["set_aside"] or 0
    if aside:
        reasons = dict.fromkeys(
            each["set_aside"]
            for each in result.records("tries")
            if each["manoeuvre"] == row["manoeuvre"] and each["set_aside"]
        )
        text += f"; {aside} {'try' if aside == 1 else 'tries'} set aside ({'; '.join(reasons)})"
    return f"{text}."


def _untestable(result: Result) -> list[str]:
    return [
        f"{row['title']}: untestable; {row['reason']}."
        for row in result.records("manoeuvres")
        if row["reason"]
    ]


def values(result: Result) -> Sheet | None:
    """A row a value: its tries, how they scatter, how the directions differ; None without manoeuvres."""
    rows = tuple(
        (
            str(row["title"]),
            str(row["manoeuvre_title"]),
            str(row["tries"]),
            str(row["sessions"]),
            _size(row, row["scatter"]),
            _apart(row),
        )
        for row in result.records("manoeuvres")
    )
    if not rows:
        return None
    headings = ("value", "manoeuvre", "tries", "sessions", "scatter", "directions")
    note = (
        "Scatter: standard deviation of a try about its session and direction. Directions: the second "
        "against the first. Tries of one session make one value; sessions decide."
    )
    return Sheet("what tries show", headings, rows, frozenset(range(2, 5)), note)


def _size(row: dict[str, Any], value: float | None) -> str:
    if value is None:
        return MISSING
    scale = change_scale("ratio" if not row["unit"] else "difference", row["unit"])
    return with_unit(uncertainty_text(scale.of(value)), scale.unit)


def _apart(row: dict[str, Any]) -> str:
    """How much one direction is above the other, to a digit of what tries scatter by."""
    value, ways = row["direction_difference"], WAYS[row["directions"]]
    if value is None or len(ways) < 2:
        return MISSING
    scale = change_scale("ratio" if not row["unit"] else "difference", row["unit"])
    spread = scale.of(row["scatter"] or abs(value) or 1.0)
    decimals = decimals_for(spread, lean=True)
    size = with_unit(fixed(scale.of(value), decimals, signed=True), scale.unit)
    return f"{ways[1]} {size} against {ways[0]}"
