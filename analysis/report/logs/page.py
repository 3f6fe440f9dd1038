"""Logs as one self-contained HTML page, with the runs of a trial marked where there is one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from slackwater import __version__
from slackwater.analysis.handling.tries_result import TriesResult
from slackwater.analysis.intake.provenance import provenance_of
from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.logs_result import LogsResult
from slackwater.analysis.report.logs import (
    choices,
    pictures,
    provenance_words,
    text,
    tries_text,
    tries_words,
)
from slackwater.analysis.report.logs.fitness import fitness
from slackwater.analysis.report.logs.outings import Outing, of_cut, of_logs, of_tries
from slackwater.analysis.report.logs.provenance_words import ALL_FOUND
from slackwater.analysis.report.logs.turns import TurnsShown, tried_turns, turns_shown
from slackwater.analysis.report.page import environment
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.steady.cut_result import CutResult
from slackwater.analysis.wording.words import count_of, quantity_title

MOST_DRAWN = 12  # outings


@dataclass(frozen=True, slots=True)
class _Drawn:
    title: str
    panels: tuple[str, ...]
    caption: str


def render(result: LogsResult) -> str:
    """What is in logs, as text to be written as UTF-8."""
    outings = of_logs(result.logs)
    verdict, details = fitness(result.logs, outings)
    return _page(
        result.logs,
        outings,
        kind="What is in logs",
        title=_names(result.logs),
        verdict=verdict,
        details=details,
        sheets=[
            ("Several sources of one quantity", choices.sources_sheet(result)),
            ("What comes late", choices.latencies_sheet(result)),
        ],
    )


def render_cut(result: CutResult) -> str:
    """The runs of a trial in its logs, as text to be written as UTF-8."""
    provenance = provenance_of(result.to_json())
    left_out = provenance_words.left_out_sheet(provenance)
    return _page(
        result.logs,
        of_cut(result),
        kind=f"Runs cut from logs{' · INVENTED' if result.trial.invented else ''}",
        title=result.trial.title or result.trial.trial,
        verdict=_verdict(result),
        details=[each for each in provenance_words.sentences(provenance) if each != ALL_FOUND],
        remarks=provenance_words.remarks(provenance),
        sheets=[
            ("Run by run", provenance_words.run_sheet(provenance) if result.runs else None),
            ("Steady and no run", left_out),
        ],
    )


def render_tries(result: TriesResult) -> str:
    """The tries of a trial in its logs, as text to be written as UTF-8."""
    outings = of_tries(result)
    used = sum(min(both) for each in result.sessions for both in each.counts.values())
    planned = sum(planned for each in result.sessions for _, planned in each.counts.values())
    remarks = [
        f"{each.span.session}: {text}"
        for each in result.sessions
        for text in (*tries_text.remarks(each, turns=False), *(f"{note}." for note in each.notes))
    ]
    return _page(
        result.logs,
        outings,
        kind=f"Tries found in logs{' · INVENTED' if result.trial.invented else ''}",
        title=result.trial.title or result.trial.trial,
        verdict=f"{used} of {planned} planned tries were found.",
        details=[f"{told}." for told in result.unbalanced()],
        remarks=[
            *tries_words.read_by(result.read_by),
            *remarks,
            *(f"{note[:1].upper()}{note[1:]}." for note in result.notes),
        ],
        turns=tried_turns(result),
        sheets=[*_tries_sheets(result), ("No tries", _no_tries(result))],
    )


def _tries_sheets(result: TriesResult) -> list[tuple[str, Sheet | None]]:
    names = dict.fromkeys(one.manoeuvre for _, one in result.tries)
    return [
        (name.replace("_", " ").capitalize(), tries_text.tries_sheet(result, result.sessions, name))
        for name in names
    ]


def _no_tries(result: TriesResult) -> Sheet | None:
    rows = tuple(
        (each.span.session, *row)
        for each in result.sessions
        for row in tries_text.left_out_rows(result, each)
    )
    return Sheet("no tries", ("session", "from", "to", "why"), rows) if rows else None


def _verdict(result: CutResult) -> str:
    """How much of the plan was found; or that there is no trial in the logs, and why."""
    missing = sum(max(leg.double_run, 1) for each in result.sessions for leg in each.cut.missing)
    used = sum(not run.set_aside for _, run in result.runs)
    if not result.runs:
        reasons = dict.fromkeys(each.cut.why_none for each in result.sessions)
        return f"No trial in these logs: {'; '.join(reasons)}."
    if not missing:
        return f"Every planned run was found: {count_of(used, 'run')}."
    return f"{used} of {used + missing} planned runs were found."


def _names(logs: Sequence[Log]) -> str:
    names = [log.path.name for log in logs]
    return ", ".join(names) if len(names) <= 3 else f"{names[0]} and {len(names) - 1} more logs"


def _page(
    logs: Sequence[Log],
    outings: Sequence[Outing],
    turns: TurnsShown | None = None,
    **told: Any,
) -> str:
    """The page; its turns those of the outings, where none are given."""
    from markupsafe import Markup

    shown = [_drawn(outing) for outing in outings[:MOST_DRAWN]]
    more = len(outings) - len(shown)
    templates = environment("slackwater.analysis.report.logs")
    return templates.get_template("logs.html.jinja").render(
        version=__version__,
        svg=Markup,
        drawn=[each for each in shown if each.panels],
        more=f"{count_of(more, 'further outing')} not drawn." if more > 0 else "",
        files=[_file(log) for log in logs],
        note=text.READING,
        turns=turns_shown(outings[:MOST_DRAWN]) if turns is None else turns,
        **{"remarks": (), "sheets": (), **told},
    )


def _drawn(outing: Outing) -> _Drawn:
    over = pictures.over_time(outing, f"Speed over ground over time, {outing.title}")
    way, wild = pictures.track(outing, f"Track from above, {outing.title}")
    caption = _caption(outing, bool(over), bool(way), wild)
    return _Drawn(outing.title, tuple(each for each in (over, way) if each), caption)


def _caption(outing: Outing, over: bool, way: bool, wild: int) -> str:
    said = []
    if over:
        held = f" and {quantity_title(outing.held)}" if outing.held else ""
        said.append(f"Speed over ground{held} by the clock, from {_sources(outing)}.")
    if outing.runs:
        aside = any(run.set_aside for run in outing.runs)
        said.append(f"Coloured: the runs, ▷ out, ◁ back{', × set aside' if aside else ''}.")
    if not way:
        said.append("No positions, so no track.")
    if wild:
        far = pictures.FARTHEST / 1000
        said.append(f"{count_of(wild, 'position')} over {far:g} km from the rest not drawn.")
    return " ".join(said)


def _sources(outing: Outing) -> str:
    names = ("speed_over_ground", outing.held)
    return " and ".join(outing.channels[q].source for q in names if q in outing.channels)


def _file(log: Log) -> dict[str, Any]:
    surveyed = LogsResult((log,)).surveyed(log)
    return {
        "name": str(log.path),
        "headline": text.headline(log),
        "sheet": text.sheet(log, surveyed) if log.channels else None,
        "remarks": list(text.remarks(log)),
        "sha256": log.sha256,
    }
