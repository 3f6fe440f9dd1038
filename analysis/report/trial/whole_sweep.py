"""The sweep as a whole, ready to be written: its figures, what they rest on, where it holds."""

from __future__ import annotations

from collections.abc import Iterable

from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.report.trial.blocks import Block, Row
from slackwater.analysis.report.trial.tables import MARKS, text_or_dash, title_of
from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.numbers import (
    MISSING,
    NBSP,
    decimals_to_match,
    fixed,
    range_text,
    unit_text,
    value_scale,
)
from slackwater.analysis.wording.words import listed, quantity_title

# Told in a table and not in a headline: the same as the economy there, or its other side.
_ECONOMIES = ("economy", "distance_per_energy")
_BESIDE_ECONOMY = ("fuel_flow", "electric_power", "range", "engine_speed")
#: The same figure as the speed at one engine speed, in other words.
_AS_SPEED = ("advance", "slip")
_ALONG = "Between these places as well, which asks more than at each of them"
_STRETCHES_AT_MOST = 2
_PER_POINT = "speed for a point of slip"


def headlined(found: Iterable[Block]) -> tuple[Block, ...]:
    """The blocks whose verdicts open a report; the others stand in its tables."""
    found = tuple(found)
    economy = any(each.at_equal_speed and each.quantity in _ECONOMIES for each in found)
    speed = any(each.quantity == "speed" and not each.is_figure for each in found)
    kept = tuple(
        each
        for each in found
        if each.rows[0].deciding
        or (
            (not each.is_figure or each.beside)
            and not (economy and each.at_equal_speed and each.quantity in _BESIDE_ECONOMY)
            and not (speed and each.quantity in _AS_SPEED)
        )
    )
    return tuple(sorted(kept or found, key=lambda each: not each.rows[0].deciding))


def figures_of(found: Iterable[Block]) -> tuple[Block, ...]:
    """The blocks that are one figure each, where they stand beside curves."""
    found = tuple(found)
    figures = tuple(each for each in found if each.is_figure)
    if len(figures) == len(found):
        return ()
    return tuple(each for each in figures if not each.beside)


def curves_of(found: Iterable[Block]) -> tuple[Block, ...]:
    """The blocks that get a section of their own."""
    found = tuple(found)
    apart = figures_of(found)
    return tuple(each for each in found if each not in apart)


def _with(text: str, unit: str) -> str:
    return text if text == MISSING or not unit else f"{text}{NBSP}{unit}"


def cells(block: Block) -> tuple[str, ...]:
    """One figure as a row: its name, both values, change, interval, noise floor, verdict."""
    row, unit = block.rows[0], block.value.unit
    change = block.change.unit.replace("percentage points", "points")
    return (
        block.title,
        _with(block.mean_text(row, "baseline_mean"), unit),
        _with(block.mean_text(row, "modified_mean"), unit),
        _with(block.change_text(row), change),
        _with(block.interval_text(row), change),
        _with(block.floor_text(row), change),
        row.verdict,
    )


def reasons(found: Iterable[Block]) -> list[str]:
    """Why figures are untestable, each reason once."""
    told: dict[str, list[str]] = {}
    for block in figures_of(found):
        row = block.rows[0]
        if (row.verdict) == "untestable":
            told.setdefault(row.reason or "no reason was recorded", []).append(block.title)
    sentences = []
    for reason, titles in told.items():
        names = ", ".join(titles)
        sentences.append(f"{names[:1].upper()}{names[1:]}: untestable; {reason}.")
    return sentences


def figures(result: Result, found: Iterable[Block]) -> list[Sheet]:
    """The figures of each pair of configurations as a table."""
    pairs: dict[tuple[str, str], list[tuple[str, ...]]] = {}
    for block in figures_of(found):
        row = cells(block)
        marked = (*row[:-1], f"{MARKS[row[-1]]} {row[-1]}")
        pairs.setdefault((block.baseline, block.modified), []).append(marked)
    sheets = []
    for (baseline, modified), rows in pairs.items():
        before, after = title_of(result, baseline), title_of(result, modified)
        headings = ("figure", before, after, "change", "interval", "noise floor", "verdict")
        name = f"the sweep as a whole, {after} against {before}"
        note = "Each interval holds for its figure by itself."
        sheets.append(Sheet(name, headings, tuple(rows), frozenset(range(1, 6)), note))
    return sheets


def fact_sentences(result: Result) -> list[str]:
    """Declared figures and those that follow, a sentence each."""
    found = []
    for row in result.records("figures"):
        if row["name"] == _PER_POINT:
            continue
        unit = unit_text(row["unit"])
        low, high = row["low"], row["high"]
        if low is not None and high is not None:
            low, high = sorted((low, high))
            size = f"{_short(low)} to {_short(high)}"
            value = row["value"] if row["name"].startswith("pay-back") else None
            if value is not None:
                size = f"{_short(value)} ({size})"
        elif low is not None:
            size = f"{_short(row['value'])} ({_short(low)} or more)"
        else:
            size = _short(row["value"])
        name = row["name"]
        name = f"{name[:1].upper()}{name[1:]}"
        found.append(f"{name}: {_with(size, unit)}; {row['note']}.")
    return found


def _short(value: float | None) -> str:
    return (
        MISSING if value is None else fixed(value, None if abs(value) >= 1000 else _places(value))
    )


def _places(value: float) -> int:
    return max(decimals_to_match(abs(value)) + 1, 0) if value else 0


def slip(result: Result) -> Sheet | None:
    """What a point of slip is worth along the sweep."""
    rows = [row for row in result.records("figures") if row["name"] == _PER_POINT]
    if not rows:
        return None
    unit = unit_text(rows[0]["unit"])
    lines = tuple(
        (
            text_or_dash(row["at"]),
            title_of(result, row["configuration"]),
            fixed(row["value"], 2),
        )
        for row in rows
    )
    headings = ("at", "configuration", f"speed for a point of slip [{unit}]")
    note = "One percentage point less slip would add so much speed at that engine speed."
    return Sheet("what a point of slip is worth", headings, lines, frozenset((0, 2)), note)


def corrections(result: Result) -> Sheet | None:
    """What the declared corrections took out of the differences: a row each, over the sweep."""
    groups: dict[tuple[str, ...], list[Row]] = {}
    for row in result.records("corrections"):
        key = (row["of"], row["quantity"], row["baseline"], row["modified"])
        groups.setdefault(key, []).append(row)
    if not groups:
        return None
    scale = value_scale("")
    lines = []
    for (of, quantity, baseline, modified), rows in groups.items():
        errors = [each for row in rows if (each := scale.of(row["uncertainty"]))]
        digits = decimals_to_match(max(errors)) if errors else 2
        sizes = sorted(scale.of(row["size"]) or 0.0 for row in rows)
        left = sorted(scale.of(row["change"]) or 0.0 for row in rows if row["change"] is not None)
        lines.append(
            (
                of.replace("_", " "),
                quantity_title(quantity),
                f"{title_of(result, modified)} against {title_of(result, baseline)}",
                range_text(sizes[0], sizes[-1], digits),
                f"{fixed(max(errors), digits)}" if errors else MISSING,
                range_text(left[0], left[-1], 1) if left else MISSING,
                rows[0]["how"],
                rows[0]["source"],
            )
        )
    headings = (
        "of",
        "quantity",
        "difference",
        "taken out [%]",
        "standard uncertainty up to [%]",
        "change left [%]",
        "how",
        "source",
    )
    note = "From the least to the most over the sweep; the data file holds every set point."
    return Sheet("corrections", headings, tuple(lines), frozenset((3, 4, 5)), note)


def stretches_of(result: Result, block: Block) -> list[Row]:
    """The stretches of the axis that one block's comparison falls into."""
    return [
        row
        for row in result.records("stretches")
        if (row["baseline"], row["modified"], row["quantity"], row["unit"])
        == (block.baseline, block.modified, *block.sweep)
    ]


def along(result: Result, block: Block) -> str:
    """Where along the axis the block's difference stands, in a sentence; empty without a curve."""
    rows = stretches_of(result, block)
    if not rows:
        return ""
    told: dict[str, list[tuple[str, str]]] = {}
    for row in rows:
        low, high = (_rounded(row[key], rows) for key in ("from", "to"))
        if row["verdict"] != "within noise" and low != high:
            told.setdefault(row["verdict"], []).append((low, high))
    if not told:
        return f"{_ALONG}: nothing is told from noise."
    unit = unit_text(rows[0]["unit"])
    parts = [f"{verdict} {_from(ends)}{NBSP}{unit}" for verdict, ends in told.items()]
    rest = "" if len(told) == 1 and _covers(rows) else "; elsewhere nothing is told"
    return f"{_ALONG}: {', '.join(parts)}{rest}."


def _covers(rows: list[Row]) -> bool:
    return len(rows) == 1


def _from(ends: list[tuple[str, str]]) -> str:
    """Stretches as text; where they are many, how many, and between which ends."""
    if len(ends) > _STRETCHES_AT_MOST:
        return f"in {len(ends)} stretches between {ends[0][0]} and {ends[-1][1]}"
    return f"from {listed([f'{low} to {high}' for low, high in ends])}"


def _rounded(value: float, rows: list[Row]) -> str:
    width = max(row["to"] for row in rows) - min(row["from"] for row in rows)
    return fixed(value, 0 if width > 100 else 1)
