"""A day holds one side of a comparison only."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import dated
from slackwater.protocol.rules._trials import session_place, touched


def check(trial: Trial) -> Found:
    if trial.protocol.sessions.block != "day":
        yield RULE.not_applicable("sessions are not compared within their day")
        return
    lack = dated(trial)
    if lack is not None:
        yield lack.of(RULE.id)
    for pair in trial.comparisons:
        sides: dict[str, dict[str, list[str]]] = {}
        for session in trial.sessions:
            if session.day and session.configuration in (pair.baseline, pair.modified):
                day = sides.setdefault(session.day, {})
                day.setdefault(session.configuration, []).append(session.id)
        for date, found in sides.items():
            if len(found) == 1:
                name, ids = next(iter(found.items()))
                yield RULE.found(
                    session_place(trial, ids[0]),
                    f"on {date} only {name} was run ({', '.join(ids)}): it is compared with nothing"
                    + touched(trial, ids),
                    session=ids[0],
                )


RULE = TrialRule(
    id="day-unmatched",
    severity=Severity.WARNING,
    title="A day holds one side of a comparison only.",
    looks_at=(
        "sessions",
        "protocol.sessions.block",
    ),
    why=(
        "With 'block: day' sessions are compared within their day, so that what the day does "
        "cancels. A day with one side only adds nothing to the comparison, whatever was run on "
        "it."
    ),
    fix="run the other configuration on the same day, or write 'block: none'",
    source="common practice: blocking",
    passes=Example(
        protocol="sessions: {per_configuration: 3, order: ABBAAB, block: day}",
        trial=(
            "sessions: [{id: S2, date: 2026-05-04}, {id: S3, date: 2026-05-05}, {id: S4, date: "
            "2026-05-05}, {id: S5, date: 2026-05-06}, {id: S6, date: 2026-05-06}]"
        ),
    ),
    fails=Example(protocol="sessions: {per_configuration: 3, order: ABBAAB, block: day}"),
    check=check,
)
