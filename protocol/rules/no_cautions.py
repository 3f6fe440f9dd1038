"""The protocol carries no cautions."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    if not protocol.cautions:
        yield RULE.found(protocol.document.place(("cautions",)), "no cautions are given")


RULE = ProtocolRule(
    id="no-cautions",
    severity=Severity.ADVICE,
    title="The protocol carries no cautions.",
    looks_at=("cautions",),
    why=(
        "A protocol is read aboard, at speed, by people looking at instruments. What protects "
        "them belongs on the same sheet."
    ),
    fix=("add 'cautions:' (local rules, the skipper's last word, a lookout who does nothing else)"),
    source="common practice",
    passes=Example(protocol='cautions: ["The skipper may call off any run."]'),
    fails=Example(protocol="cautions: []"),
    check=check,
)
