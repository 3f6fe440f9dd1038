"""No limit on water depth."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._limits import missing_limit
from slackwater.protocol.rules._rule import Example, ProtocolRule

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol


def check(protocol: Protocol) -> Iterator[Finding]:
    yield from missing_limit(
        RULE, protocol, "conditions", "water_depth", ("at_least", "between", "within", "same")
    )


RULE = ProtocolRule(
    id="no-depth-limit",
    severity=Severity.WARNING,
    title="No limit on water depth.",
    looks_at=("conditions.water_depth",),
    why=(
        "Shallow water slows a boat below its critical speed and can speed her up above it. A "
        "difference in depth can therefore pass for a difference between configurations."
    ),
    fix=(
        "add 'water_depth: {at_least: ...}' under 'conditions:'; see the rule shallow-water for"
        " how deep"
    ),
    source=(
        "D. Radojcic and J. Bowles, Chesapeake Power Boat Symposium (2010): shallow water below"
        " and above critical speed"
    ),
    passes=Example(protocol="conditions: {water_depth: {at_least: 20 m}}"),
    fails=Example(protocol="conditions: {wind_speed: {at_most: 8 kn}}"),
    check=check,
)
