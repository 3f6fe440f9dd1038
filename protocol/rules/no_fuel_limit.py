"""No limit on fuel."""

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
        RULE, protocol, "loading", "fuel", ("at_least", "between", "within", "same", "at_most")
    )


RULE = ProtocolRule(
    id="no-fuel-limit",
    severity=Severity.ADVICE,
    title="No limit on fuel.",
    looks_at=("loading.fuel",),
    why=(
        "Fuel is the load that changes while a trial goes on, and its tank is seldom at the "
        "centre of gravity. The same displacement with full or empty tanks is another trim."
    ),
    fix="add 'fuel: {between: [40 %, 100 %]}' under 'loading:'",
    source="ISO 14946:2021, clause 5, counts tanks at 95 % into the maximum load; common practice",
    passes=Example(protocol="loading: {fuel: {between: [40 %, 100 %]}}"),
    fails=Example(protocol="loading: {displacement: {within: 1 %}}"),
    check=check,
)
