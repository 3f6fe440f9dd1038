"""No limit on current."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._limits import missing_limit
from slackwater.protocol.rules._rule import Example, ProtocolRule

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol


def check(protocol: Protocol) -> Iterator[Finding]:
    yield from missing_limit(RULE, protocol, "conditions", "current", ("at_most", "between"))


RULE = ProtocolRule(
    id="no-current-limit",
    severity=Severity.WARNING,
    title="No limit on current.",
    looks_at=("conditions.current",),
    why=(
        "The current is taken out along the course only, and only as well as its changes are "
        "followed. The stronger it runs, the more of it is left in the speeds."
    ),
    fix="add 'current: {at_most: 1.5 kn}' under 'conditions:'",
    source=(
        "algebra: a current c across the course leaves sqrt(V^2 - c^2); ITTC 7.5-04-01-01.1 "
        "(2017) has a clause on current"
    ),
    passes=Example(protocol="conditions: {current: {at_most: 1.5 kn}}"),
    fails=Example(protocol="conditions: {wind_speed: {at_most: 8 kn}}"),
    check=check,
)
