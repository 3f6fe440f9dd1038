"""The report as one self-contained HTML page: no script, nothing fetched, same input same bytes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import PurePath
from typing import Any

from slackwater import __version__
from slackwater.analysis.report.page import environment
from slackwater.analysis.report.svg import draw
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.report.trial import cross_check, whole_sweep
from slackwater.analysis.report.trial import pictures as plots
from slackwater.analysis.report.trial import pictures_current as plots_current
from slackwater.analysis.report.trial import seal_words as sealing
from slackwater.analysis.report.trial import sentences as wording
from slackwater.analysis.report.trial import tables as sheets
from slackwater.analysis.report.trial.blocks import (
    SPEEDS,
    Block,
    Row,
    blocks,
    split_at,
    sweeps,
    value_decimals,
)
from slackwater.analysis.report.trial.tables import text_or_dash, title_of
from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.words import quantity_title
from slackwater.protocol.findings import Finding


@dataclass(frozen=True, slots=True)
class Picture:
    """One or several inline SVGs with their caption and the numbers behind them."""

    panels: tuple[str, ...]
    caption: str
    sheet: Sheet | None = None


def _sweep(result: Result, rows: list[Row], number: int, proven: list[Row]) -> Picture:
    title = quantity_title(rows[0]["quantity"])
    where = "at equal speed" if split_at(rows[0]["at"])[1] in SPEEDS else "at each set point"
    caption = f"{title[:1].upper()}{title[1:]} {where}."
    if any(row["low"] is not None for row in rows):
        caption += " The pale bands are the intervals."
    if any(row["verdict"] != "within noise" for row in proven):
        caption += " The bar below shows where the difference is established or equivalent."
    paint = partial(plots.sweep, rows, result.configurations, proven)
    svg = draw(paint, f"sweep{number}", caption)
    return Picture((svg,), caption, sheets.points(result, rows))


def _forest(result: Result, block: Block, number: int) -> Picture:
    legend = ["the mark is the change"]
    for column, words in (
        ("low", "the line its interval"),
        ("noise_floor", "the grey bar the noise floor"),
        ("worthwhile", "the dashes the worthwhile difference"),
    ):
        if any(getattr(row, column) is not None for row in block.rows):
            legend.append(words)
    pair = wording.subject(result, block.baseline, block.modified)
    caption = f"Change in {block.title}, {pair}: {', '.join(legend)}"
    label = f"{caption}. {wording.headline(block)}."
    svg = draw(partial(plots.forest, block), f"forest{number}", label)
    return Picture((svg,), f"{caption}.")


def _sessions(result: Result, found: tuple[Block, ...]) -> list[Picture]:
    pictures: list[Picture] = []
    decimals = value_decimals(result)
    drawn: set[tuple[str, str, str]] = set()
    for block in whole_sweep.curves_of(found):
        key = (block.baseline, *block.sweep)
        if block.at_equal_speed:
            continue  # the same sessions, seen once at the set points
        ats = {row.at for row in block.rows}
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
            f"sessions with {title_of(result, block.baseline)}."
        )
        scale = block.rows[0].scale or "ratio"
        paint = partial(plots.sessions, rows, result.configurations, block.baseline, scale)
        sheet = sheets.session_values(result, rows, decimals.get(block.quantity))
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
        sessions = ", ".join(dict.fromkeys(text_or_dash(row["session"]) for row in [*mine, *seen]))
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
    return Picture(tuple(panels), caption, sheets.current_runs(runs) if runs else None)


def _place(finding: Finding) -> str:
    """File and line without the folder: a report is passed on, a folder's name is nobody's business."""
    if finding.place is None:
        return ""
    name = PurePath(finding.place.file).name
    return name if finding.place.line is None else f"{name}, line {finding.place.line}"


def _differences(result: Result, found: tuple[Block, ...]) -> list[dict[str, Any]]:
    """A section for each block; the sweep stands with the first block of its quantity."""
    sections = []
    left = sweeps(result)
    for number, block in enumerate(whole_sweep.curves_of(found), start=1):
        rows = left.pop(block.sweep, None)
        proven = whole_sweep.stretches_of(result, block)
        sections.append(
            {
                "title": block.title,
                "subject": wording.subject(result, block.baseline, block.modified),
                "sweep": _sweep(result, rows, number, proven) if rows else None,
                "forest": _forest(result, block, number),
                "sheet": sheets.comparison(result, block),
            }
        )
    return sections


def _not_compared(result: Result, found: tuple[Block, ...]) -> list[Picture]:
    compared = {block.sweep for block in found}
    left = [
        rows
        for key, rows in sweeps(result).items()
        if key not in compared and rows[0]["position"] is not None
    ]
    start = len(found) + 1
    return [_sweep(result, rows, number, []) for number, rows in enumerate(left, start=start)]


def _answers(result: Result, found: tuple[Block, ...]) -> list[dict[str, Any]]:
    answers = []
    for answer in wording.answers(result, whole_sweep.headlined(found)):
        strip = [{"at": text_or_dash(row.at), "verdict": row.verdict} for row in answer.block.rows]
        if len({point["verdict"] for point in strip}) < 2:
            strip = []  # the headline says it all
        answers.append(
            {
                "answer": answer,
                "title": answer.block.title,
                "strip": strip,
                "along": whole_sweep.along(result, answer.block),
            }
        )
    return answers


def render(result: Result) -> str:
    """The whole page as text, to be written as UTF-8."""
    from markupsafe import Markup

    found = blocks(result)
    noise = _sessions(result, found)
    templates = environment("slackwater.analysis.report.trial")
    templates.filters["place"] = _place
    page = templates.get_template("report.html.jinja").render(
        result=result,
        version=__version__,
        marks=sheets.MARKS,
        answers=_answers(result, found),
        floor=wording.noise_floor_sentence(whole_sweep.headlined(found)) if found else "",
        deciding=wording.deciding_sentence(result),
        leanings=wording.leanings(result),
        leanings_title=wording.LEANINGS,
        checked=sheets.cross_checked(result),
        checked_note=cross_check.NOTE,
        checked_title=cross_check.TITLE,
        cautions=wording.cautions(result),
        differences=_differences(result, found),
        uncompared=_not_compared(result, found),
        figures=whole_sweep.figures(result, found),
        reasons=whole_sweep.reasons(found),
        facts=whole_sweep.fact_sentences(result),
        slip=whole_sweep.slip(result),
        corrections=whole_sweep.corrections(result),
        current=_current(result),
        session_pictures=noise,
        noise=sheets.noise(result),
        aside=sheets.set_aside(result),
        runs=wording.runs_sentence(result),
        limits=wording.LIMITS,
        seal=sealing.sentences(result),
        svg=Markup,
    )
    return page
