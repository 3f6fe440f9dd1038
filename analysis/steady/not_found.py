"""Why runs that were planned are not among those cut, and why there may be none at all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.analysis.wording.words import count_of
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.units.quantity import show_number

if TYPE_CHECKING:
    from slackwater.analysis.intake.provenance import Missing, Provenance
    from slackwater.analysis.steady.cut_result import CutResult, SessionCut
    from slackwater.analysis.steady.cutting import Cut
    from slackwater.analysis.steady.terms import PlannedLeg

_MOST_TOLD = 3  # stretches that are named for a planned run


def why_missing(cut: Cut, leg: PlannedLeg) -> str:
    """What came in the place of a planned run: what was set aside, or what was steady near it."""
    if cut.why_none and not cut.left_out:
        return cut.why_none
    reasons = [
        run.set_aside
        for run in cut.runs
        if run.set_aside and (run.set_point, run.direction) == (leg.set_point, leg.direction)
    ]
    reasons = [f"set aside: {each}" for each in reasons]
    reasons += [left.reason for left in cut.left_out if left.near == leg.set_point]
    told = list(dict.fromkeys(reasons))
    more = f"; and {len(told) - _MOST_TOLD} more" if len(told) > _MOST_TOLD else ""
    if not told:
        return cut.why_none or "nothing steady was found that could be it"
    return "; ".join(told[:_MOST_TOLD]) + more


def planned_words(leg: PlannedLeg, unit: str) -> str:
    """How many of which: "2 at 1500 rpm out"."""
    count, point = max(leg.double_run, 1), show_number(leg.set_point)
    return f"{count} at {point} {unit} {leg.direction}".strip()


def missing_findings(provenance: Provenance, place: Place) -> Iterator[Finding]:
    """The planned runs that are not among those cut, a finding for each session that lacks any."""
    unit = provenance.parameters.unit
    for each in provenance.sessions:
        count = sum(max(one.runs, 1) for one in each.missing)
        told = [f"{missing_words(one, unit)} ({one.reason})" for one in each.missing[:_MOST_TOLD]]
        more = f"; and {len(each.missing) - _MOST_TOLD} more" if each.missing[_MOST_TOLD:] else ""
        if told:
            yield Finding(
                "run-not-found",
                Severity.ADVICE,
                f"session {each.session}: {count_of(count, 'planned run')} not found in the logs: "
                f"{'; '.join(told)}{more}",
                "nothing, if they were not made; else see what the logs have with 'slackwater logs'",
                place,
                session=each.session,
            )


def missing_words(one: Missing, unit: str) -> str:
    """How many of which: "2 at 1500 rpm out"."""
    point = show_number(one.set_point)
    return f"{max(one.runs, 1)} at {point} {unit} {one.direction}".strip()


def stop_without_runs(result: CutResult, place: Place) -> None:
    """Refuse a trial of which the logs hold no run, and say why: session by session, run by run.

    Raises
    ------
    InputError
    """
    if not result.runs:
        raise InputError([told for each in result.sessions for told in _told(result, each, place)])


def _told(result: CutResult, each: SessionCut, place: Place) -> Iterator[Finding]:
    session = each.span.session
    yield Finding(
        "no-runs",
        Severity.ERROR,
        f"the logs hold no run of session {session}: {each.cut.why_none}",
        "see every steady stretch and why it is no run with 'slackwater logs LOG --trial TRIAL'",
        place,
        session=session,
    )
    for leg in each.cut.missing:
        yield Finding(
            "run-not-found",
            Severity.ADVICE,
            f"session {session}, planned and not found: {planned_words(leg, result.terms.unit)}; "
            f"{why_missing(each.cut, leg)}",
            "",
            place,
            session=session,
        )
