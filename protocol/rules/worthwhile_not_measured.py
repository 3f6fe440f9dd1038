"""A worthwhile difference is declared for what is not measured."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity

SPEEDS = ("speed_over_ground", "speed_through_water")
FUELS = ("fuel_flow", "fuel_mass_flow")
NEEDS: dict[str, tuple[tuple[str, ...], ...]] = {
    "speed": (SPEEDS,),
    "top_speed": (SPEEDS,),
    "planing_threshold": (SPEEDS,),
    "economy": (SPEEDS, FUELS),
    "fuel_per_distance": (SPEEDS, FUELS),
    "range": (SPEEDS, FUELS),
    "best_economy_speed": (SPEEDS, FUELS),
    "advance": (SPEEDS, ("engine_speed", "propeller_speed")),
    "slip": (SPEEDS, ("engine_speed", "propeller_speed")),
}


def check(protocol: Protocol) -> Found:
    have = {*protocol.measures, protocol.set_point_measure}
    for name in protocol.analysis.worthwhile:
        needs = NEEDS.get(name, ((name,),))
        lacking = [group[0] for group in needs if not any(one in have for one in group)]
        if lacking:
            place = protocol.document.place(("analysis", "worthwhile", name), key=True)
            yield RULE.found(
                place, f"{name} cannot be told: {' and '.join(lacking)} is not among the measures"
            )


RULE = ProtocolRule(
    id="worthwhile-not-measured",
    severity=Severity.WARNING,
    title="A worthwhile difference is declared for what is not measured.",
    looks_at=(
        "analysis.worthwhile",
        "measures",
    ),
    why=(
        "A quantity is compared only where the measures give it. A worthwhile difference for "
        "one that they do not give promises an answer that will never come."
    ),
    fix="declare the measures that it takes, or take it away",
    source="common practice",
    passes=Example(
        protocol=(
            "{measures: {speed_over_ground: {unit: kn}, fuel_flow: {unit: L/h}}, analysis: "
            "{worthwhile: {speed: 1 %, economy: 3 %}}}"
        )
    ),
    fails=Example(
        protocol=(
            "{measures: {speed_over_ground: {unit: kn}}, analysis: {worthwhile: {speed: 1 %, "
            "economy: 3 %}}}"
        )
    ),
    check=check,
)
