"""The order holds one configuration only."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    if len(set(protocol.sessions.order)) < 2:
        place = protocol.document.place(("sessions", "order"))
        yield RULE.found(place, f"the order {protocol.sessions.order} holds one configuration only")


RULE = ProtocolRule(
    id="one-configuration",
    severity=Severity.ERROR,
    title="The order holds one configuration only.",
    looks_at=("sessions.order",),
    why=(
        "A difference takes two configurations, A the baseline and B the modified. A protocol "
        "with one of them compares nothing."
    ),
    fix="write an order with both, such as ABBAAB",
    source="common practice",
    passes=Example(protocol="sessions: {per_configuration: 3, order: ABBAAB}"),
    fails=Example(protocol="sessions: {per_configuration: 3, order: AAA}"),
    check=check,
)
