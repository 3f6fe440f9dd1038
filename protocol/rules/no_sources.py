"""The protocol names no sources."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    if not protocol.sources:
        yield RULE.found(protocol.document.place(("sources",)), "no sources are named")


RULE = ProtocolRule(
    id="no-sources",
    severity=Severity.ADVICE,
    title="The protocol names no sources.",
    looks_at=("sources",),
    why=(
        "A reader wants to know where the limits and the pattern of runs come from. A limit "
        "with a source can be defended; one without is taste."
    ),
    fix="add 'sources:' with the standards drawn on, or 'common practice'",
    source="common practice",
    passes=Example(protocol='sources: ["Common practice"]'),
    fails=Example(protocol="sources: []"),
    check=check,
)
