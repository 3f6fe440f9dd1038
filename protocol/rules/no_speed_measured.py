"""No speed is measured."""

from __future__ import annotations

from slackwater.protocol.catalogue.recipes import SPEEDS, given
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    if not any(name in given(protocol.measures) for name in SPEEDS):
        yield RULE.found(protocol.document.place(("measures",)), "no speed is measured")


RULE = ProtocolRule(
    id="no-speed-measured",
    severity=Severity.WARNING,
    title="No speed is measured.",
    looks_at=("measures",),
    why=(
        "Without a speed, economy, slip and range cannot be told, nor the current. A difference"
        " in fuel flow alone may be a difference in speed."
    ),
    fix=(
        "add 'speed_over_ground: {unit: kn, standard_uncertainty: 0.05 kn, shared: true}' under"
        " 'measures:'"
    ),
    source="common practice",
    passes=Example(protocol="measures: {speed_over_ground: {unit: kn}, fuel_flow: {unit: L/h}}"),
    fails=Example(protocol="measures: {fuel_flow: {unit: L/h}}"),
    check=check,
)
