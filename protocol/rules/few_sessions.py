"""Two sessions with each configuration."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity

FEWEST = 3  # sessions with each configuration
T_95 = 4.30  # t quantile, 95 % two-sided, 2 degrees of freedom


def check(protocol: Protocol) -> Found:
    if 1 < protocol.sessions.per_configuration < FEWEST and not protocol.noise:
        place = protocol.document.place(("sessions", "per_configuration"))
        yield RULE.found(
            place,
            "2 sessions with each configuration leave 2 degrees of freedom: intervals reach "
            f"{T_95} standard errors",
        )


RULE = ProtocolRule(
    id="few-sessions",
    severity=Severity.ADVICE,
    title="Two sessions with each configuration.",
    looks_at=(
        "sessions.per_configuration",
        "noise",
    ),
    why=(
        "Two sessions each leave two degrees of freedom for the scatter between sessions, and a"
        " t quantile of 4.30. The noise floor is then more than twice what it would be if the "
        "scatter were known."
    ),
    fix=(
        "write 'per_configuration: 3' or more, or declare under 'noise:' what earlier trials showed"
    ),
    source=(
        "JCGM 100:2008 (GUM), table G.2: t at 95 % is 4.30 with 2 degrees of freedom, 2.78 with 4"
    ),
    passes=Example(protocol="sessions: {per_configuration: 4, order: ABBABAAB}"),
    fails=Example(protocol="sessions: {per_configuration: 2, order: ABBA}"),
    at_limit=Example(protocol="sessions: {per_configuration: 3, order: ABBAAB}"),
    check=check,
)
