"""Each configuration has one session."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import two_configurations


def check(protocol: Protocol) -> Found:
    if protocol.sessions.per_configuration == 1 and not protocol.noise:
        place = protocol.document.place(("sessions", "per_configuration"))
        yield RULE.found(
            place, "one session with each configuration: the change cannot be told from the day"
        )


RULE = ProtocolRule(
    id="one-session-each",
    severity=Severity.ERROR,
    title="Each configuration has one session.",
    looks_at=(
        "sessions.per_configuration",
        "sessions.order",
    ),
    why=(
        "The sea, the load, the fouling and the installation differ from one session to the "
        "next, whatever is fitted. With one session each, the change cannot be told from the "
        "day."
    ),
    fix=(
        "write 'per_configuration: 3' and 'order: ABBAAB', or declare under 'noise:' what "
        "earlier trials showed between sessions"
    ),
    source=("S. H. Hurlbert, Ecological Monographs 54 (1984), pp. 187-211: pseudoreplication"),
    passes=Example(protocol="sessions: {per_configuration: 2, order: ABBA}"),
    fails=Example(protocol="sessions: {per_configuration: 1, order: AB}"),
    at_limit=Example(protocol="sessions: {per_configuration: 2, order: ABBA}"),
    check=check,
    needs=(two_configurations,),
)
