"""No limit on wind speed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._limits import missing_limit
from slackwater.protocol.rules._rule import Example, ProtocolRule

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol


def check(protocol: Protocol) -> Iterator[Finding]:
    yield from missing_limit(RULE, protocol, "conditions", "wind_speed", ("at_most", "between"))


RULE = ProtocolRule(
    id="no-wind-limit",
    severity=Severity.WARNING,
    title="No limit on wind speed.",
    looks_at=("conditions.wind_speed",),
    why=(
        "Air drag grows with the square of the apparent wind and does not cancel between out "
        "and back. Half the speed in wind adds a quarter to the mean air drag of the pair."
    ),
    fix="add 'wind_speed: {at_most: 8 kn}' under 'conditions:'",
    source=(
        "algebra: the mean of (V+W)^2 and (V-W)^2 is V^2+W^2; ITTC 7.5-04-01-01.1 (2017) limits"
        " wind by Beaufort number (from memory)"
    ),
    passes=Example(protocol="conditions: {wind_speed: {at_most: 8 kn}}"),
    fails=Example(protocol="conditions: {wave_height: {at_most: 0.3 m}}"),
    check=check,
)
