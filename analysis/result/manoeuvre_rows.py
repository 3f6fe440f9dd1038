"""What manoeuvres gave, as the result's tables have it: values told, every try, what is to be said."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from slackwater.analysis.result.result import InputFile
from slackwater.analysis.wording.words import listed
from slackwater.protocol.findings import Finding, Severity

if TYPE_CHECKING:
    from slackwater.analysis.intake.tries import Try
    from slackwater.analysis.manoeuvres.tried import Tried, TriedFigure
    from slackwater.analysis.result.analysed import Analysed

Row = dict[str, Any]


def manoeuvre_rows(analysed: Analysed) -> list[Row]:
    """A value each: what it is read of, how its tries scatter, how its directions differ."""
    tried = analysed.tried
    return [] if tried is None else [_value(each, tried) for each in tried.figures]


def _value(figure: TriedFigure, tried: Tried) -> Row:
    declared, levels = figure.declared, figure.levels
    aside = [
        each for each in tried.read.tries if each.set_aside and each.manoeuvre == figure.manoeuvre
    ]
    return {
        "quantity": figure.name,
        "title": figure.measure.title,
        "manoeuvre": figure.manoeuvre,
        "manoeuvre_title": declared.title or figure.manoeuvre.replace("_", " ").capitalize(),
        "start": declared.start,
        "end": declared.end,
        "directions": declared.directions,
        "current": declared.current,
        "tries_declared": declared.tries,
        "tries": len(figure.tries),
        "set_aside": len(aside),
        "sessions": int(np.isfinite(levels.values).sum()),
        "scatter": math.sqrt(levels.scatter) if levels.df > 0 else None,
        "scatter_df": levels.df,
        "direction_difference": _apart(figure),
        "unit": "" if figure.measure.scale == "ratio" else figure.measure.unit,
        "reason": figure.table.untestable,
    }


def _apart(figure: TriedFigure) -> float | None:
    """How much the second direction is above the first, over sessions with both; None one way."""
    means = figure.levels.means
    whole = np.isfinite(means).all(axis=1)
    if means.shape[1] < 2 or not whole.any():
        return None
    apart = float((means[whole, 1] - means[whole, 0]).mean())
    return math.expm1(apart) if figure.measure.scale == "ratio" else apart


def try_rows(analysed: Analysed) -> list[Row]:
    """Every value of every try that was read, those set aside as well."""
    if analysed.tried is None:
        return []
    measures = analysed.trial.protocol.tried
    return [
        {
            "row": each.row,
            "session": each.session,
            "configuration": each.configuration,
            "manoeuvre": each.manoeuvre,
            "quantity": name,
            "direction": each.direction,
            "try": each.number or None,
            "value": value,
            "unit": "" if name is None else measures[name].unit,
            "helmsman": each.helmsman,
            "set_aside": each.set_aside,
            "note": each.note,
        }
        for each in analysed.tried.read.tries
        for name, value in _values_of(each)
    ]


def _values_of(each: Try) -> list[tuple[str | None, float | None]]:
    """What was read in a try; one row all the same where that is nothing."""
    return [*each.values.items()] or [(None, None)]


def manoeuvre_inputs(analysed: Analysed) -> list[InputFile]:
    """The table of tries, or the logs that they were found in, as files that went in."""
    if analysed.tried is None:
        return []
    there = {name for _, name, _ in analysed.runs.inputs}
    inputs = analysed.tried.read.inputs
    return [InputFile(name, sha256, role) for role, name, sha256 in inputs if name not in there]


def manoeuvre_findings(analysed: Analysed) -> Iterator[Finding]:
    """What is to be said of the tries as a whole; a direction that lacks is told of each value."""
    if analysed.tried is None:
        return
    yield from analysed.tried.read.findings
    for names, each in _alike(analysed.tried):
        if each.lacking and not each.table.untestable:
            ways = ", ".join(f"{session} ({way})" for session, way in each.lacking)
            yield Finding(
                "tries-one-way",
                Severity.WARNING,
                f"{names}: a direction has no try in {ways}; these sessions have no value of it",
                "try it as often either way in every session; one way alone is no mean of both",
            )
        if each.uneven:
            yield Finding(
                "tries-unbalanced",
                Severity.WARNING,
                f"{names}: more tries one way than the other in {', '.join(each.uneven)}; the mean of "
                "each direction counts alike, so the one with fewer tries makes the value less certain",
                "try it as often either way",
            )


def _alike(tried: Tried) -> Iterator[tuple[str, TriedFigure]]:
    """The values of a manoeuvre that lack the same tries, with one of them for all."""
    groups: dict[tuple[object, ...], list[TriedFigure]] = {}
    for each in tried.figures:
        key = each.manoeuvre, each.lacking, each.uneven
        groups.setdefault(key, []).append(each)
    for mine in groups.values():
        yield listed([each.name for each in mine]), mine[0]


def manoeuvre_method(analysed: Analysed) -> Iterator[str]:
    """How tries became verdicts, in a paragraph."""
    tried = analysed.tried
    if tried is None or not tried.figures:
        return
    yield (
        "Manoeuvres: a session value is the mean over tries within each direction, and then of the "
        "directions, so that neither outweighs the other; a session without a try one way has no "
        "value. What is compared as a ratio is averaged as logarithms, since times and lengths "
        "scatter by a part of themselves. The scatter of tries about their session and direction is "
        "the run noise; ten tries of one session are one session value. The values go the way of every "
        "quantity."
    )
    for each in {one.manoeuvre: one for one in tried.figures}.values():
        declared = each.declared
        name = declared.title or each.manoeuvre.replace("_", " ").capitalize()
        aside = sum(
            bool(one.set_aside) for one in tried.read.tries if one.manoeuvre == each.manoeuvre
        )
        yield (
            f"{name}: from '{declared.start}' to '{declared.end}'; {declared.label}"
            + (f"; {aside} {'try' if aside == 1 else 'tries'} set aside" if aside else "")
            + "."
        )
