"""What was cut from logs as plain text: runs by session, and all that is no run, with its reason."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from slackwater import __version__
from slackwater.analysis.logs.sources import Judged
from slackwater.analysis.report.text_table import Sheet, columns, paragraph
from slackwater.analysis.steady.cut_result import CutResult, SessionCut
from slackwater.analysis.steady.other_water import pair_words
from slackwater.analysis.steady.readings import Reading
from slackwater.analysis.wording.numbers import fixed, with_unit
from slackwater.analysis.wording.words import count_of, quantity_title
from slackwater.protocol.units.quantity import show_number

MOST_LISTED = 20  # stretches of a session that are no runs


def render(result: CutResult) -> str:
    """All sessions, sources and notes."""
    parts = [paragraph(f"{result.trial.trial}: {result.summary}.")]
    for each in result.sessions:
        parts.append("\n" + "\n".join(_session(result, each)))
    if result.choices:
        parts.append("\n" + paragraph("Sources, the same for all sessions:"))
        parts += [paragraph(f"  {line}") for line in _sources(result)]
    parts += ["", *(paragraph(f"Note: {note}.") for note in result.notes)]
    parts.append(f"\nslackwater {__version__}")
    return "\n".join(parts) + "\n"


def _session(result: CutResult, each: SessionCut) -> Iterator[str]:
    cut, name = each.cut, each.span.session
    if cut.why_none:
        yield paragraph(f"{name}: no run. {_sentence(cut.why_none)}")
    else:
        used = [run for run in cut.runs if not run.set_aside]
        placed = "the order of the plan" if cut.placed_by == "order" else _plain(cut.placed_by)
        yield paragraph(f"{name}: {count_of(len(used), 'run')}; set points by {placed}.")
    yield from (paragraph(f"  {line}") for line in _missing(result, each))
    pairs = {pair_words(run, result.terms.unit): None for run in cut.runs if run.by_order}
    yield from (paragraph(f"  {line}") for line in pairs)
    aside = [run for run in cut.runs if run.set_aside]
    told = [(run.start, run.start + run.duration, _speed(run.readings), f"set aside: {run.set_aside}")
            for run in aside]  # fmt: skip
    told += [(left.start, left.end, left.speed, left.reason) for left in cut.left_out]
    if told:
        yield paragraph("  No runs:")
        yield columns(Sheet("no runs", ("from", "to", "speed [kn]", "why"), tuple(
            (result.clock(a)[11:], result.clock(b)[11:], fixed(speed, 2), why)
            for a, b, speed, why in sorted(told)[:MOST_LISTED]
        ), frozenset({2})))  # fmt: skip
        if len(told) > MOST_LISTED:
            yield f"  … and {len(told) - MOST_LISTED} more; all are in the JSON."
    for lag in cut.lags:
        yield paragraph(
            f"  {quantity_title(lag.second[0])} ({lag.second[1]}) comes {fixed(lag.seconds, 1)} s after "
            f"{_plain(lag.first[0])} ({lag.first[1]})."
        )
    yield from (paragraph(f"  {_sentence(note)}") for note in cut.notes)


def _missing(result: CutResult, each: SessionCut) -> Iterator[str]:
    """Planned and not found, a line for each set point."""
    points: dict[float, list[str]] = {}
    for leg in each.cut.missing:
        count = max(leg.double_run, 1)
        points.setdefault(leg.set_point, []).append(f"{count} {leg.direction}".strip())
    if len(points) == len(result.terms.set_points) and not each.cut.runs:
        yield "No planned run was found."
        return
    for point, ways in points.items():
        yield f"Planned and not found at {show_number(point)} {result.terms.unit}: {', '.join(ways)}."


def _sources(result: CutResult) -> Iterator[str]:
    for each in result.choices:
        others = "; ".join(
            _not_taken(other) for other in each.offered if other.source != each.source
        )
        told = f"; not taken: {others}" if others else ""
        seconds = with_unit(fixed(each.seconds, 0), "s")
        yield f"{quantity_title(each.quantity)}: {each.source} (values in {seconds}; {each.why}{told})"


def _not_taken(other: Judged) -> str:
    against = " and ".join(other.against)
    return f"{other.source} ({against})" if against else other.source


def _speed(readings: Mapping[str, Reading]) -> float:
    found = readings.get("speed_over_ground")
    return found.value if found else math.nan


def _plain(name: str) -> str:
    return name.replace("_", " ")


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."
