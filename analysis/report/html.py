"""The report as one self-contained HTML page: no script, nothing fetched, same input same bytes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from slackwater import __version__
from slackwater.analysis.report import plots, plots_current, wording
from slackwater.analysis.report.blocks import (
    Block,
    Row,
    blocks,
    by_position,
    quantity_title,
    value_decimals,
)
from slackwater.analysis.report.characters import printable
from slackwater.analysis.report.numbers import (
    MISSING,
    common_decimals,
    fixed,
    unit_text,
    value_scale,
)
from slackwater.analysis.report.svg import draw
from slackwater.analysis.results import Result
from slackwater.protocol.findings import Finding

if TYPE_CHECKING:
    import jinja2

MARKS = {
    "gain": "▲",
    "loss": "▼",
    "higher": "△",
    "lower": "▽",
    "equivalent": "◆",
    "within noise": "○",
    "untestable": "✕",
}
_WORTH = {"surely": "surely", "possibly": "possibly", "not": "surely not"}


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table ready to be written: its name, headings, rows of text, which columns hold figures."""

    name: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: frozenset[int] = frozenset()
    note: str = ""
    short: bool = False  # cells of text are a word or two and stay on one line


@dataclass(frozen=True, slots=True)
class Picture:
    """One or several inline SVGs with their caption and the numbers behind them."""

    panels: tuple[str, ...]
    caption: str
    sheet: Sheet | None = None


def _bracketed(name: str, unit: str) -> str:
    return f"{name} [{unit}]" if unit else name


def _text(value: Any) -> str:
    return MISSING if value in (None, "") else str(value)


def _title(result: Result, configuration: str) -> str:
    return result.configurations.get(configuration, configuration)


def _comparison_sheet(result: Result, block: Block) -> Sheet:
    unit, change = block.value.unit, block.change.unit
    headings: tuple[str, ...] = (
        "at",
        "verdict",
        _bracketed("change", change),
        _bracketed("interval", change),
        _bracketed("noise floor", change),
        _bracketed(_title(result, block.baseline), unit),
        _bracketed(_title(result, block.modified), unit),
        "p",
        "worthwhile",
    )
    rows: tuple[tuple[str, ...], ...] = tuple(
        (
            _text(row["at"]),
            f"{MARKS[row['verdict'] or 'untestable']} {row['verdict'] or 'untestable'}",
            block.change_text(row),
            block.interval_text(row),
            block.floor_text(row),
            block.mean_text(row, "baseline_mean"),
            block.mean_text(row, "modified_mean"),
            _p_text(row["p_value"]),
            _WORTH.get(row["worth"] or "", ""),
        )
        for row in block.rows
    )
    notes = [wording.interval_note(block), wording.sessions_note(block)]
    declared = {row["worthwhile"] for row in block.rows} - {None}
    if len(declared) == 1:
        notes.append(f"worthwhile difference {block.declared_text(*declared)}{block.change_unit}")
    if any(row["p_value"] is not None for row in block.rows):
        notes.append("p by Holm's method, more cautious than the intervals")
    if not any(row[-1] for row in rows):
        headings, rows = headings[:-1], tuple(row[:-1] for row in rows)
    name = f"{block.title}, {wording.subject(result, block.baseline, block.modified)}"
    note = "; ".join(note for note in notes if note) + "."
    return Sheet(name, headings, rows, frozenset((0, 2, 3, 4, 5, 6, 7)), note, True)


def _p_text(p_value: float | None) -> str:
    if p_value is None:
        return MISSING
    return "< 0.001" if p_value < 0.001 else fixed(p_value, 3 if p_value < 0.1 else 2)


def _points_sheet(result: Result, rows: list[Row]) -> Sheet:
    scale = value_scale(rows[0]["unit"])
    name = quantity_title(rows[0]["quantity"])
    headings = ("at", "configuration", _bracketed(name, scale.unit), "low", "high")
    lines = []
    for row in by_position(rows):
        width = scale.width(row["low"], row["high"])
        decimals = common_decimals([width])
        ends = [fixed(scale.of(row[key]), decimals) for key in ("mean", "low", "high")]
        counts = [_text(row["sessions"]), _text(row["double_runs"])]
        lines.append((_text(row["at"]), _title(result, row["configuration"]), *ends, *counts))
    figures = frozenset((0, 2, 3, 4, 5, 6))
    return Sheet(name, (*headings, "sessions", "double runs"), tuple(lines), figures)


def _sweep(result: Result, quantity: str, number: int) -> Picture | None:
    rows = [
        row
        for row in result.records("set_points")
        if row["quantity"] == quantity and row["mean"] is not None
    ]
    if not rows:
        return None
    title = quantity_title(quantity)
    caption = f"{title[:1].upper()}{title[1:]} at each set point."
    if any(row["low"] is not None for row in rows):
        caption += " The pale bars are the intervals."
    paint = partial(plots.sweep, rows, result.configurations)
    return Picture((draw(paint, f"sweep{number}", caption),), caption, _points_sheet(result, rows))


def _forest(result: Result, block: Block, number: int) -> Picture:
    legend = ["the mark is the change"]
    for column, words in (
        ("low", "the line its interval"),
        ("noise_floor", "the grey bar the noise floor"),
        ("worthwhile", "the dashes the worthwhile difference"),
    ):
        if any(row[column] is not None for row in block.rows):
            legend.append(words)
    pair = wording.subject(result, block.baseline, block.modified)
    caption = f"Change in {block.title}, {pair}: {', '.join(legend)}"
    label = f"{caption}. {wording.headline(block)}."
    svg = draw(partial(plots.forest, block), f"forest{number}", label)
    return Picture((svg,), f"{caption}.")


def _session_sheet(result: Result, rows: list[Row], decimals: int | None) -> Sheet:
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
        head = (_text(session), _title(result, first["configuration"]), _text(first["date"]))
        lines.append((*head, *values))
    headings = ("session", "configuration", "date", *(_text(at) for at in places))
    name = _bracketed(quantity_title(rows[0]["quantity"]), scale.unit)
    return Sheet(name, headings, tuple(lines), frozenset(range(3, len(headings))), f"{name}.")


def _sessions(result: Result, found: tuple[Block, ...]) -> list[Picture]:
    pictures: list[Picture] = []
    decimals = value_decimals(result)
    drawn: set[tuple[str, str]] = set()
    for block in found:
        key = (block.baseline, block.quantity)
        ats = {row["at"] for row in block.rows}
        rows = [
            row
            for row in result.records("session_values")
            if row["quantity"] == block.quantity and row["at"] in ats and row["value"] is not None
        ]
        if key in drawn or not any(row["configuration"] == block.baseline for row in rows):
            continue
        drawn.add(key)
        caption = (
            f"{block.title[:1].upper()}{block.title[1:]} of each session against the mean of the "
            f"sessions with {_title(result, block.baseline)}."
        )
        scale = block.rows[0]["scale"] or "ratio"
        paint = partial(plots.sessions, rows, result.configurations, block.baseline, scale)
        sheet = _session_sheet(result, rows, decimals.get(block.quantity))
        svg = draw(paint, f"sessions{len(pictures) + 1}", caption)
        pictures.append(Picture((svg,), caption, sheet))
    return pictures


def _current(result: Result) -> Picture | None:
    curve, runs = (
        [row for row in result.records(name) if plots_current.usable(row)]
        for name in ("current", "current_runs")
    )
    between = plots_current.limits(curve, runs)
    panels: list[str] = []
    for outing in dict.fromkeys(row["outing"] for row in [*curve, *runs]):
        mine = [row for row in curve if row["outing"] == outing]
        seen = [row for row in runs if row["outing"] == outing]
        sessions = ", ".join(dict.fromkeys(_text(row["session"]) for row in [*mine, *seen]))
        paint = partial(plots_current.outing, mine, seen, between)
        label = f"Current along the course over time, session {sessions}"
        panels.append(draw(paint, f"current{len(panels) + 1}", label))
    if not panels:
        return None
    caption = (
        "Current along the course over time, positive when it sets with the outward runs. "
        "The line is the current taken out of the runs, the pale band its interval."
    )
    if runs:
        caption += " Each mark is what one run alone says of the current: ▷ out, ◁ back."
    return Picture(tuple(panels), caption, _current_sheet(runs) if runs else None)


def _current_sheet(rows: list[Row]) -> Sheet:
    headings = ("session", "time", "set point", "direction")
    unit = unit_text(rows[0]["unit"])
    lines = tuple(
        (
            _text(row["session"]),
            _text(row["at"]).replace("T", " "),
            _text(row["set_point"]),
            _text(row["direction"]),
            fixed(row["value"], 2, signed=True),
        )
        for row in rows
    )
    name = _bracketed("current", unit)
    return Sheet(name, (*headings, name), lines, frozenset((1, 2, 4)))


def _noise_sheet(result: Result) -> Sheet | None:
    lines = []
    for row in result.records("noise"):
        value, ends, unit = wording.noise_texts(row)
        shown = value if value == MISSING else f"{value} {unit}"
        title = quantity_title(row["quantity"])
        lines.append((title, _text(row["component"]), shown, ends, _text(row["sessions"])))
    if not lines:
        return None
    headings = ("quantity", "component", "standard deviation", "interval", "sessions")
    return Sheet("noise", headings, tuple(lines), frozenset((2, 3, 4)))


def _aside_sheet(result: Result) -> Sheet | None:
    keys = ("row", "session", "set_point", "double_run", "direction", "reason")
    lines = tuple(tuple(_text(row[key]) for key in keys) for row in result.records("set_aside"))
    headings = tuple(key.replace("_", " ") for key in keys)
    return Sheet("runs set aside", headings, lines, frozenset((0, 2, 3))) if lines else None


def _place(finding: Finding) -> str:
    """File and line without the folder: a report is passed on, a folder's name is nobody's business."""
    if finding.place is None:
        return ""
    name = PurePath(finding.place.file).name
    return name if finding.place.line is None else f"{name}, line {finding.place.line}"


def _differences(result: Result, found: tuple[Block, ...]) -> list[dict[str, Any]]:
    sections = []
    swept: dict[str, int] = {}
    for number, block in enumerate(found, start=1):
        sweep = None
        if block.quantity not in swept:
            swept[block.quantity] = number
            sweep = _sweep(result, block.quantity, number)
        sections.append(
            {
                "title": block.title,
                "subject": wording.subject(result, block.baseline, block.modified),
                "sweep": sweep,
                "forest": _forest(result, block, number),
                "sheet": _comparison_sheet(result, block),
            }
        )
    return sections


def _answers(result: Result, found: tuple[Block, ...]) -> list[dict[str, Any]]:
    answers = []
    for answer in wording.answers(result, found):
        strip = [
            {"at": _text(row["at"]), "verdict": row["verdict"] or "untestable"}
            for row in answer.block.rows
        ]
        if len({point["verdict"] for point in strip}) < 2:
            strip = []  # the headline says it all
        answers.append({"answer": answer, "title": answer.block.title, "strip": strip})
    return answers


def _environment() -> jinja2.Environment:
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("slackwater.analysis.report"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=lambda value: printable(value) if type(value) is str else value,
    )
    environment.filters["place"] = _place
    return environment


def render(result: Result) -> str:
    """The whole page as text, to be written as UTF-8."""
    from markupsafe import Markup

    found = blocks(result)
    noise = _sessions(result, found)
    page = (
        _environment()
        .get_template("report.html.jinja")
        .render(
            result=result,
            version=__version__,
            marks=MARKS,
            answers=_answers(result, found),
            floor=wording.noise_floor_sentence(found) if found else "",
            cautions=wording.cautions(result),
            differences=_differences(result, found),
            current=_current(result),
            session_pictures=noise,
            noise=_noise_sheet(result),
            aside=_aside_sheet(result),
            runs=wording.runs_sentence(result),
            limits=wording.LIMITS,
            svg=Markup,
        )
    )
    return page
