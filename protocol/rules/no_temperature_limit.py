"""No limit on water temperature."""

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
        RULE, protocol, "conditions", "water_temperature", ("at_most", "between", "within", "same")
    )


RULE = ProtocolRule(
    id="no-temperature-limit",
    severity=Severity.WARNING,
    title="No limit on water temperature.",
    looks_at=("conditions.water_temperature",),
    why=(
        "Water changes density and viscosity with temperature, and an engine its power with "
        "what cools it. A baseline in spring and a change in summer differ by that too."
    ),
    fix="add 'water_temperature: {within: 5 delta_degC}' under 'conditions:'",
    source=(
        "TEOS-10: sea water at 35.165 g/kg has 1026.95 kg/m^3 at 10 degC and 1024.77 at 20 "
        "degC; ISO 15016:2015 refers to 15 degC"
    ),
    passes=Example(protocol="conditions: {water_temperature: {within: 5 delta_degC}}"),
    fails=Example(protocol="conditions: {wind_speed: {at_most: 8 kn}}"),
    check=check,
)
