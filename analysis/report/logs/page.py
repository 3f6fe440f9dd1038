"""Logs as one self-contained HTML page, with the runs of a trial marked where there is one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from slackwater import __version__
from slackwater.analysis.intake.provenance import provenance_of
from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.logs_result import LogsResult
from slackwater.analysis.report.logs import choices, pictures, provenance_words, text
from slackwater.analysis.report.logs.fitness import fitness
from slackwater.analysis.report.logs.outings import Outing, of_cut, of_logs
from slackwater.analysis.report.logs.provenance_words import ALL_FOUND
from slackwater.analysis.report.logs.turns import turns_shown
from slackwater.analysis.report.page import environment
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


def _page(logs: Sequence[Log], outings: Sequence[Outing], **told: Any) -> str:
    from markupsafe import Markup

    shown = [_drawn(outing) for outing in outings[:MOST_DRAWN]]
    more = len(outings) - len(shown)
    templates = environment("slackwater.analysis.report.logs")
    return templates.get_template("logs.html.jinja").render(
        version=__version__,
        svg=Markup,
        drawn=[each for each in shown if each.panels],
        more=f"{count_of(more, 'further outing')} not drawn." if more > 0 else "",
        turns=turns_shown(outings[:MOST_DRAWN]),
        files=[_file(log) for log in logs],
        note=text.READING,
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
