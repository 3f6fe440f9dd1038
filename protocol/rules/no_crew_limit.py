"""No limit on crew."""

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
        RULE, protocol, "loading", "crew", ("same", "within", "between", "at_most")
    )


RULE = ProtocolRule(
    id="no-crew-limit",
    severity=Severity.ADVICE,
    title="No limit on crew.",
    looks_at=("loading.crew",),
    why=(
        "One person is 75 kg that moves about, in a light boat a percent of her mass or more. "
        "Another crew is another loading and another trim."
    ),
    fix="add 'crew: {same: true}' under 'loading:'",
    source="ISO 14946:2021, clause 5: 75 kg a person",
    passes=Example(protocol="loading: {crew: {same: true}}"),
    fails=Example(protocol="loading: {displacement: {within: 1 %}}"),
    check=check,
)
