"""No limit on wave height."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._limits import missing_limit
from slackwater.protocol.rules._rule import Example, ProtocolRule

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol


def check(protocol: Protocol) -> Iterator[Finding]:
    yield from missing_limit(RULE, protocol, "conditions", "wave_height", ("at_most", "between"))


RULE = ProtocolRule(
    id="no-wave-limit",
    severity=Severity.WARNING,
    title="No limit on wave height.",
    looks_at=("conditions.wave_height",),
    why=(
        "Waves add resistance in both directions, so that no averaging takes it out. A rougher "
        "day costs one configuration what it spares the other."
    ),
    fix="add 'wave_height: {at_most: 0.3 m}' under 'conditions:'",
    source=(
        "ITTC 7.5-04-01-01.1 (2017) limits wave height by length (from memory); common practice"
        " for small craft"
    ),
    passes=Example(protocol="conditions: {wave_height: {at_most: 0.3 m}}"),
    fails=Example(protocol="conditions: {wind_speed: {at_most: 8 kn}}"),
    check=check,
)
