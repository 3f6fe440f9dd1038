"""The logs of a trial to its tries: sessions told apart, sources chosen once, directions told, tries counted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from slackwater.analysis.handling.circles_found import QUANTITIES
from slackwater.analysis.handling.found_try import FoundTry
from slackwater.analysis.handling.tries import Tried, tries_of
from slackwater.analysis.handling.tries_result import SessionTries, TriesResult
from slackwater.analysis.handling.try_speeds import LEVERS
from slackwater.analysis.handling.wanted import Wanted, wanted_of
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.logs.joining import joined, within
from slackwater.analysis.logs.sources import choose
from slackwater.analysis.steady.cut_trial import chosen, in_order
from slackwater.analysis.steady.session_spans import SessionSpan, session_spans
from slackwater.analysis.steady.terms import CutTerms
from slackwater.analysis.steady.track import first
from slackwater.analysis.steady.trial_runs import logs_of
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Trial

MOST_OFF = 60.0  # [deg] from a direction, beyond which a try goes neither way
WIND = "wind_direction"


def tries_in(
    trial: Trial,
    logs: Sequence[str | Path] = (),
    *,
    sources: Mapping[str, Sequence[str]] | None = None,
    ahead_of_utc: timedelta | None = None,
) -> TriesResult:
    """Find the tries of a trial in the logs given, or in those that it names itself.

    Sources and clock that are not given are taken as the trial has them under `cut:`.

    Raises
    ------
    InputError
        When the protocol has no manoeuvres, sessions cannot be told apart, or a log cannot be used.
    """
    protocol = trial.protocol
    if not protocol.manoeuvres:
        message = (
            f"the protocol '{protocol.protocol}' has no manoeuvres, so there are no tries to find"
        )
        fix = "declare what is tried under 'manoeuvres:' in the protocol; runs are cut without --tries"
        raise InputError([Finding("no-manoeuvres", Severity.ERROR, message, fix, trial.document.place())])  # fmt: skip
    read = in_order(logs_of(trial, logs))
    offset = trial.cut.ahead_of_utc if ahead_of_utc is None else ahead_of_utc
    terms, spans = CutTerms.of(protocol), session_spans(trial, offset)
    channels = joined(read)
    wanted = tuple(wanted_of(name, each) for name, each in protocol.manoeuvres.items())
    declared = [name for each in wanted for name in each.channels]
    quantities = (*QUANTITIES, *LEVERS, terms.held, "trim", WIND, *declared)
    own = {name: each for name, each in trial.cut.asked.items() if name in quantities}
    choices = choose(channels, quantities, spans, {**own, **(sources or {})})
    taken = chosen(channels, choices)
    sessions = _sessions(spans, taken, wanted, terms)
    notes = [] if offset else [
        "times are UTC; --ahead-of-utc, or 'ahead_of_utc:' under the trial's 'cut:', gives them the clock of the place"
    ]  # fmt: skip
    return TriesResult(
        trial, wanted, tuple(read), tuple(choices), tuple(sessions), offset, tuple(notes)
    )


def _sessions(
    spans: Sequence[SessionSpan],
    channels: Sequence[Channel],
    wanted: Sequence[Wanted],
    terms: CutTerms,
) -> list[SessionTries]:
    """Every session; the first try that goes out and back says which course is out."""
    out: dict[str, float] = {}
    found = []
    for span in spans:
        parts = [within(channel, span) for channel in channels]
        own = [channel for channel in parts if channel.seconds.size]
        tried = tries_of(own, wanted, terms) if own else Tried(notes=("no log has anything of this session",))  # fmt: skip
        wind = first(own, WIND)
        notes, tries = list(tried.notes), []
        for one in tried.tries:
            each = next(w for w in wanted if w.name == one.manoeuvre)
            tries.append(_directed(one, each, out, wind))
        numbered = _numbered(tries)
        notes += _untold(numbered, wanted)
        found.append(SessionTries(span, numbered, tried.left_out, tuple(notes), _counts(numbered, wanted)))  # fmt: skip
    return found


def _directed(
    one: FoundTry, wanted: Wanted, out: dict[str, float], wind: Channel | None
) -> FoundTry:
    """The try with its direction; without one where nothing tells it."""
    if wanted.directions == "port_and_starboard":
        return replace(one, direction=one.side)
    if wanted.directions == "one_way" or one.course is None:
        return one
    if wanted.directions == "reciprocal":
        level = out.setdefault("", one.course)
        return replace(one, direction=_way(one.course - level, ("out", "back")))
    blows = _mean_of(wind, one) if wind is not None else None
    if blows is None:
        return one
    return replace(one, direction=_way(one.course - blows, ("against", "with")))


def _way(angle: float, ways: tuple[str, str]) -> str:
    """The first of two ways along a line, the second, or neither."""
    off = abs((angle + 180.0) % 360.0 - 180.0)
    return ways[0] if off <= MOST_OFF else ways[1] if off >= 180.0 - MOST_OFF else ""


def _mean_of(wind: Channel, one: FoundTry) -> float | None:
    """Where the wind came from about a try; None where it was not recorded. [deg]"""
    a, b = np.searchsorted(wind.seconds, [one.start - 60.0, one.end])
    turn = np.radians(wind.values[a:b])
    return (
        float(np.degrees(np.arctan2(np.sin(turn).mean(), np.cos(turn).mean()))) if b > a else None
    )


def _numbered(tries: Sequence[FoundTry]) -> tuple[FoundTry, ...]:
    """Tries with their numbers, in order of time within manoeuvre and direction."""
    count: Counter[tuple[str, str]] = Counter()
    found = []
    for one in tries:
        count[one.manoeuvre, one.direction] += 1
        found.append(replace(one, number=count[one.manoeuvre, one.direction]))
    return tuple(found)


def _untold(tries: Sequence[FoundTry], wanted: Sequence[Wanted]) -> list[str]:
    """What has to be written in by hand before the table can be read."""
    notes = []
    for each in wanted:
        lacking = [one for one in tries if one.manoeuvre == each.name and not one.direction]
        if lacking and len(each.ways) > 1:
            why = "no wind direction is recorded" if each.directions == "with_and_against_wind" else "their courses lie along no one line"  # fmt: skip
            notes.append(
                f"{each.name}: the direction of {len(lacking)} of its tries is not told ({why}): write "
                f"{' or '.join(each.ways)} into the table"
            )
    return notes


def _counts(
    tries: Sequence[FoundTry], wanted: Sequence[Wanted]
) -> dict[tuple[str, str], tuple[int, int]]:
    """Tries found that are not set aside, and planned, by manoeuvre and direction."""
    found = Counter((one.manoeuvre, one.direction) for one in tries if not one.aside)
    return {
        (each.name, way): (found[each.name, way], each.tries)
        for each in wanted
        for way in each.ways
    }
