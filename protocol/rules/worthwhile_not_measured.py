"""A worthwhile difference is declared for what is not measured."""

from __future__ import annotations

from slackwater.protocol.catalogue.recipes import given, lacking
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import worthwhile_declared


def check(protocol: Protocol) -> Found:
    have = given({*protocol.measures, *protocol.beside, protocol.set_point_measure})
    for name in protocol.analysis.worthwhile:
        missing = lacking(name, have)
        if missing:
            place = protocol.document.place(("analysis", "worthwhile", name), key=True)
            yield RULE.found(
                place, f"{name} cannot be told: {' and '.join(missing)} is not among the measures"
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
    needs=(worthwhile_declared,),
)
