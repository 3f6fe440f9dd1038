"""No worthwhile difference is declared."""

from __future__ import annotations

from slackwater.protocol.catalogue.recipes import OF_FUEL, SPEEDS, given
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity

SPEED = ("speed", *SPEEDS, "top_speed")
ENERGY = ("distance_per_energy", "energy_per_distance", "electric_power")


def check(protocol: Protocol) -> Found:
    declared = protocol.analysis.worthwhile
    speed_held = protocol.set_point_measure in SPEED
    asked: list[tuple[str, tuple[str, ...]]] = []
    if not speed_held and any(name in protocol.measures for name in SPEED):
        asked.append(("speed", SPEED))
    if any(name in protocol.measures for name in OF_FUEL):
        asked.append(("economy", tuple(OF_FUEL)))
    if any(name in given(protocol.measures) for name in ENERGY):
        asked.append(("distance per energy", ENERGY))
    if any(name in declared for name in protocol.beside):
        asked = []  # people are asked, and the runs say at which speed
    missing = [name for name, any_of in asked if not any(one in declared for one in any_of)]
    if missing or not declared:
        about = f" for {' and '.join(missing)}" if declared else ""
        place = protocol.document.place(("analysis", "worthwhile"))
        yield RULE.found(place, f"no worthwhile difference is declared{about}")


RULE = ProtocolRule(
    id="no-worthwhile-difference",
    severity=Severity.WARNING,
    title="No worthwhile difference is declared.",
    looks_at=(
        "analysis.worthwhile",
        "measures",
    ),
    why=(
        "Unless the smallest difference that matters is declared beforehand, a result can "
        "choose its own test. Neither 'equivalent' nor 'exceeds it' can be said, and no "
        "trial can be planned to size."
    ),
    fix="write 'worthwhile: {speed: 1 %, economy: 3 %}' with the figures that matter to you",
    source="ASTM E2935-21, 4.1.1: the limit of equivalence is fixed beforehand",
    passes=Example(protocol="analysis: {worthwhile: {speed: 1 %, economy: 3 %}}"),
    fails=Example(protocol="analysis: {worthwhile: {speed: 1 %}}"),
    check=check,
)
