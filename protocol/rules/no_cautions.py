"""The protocol carries no cautions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._rule import Example, ProtocolRule

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol


def check(protocol: Protocol) -> Iterator[Finding]:
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
