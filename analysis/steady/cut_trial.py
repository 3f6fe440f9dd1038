"""The logs of a trial to its runs: sessions told apart, sources chosen once, each session cut."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import TYPE_CHECKING

from slackwater.analysis.logs.channels import Channel, Log
from slackwater.analysis.logs.joining import joined, within
from slackwater.analysis.logs.sources import Choice, choose
from slackwater.analysis.logs.table_words import Told
from slackwater.analysis.steady.cut_result import CutResult, SessionCut
from slackwater.analysis.steady.cutting import Cut, cut_session
from slackwater.analysis.steady.plan_order import Plans, plan_of_protocol
from slackwater.analysis.steady.session_spans import SessionSpan, session_spans
from slackwater.analysis.steady.terms import CutTerms
from slackwater.analysis.steady.track import COURSES
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Trial

WAY = ("speed_over_ground", *COURSES, "latitude", "longitude")
SHOWN = ("speed_through_water", "heading", "heading_magnetic")  # for the lags alone


def cut_trial(
    trial: Trial,
    logs: Sequence[Log],
    plans: Plans | None = None,
    sources: Mapping[str, Sequence[str]] | None = None,
    offset: timedelta = timedelta(0),
) -> CutResult:
    """Cut the runs of all sessions.

    Parameters
    ----------
    trial : Trial
    logs : sequence of Log
    plans : mapping, optional
        Order of the runs of each session; without it what the protocol itself tells.
    sources : mapping, optional
        Sources asked for, by quantity; several are several engines.
    offset : timedelta
        By which local time is ahead of UTC.

    Raises
    ------
    InputError
        When sessions cannot be told apart, or a log has no date.
    """
    logs = in_order(logs)
    terms = CutTerms.of(trial.protocol)
    spans = session_spans(trial, offset)
    channels = joined(logs)
    wanted = (*WAY, terms.held, *(name for name, _, _ in terms.measures), *SHOWN)
    engines = {name: own for name, own in trial.columns.items() if not isinstance(own, str)}
    choices = choose(channels, wanted, spans, sources or {}, engines)
    plans = plan_of_protocol(trial) if plans is None else plans
    cuts = _cut_all(spans, chosen(channels, choices), terms, plans)
    return CutResult(
        trial, terms, tuple(logs), tuple(choices), tuple(cuts), offset, _notes(terms, choices, offset)
    )  # fmt: skip


def in_order(logs: Sequence[Log]) -> list[Log]:
    """Logs by their beginning, so that no order in which they are given changes anything.

    Raises
    ------
    InputError
        When one has no date, or is given twice.
    """
    _stop_on_undated(logs)
    ordered = sorted(logs, key=_by_time)
    _stop_on_copies(ordered)
    return ordered


def told_by(trial: Trial) -> Told:
    """What a trial says of the headings of tables, for logs that are tables."""
    protocol = trial.protocol
    measures = {name: protocol.measure(name).unit for name in protocol.measures}
    return Told(trial.columns, trial.units, trial.dates, measures)


def _cut_all(
    spans: Sequence[SessionSpan], channels: Sequence[Channel], terms: CutTerms, plans: Plans
) -> list[SessionCut]:
    """Every session; the first that has runs says which course is out."""
    out_course: float | None = None
    cuts = []
    for span in spans:
        own = [within(channel, span) for channel in channels]
        own = [channel for channel in own if channel.seconds.size]
        plan = plans.get(span.session, [])
        cut = (
            cut_session(own, terms, plan, out_course)
            if own
            else Cut(why_none="no log has anything of this session", missing=tuple(plan))
        )
        cuts.append(SessionCut(span, cut))
        outward = [run.course for run in cut.runs if run.direction == "out"]
        out_course = outward[0] if outward and out_course is None else out_course
    return cuts


def chosen(channels: Sequence[Channel], choices: Sequence[Choice]) -> list[Channel]:
    """The channels taken, in the order of the choices: that of the engines' columns."""
    there = {(channel.quantity, channel.source): channel for channel in channels}
    return [there[each.quantity, each.source] for each in choices]


def _notes(terms: CutTerms, choices: Sequence[Choice], offset: timedelta) -> tuple[str, ...]:
    there = {each.quantity for each in choices}
    absent = [name for name, _, _ in terms.measures if name not in there]
    notes = [
        f"no log has {name.replace('_', ' ')}: the table has no column for it" for name in absent
    ]
    notes += _engines_left(terms, choices)
    if not offset:
        notes.append(
            "times are UTC; --ahead-of-utc, or 'ahead_of_utc:' under the trial's 'cut:', gives them the "
            "clock of the place"
        )
    return tuple(notes)


def _engines_left(terms: CutTerms, choices: Sequence[Choice]) -> list[str]:
    """What is a sum over engines, is read from one source, and has others."""
    found = {name: [c for c in choices if c.quantity == name] for name, _, _ in terms.measures}
    return [
        f"{name.replace('_', ' ')} is that of '{one[0].source}' alone: if the others are engines of the same boat, name "
        f"all of them under the trial's 'cut:', sources: {{{name}: […]}}"
        for name, _, combine in terms.measures
        if combine == "sum" and len(one := found[name]) == 1 and one[0].others
    ]


def _by_time(log: Log) -> tuple[float, str, str]:
    """By their beginning, what has none last; then by name and content."""
    return (log.span[0] if log.span else math.inf, str(log.path), log.sha256)


def _stop_on_copies(logs: Sequence[Log]) -> None:
    """Refuse a log that is given twice: each of its values would count twice."""
    seen: dict[tuple[object, ...], Log] = {}
    wrong = []
    for log in logs:
        first = seen.setdefault((log.sha256, log.form, log.lines, log.span), log)
        if log.sha256 and first is not log:
            wrong.append(
                Finding(
                    "log-twice",
                    Severity.ERROR,
                    f"holds the same as {first.path}, so that every value would count twice",
                    "give each log once",
                    Place(str(log.path)),
                )
            )
    if wrong:
        raise InputError(wrong)


def _stop_on_undated(logs: Sequence[Log]) -> None:
    wrong = [
        Finding(
            "log-undated",
            Severity.ERROR,
            f"has no date ({log.clock}), so it cannot be told which session it belongs to",
            "record a sentence or message with the date (RMC, ZDA; 126992, 129029) along with the others",
            Place(str(log.path)),
        )
        for log in logs
        if log.clock != "utc"
    ]
    if wrong:
        raise InputError(wrong)
