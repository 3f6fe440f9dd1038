"""No limit on displacement."""

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
        RULE, protocol, "loading", "displacement", ("within", "same", "between")
    )


RULE = ProtocolRule(
    id="no-displacement-limit",
    severity=Severity.WARNING,
    title="No limit on displacement.",
    looks_at=("loading.displacement",),
    why=(
        "Resistance follows displacement: by the admiralty coefficient 5 % more mass costs 1 % "
        "of speed at equal power, and more when planing. A boat that is lighter after the yard "
        "has been at her gains speed whatever was fitted."
    ),
    fix="add 'displacement: {within: 1 %}' under 'loading:'",
    source=(
        "admiralty coefficient, displacement^(2/3) V^3 / P; published ship trials hold "
        "displacement within 2 %"
    ),
    passes=Example(protocol="loading: {displacement: {within: 1 %}}"),
    fails=Example(protocol="loading: {crew: {same: true}}"),
    check=check,
)
