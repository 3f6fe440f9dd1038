"""The report as one self-contained HTML page: no script, nothing fetched, same input same bytes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any

from slackwater import __version__
from slackwater.analysis.report.logs import provenance_words, tries_words
from slackwater.analysis.report.page import environment
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.report.trial import (
    cross_check,
    manoeuvre_words,
    pictures_ratings,
    pictures_tries,
    pictures_turns,
    rating_words,
    whole_sweep,
)
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
from slackwater.analysis.report.trial.bottom_line import NOTHING, bottom_line, leading_of
from slackwater.analysis.report.trial.tables import text_or_dash, title_of
from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.gathering import gathered
from slackwater.analysis.wording.words import quantity_title
from slackwater.protocol.declared.manoeuvres import WAYS
from slackwater.protocol.findings import Finding


@dataclass(frozen=True, slots=True)
class Picture:
    """One or several inline SVGs with their caption and the numbers behind them."""

    panels: tuple[str, ...]
    caption: str
    sheet: Sheet | None = None


def _sweep(result: Result, rows: list[Row], proven: list[Row]) -> Picture:
    title = quantity_title(rows[0]["quantity"])
    where = "at equal speed" if split_at(rows[0]["at"])[1] in SPEEDS else "at each set point"
    caption = f"{title[:1].upper()}{title[1:]} {where}."
    if any(row["low"] is not None for row in rows):
        caption += " The pale bands are the intervals."
    if any(row["verdict"] != "within noise" for row in proven):
        caption += " The bar below shows where the difference is established or equivalent."
    svg = plots.sweep(rows, result.configurations, caption, proven)
    return Picture((svg,), caption, sheets.points(result, rows))


def _forest(result: Result, block: Block) -> Picture:
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
    svg = plots.forest(block, f"{caption}. {wording.headline(block)}.")
    return Picture((svg,), f"{caption}.")


def _sessions(result: Result, shown: Iterable[Block]) -> list[Picture]:
    pictures: list[Picture] = []
    decimals = value_decimals(result)
    drawn: set[tuple[str, str]] = set()
    for block in shown:
        if block.at_equal_speed or block.beside:
            continue  # each rater's scores are shown; or the same sessions, seen once at the set points
        ats = {row.at for row in block.rows}
        rows = [
            row
            for row in result.records("session_values")
            if row["quantity"] == block.quantity and row["at"] in ats and row["value"] is not None
        ]
        seen = any(row["configuration"] == block.baseline for row in rows)
        if block.sweep in drawn or not seen:
            continue
        drawn.add(block.sweep)
        caption = (
            f"{block.title[:1].upper()}{block.title[1:]} of each session against the mean of the "
            f"sessions with {title_of(result, block.baseline)}."
        )
        scale = block.rows[0].scale or "ratio"
        svg = plots.sessions(rows, result.configurations, block.baseline, scale, caption)
        sheet = sheets.session_values(result, rows, decimals.get(block.quantity))
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
        label = f"Current along the course over time, session {sessions}"
        panels.append(plots_current.outing(mine, seen, between, label))
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


def _difference(
    result: Result, block: Block, left: dict[tuple[str, str], list[Row]]
) -> dict[str, Any]:
    """A block with its pictures and numbers; the sweep stands with the first of its quantity."""
    rows = None if block.beside else left.pop(block.sweep, None)
    proven = whole_sweep.stretches_of(result, block)
    return {
        "title": block.title,
        "subject": wording.subject(result, block.baseline, block.modified),
        "along": whole_sweep.along(result, block),
        "sweep": _sweep(result, rows, proven) if rows else None,
        "forest": _forest(result, block),
        "sheet": sheets.comparison(result, block),
    }


def _in_other_words(result: Result, block: Block) -> dict[str, Any]:
    """A block that says again what another shows: its numbers alone."""
    return {
        "title": block.title,
        "subject": wording.subject(result, block.baseline, block.modified),
        "sheet": sheets.comparison(result, block),
    }


def _not_compared(result: Result, found: tuple[Block, ...]) -> list[Picture]:
    compared = {block.sweep for block in found}
    return [
        _sweep(result, rows, [])
        for key, rows in sweeps(result).items()
        if key not in compared and rows[0]["position"] is not None
    ]


def _ratings(result: Result) -> dict[str, Any] | None:
    """What people scored: blinding and agreement, and every rater's scores."""
    sheet = rating_words.agreement(result)
    if sheet is None:
        return None
    pictures = []
    for item in result.records("ratings"):
        caption = (
            f"{item['title']} ({item['blinding']}): every score of every rater; a mark a session, the "
            "bar the rater's own mean."
        )
        rows = rating_words.used_scores(result, item["quantity"])
        if rows:
            svg = pictures_ratings.scores(rows, item, result.configurations, caption)
            pictures.append(Picture((svg,), caption))
    return {
        "title": rating_words.TITLE,
        "sentences": rating_words.sentences(result),
        "sheet": sheet,
        "pictures": pictures,
    }


def _manoeuvres(result: Result) -> dict[str, Any] | None:
    """What was tried: how, and every try of every session."""
    sheet = manoeuvre_words.values(result)
    if sheet is None:
        return None
    pictures = []
    for value in result.records("manoeuvres"):
        caption = (
            f"{value['title']} ({value['manoeuvre_title'].lower()}): every try; a column a session in "
            "the order run, the bar its value."
        )
        rows = manoeuvre_words.used_tries(result, value["quantity"])
        levels = [
            row for row in result.records("session_values") if row["quantity"] == value["quantity"]
        ]
        ways = WAYS[value["directions"]]
        if rows:
            svg = pictures_tries.tries(rows, levels, result.configurations, ways, caption)
            pictures.append(Picture((svg,), caption))
    found = result.tries_provenance
    return {
        "title": manoeuvre_words.TITLE,
        "sentences": [
            *manoeuvre_words.sentences(result),
            *([] if found is None else tries_words.sentences(found)),
        ],
        "turns": pictures_turns.turns(result),
        "turns_caption": pictures_turns.CAPTION,
        "found": None if found is None else tries_words.sheet(found),
        "sheet": sheet,
        "pictures": pictures,
    }


def _strip(block: Block) -> list[dict[str, str]]:
    """The places with their verdicts; none where the headline says it all."""
    strip = [{"at": text_or_dash(row.at), "verdict": str(row.verdict)} for row in block.rows]
    return strip if len({point["verdict"] for point in strip}) > 1 else []


def _answer(result: Result) -> dict[str, Any] | None:
    """The bottom line as the page has it."""
    found = bottom_line(result)
    if found is None:
        return None
    first, *more = found.found
    # Why nothing could be told is no headline.
    verdict, _, why = first.partition(": ") if first.startswith("Untestable") else (first, "", "")
    more = [*([f"{why[:1].upper()}{why[1:]}"] if why else []), *more]
    return {
        "subject": found.subject,
        "verdict": verdict if verdict.endswith(".") else f"{verdict}.",
        "strips": [(block, _strip(block)) for block in found.leading],
        "several": len(found.leading) > 1,
        "more": [*more, *found.sure],
        "further": found.further,
        "lines": [
            {
                "title": line.title,
                "verdict": next(iter(wording.by_verdict(line.block))),
                "text": text,
            }
            for line in found.lines
            for text in line.texts[:1]
        ],
    }


def _parts(result: Result) -> dict[str, Any]:
    """The figures of the page: what leads, what follows, and what says the same in other words."""
    found = blocks(result)
    curves = whole_sweep.curves_of(found)
    leading = leading_of(found) if found else ()
    headlined = [each for each in whole_sweep.headlined(found) if each in curves]
    left = sweeps(result)
    further = [each for each in headlined if each not in leading]
    again = [each for each in curves if each not in leading and each not in further]
    drawn = [each for each in (*leading, *further) if each in curves]
    return {
        "deciding": [_difference(result, each, left) for each in leading if each in curves],
        "further": [_difference(result, each, left) for each in further],
        "again": [_in_other_words(result, each) for each in again],
        "uncompared": _not_compared(result, found),
        "figures": whole_sweep.figures(result, found),
        "reasons": whole_sweep.reasons(found),
        "session_pictures": _sessions(result, drawn),
    }


def _from_logs(result: Result) -> dict[str, Any] | None:
    """Where the runs come from, if they were cut from logs."""
    if result.provenance is None:
        return None
    return {
        "title": provenance_words.TITLE,
        "sentences": provenance_words.sentences(result.provenance),
        "remarks": provenance_words.remarks(result.provenance),
        "files": provenance_words.log_sheet(result.provenance),
        "runs": provenance_words.run_sheet(result.provenance),
        "left_out": provenance_words.left_out_sheet(result.provenance),
    }


def render(result: Result) -> str:
    """The whole page as text, to be written as UTF-8."""
    from markupsafe import Markup

    templates = environment("slackwater.analysis.report.trial")
    templates.filters["place"] = _place
    return templates.get_template("report.html.jinja").render(
        result=result,
        version=__version__,
        marks=sheets.MARKS,
        nothing=NOTHING,
        answer=_answer(result),
        **_parts(result),
        leanings=wording.leanings(result),
        leanings_title=wording.LEANINGS,
        checked=sheets.cross_checked(result),
        checked_note=cross_check.NOTE,
        checked_title=cross_check.TITLE,
        ratings=_ratings(result),
        manoeuvres=_manoeuvres(result),
        heads=wording.heads(result),
        cautions=wording.cautions(result),
        facts=whole_sweep.fact_sentences(result),
        slip=whole_sweep.slip(result),
        corrections=whole_sweep.corrections(result),
        current=_current(result),
        noise=sheets.noise(result),
        aside=sheets.set_aside(result),
        logs=_from_logs(result),
        deviations=gathered(result.deviations),
        findings=gathered(result.findings),
        runs=wording.runs_sentence(result),
        limits=wording.LIMITS,
        seal=sealing.sentences(result),
        svg=Markup,
    )
