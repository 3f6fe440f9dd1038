"""The protocol names no sources."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._rule import Example, ProtocolRule

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol


def check(protocol: Protocol) -> Iterator[Finding]:
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
