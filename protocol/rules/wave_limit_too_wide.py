"""The limit on waves is that of a ship."""

from __future__ import annotations

import math

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import upper_limit_on

LONGEST = 24.0  # [m], hull length of small craft


def highest(length: float) -> float:
    """Significant wave height up to which ships are tried [m], from their length [m]."""
    return 2.25 * math.sqrt(length / 100)


def check(protocol: Protocol) -> Found:
    limit = protocol.limits.get("wave_height")
    top = limit and (limit.at_most or (limit.between[1] if limit.between else None))
    if top and top.to("m").value > highest(LONGEST):
        place = protocol.document.place(("conditions", "wave_height"))
        yield RULE.found(
            place,
            f"waves of up to {top} are let in; at {LONGEST:g} m length the published limit is "
            f"{highest(LONGEST):.2g} m",
        )


RULE = ProtocolRule(
    id="wave-limit-too-wide",
    severity=Severity.WARNING,
    title="The limit on waves is that of a ship.",
    looks_at=("conditions.wave_height",),
    why=(
        "The published limit grows with the root of the length, and small craft end at 24 m. A "
        "limit above what a boat of 24 m would be allowed limits nothing."
    ),
    fix="write 'wave_height: {at_most: 0.3 m}' or what suits the length of the boat",
    source=(
        "common practice: ships are tried in 2.25 sqrt(L / 100) m, measured; ISO 8666: small "
        "craft up to 24 m"
    ),
    passes=Example(protocol="conditions: {wave_height: {at_most: 0.3 m}}"),
    fails=Example(protocol="conditions: {wave_height: {at_most: 1.2 m}}"),
    at_limit=Example(protocol="conditions: {wave_height: {at_most: 1.1 m}}"),
    check=check,
    needs=(upper_limit_on("wave_height"),),
)
