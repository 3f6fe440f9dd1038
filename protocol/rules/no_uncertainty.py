"""No uncertainty is declared for an instrument."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    for name, measure in protocol.measures.items():
        if measure.standard_uncertainty is None:
            place = protocol.document.place(("measures", name), key=True)
            yield RULE.found(place, f"{name} has no standard uncertainty")


RULE = ProtocolRule(
    id="no-uncertainty",
    severity=Severity.ADVICE,
    title="No uncertainty is declared for an instrument.",
    looks_at=("measures",),
    why=(
        "An instrument without a declared uncertainty is taken as perfect. Intervals come out "
        "too short where its error does not cancel."
    ),
    fix=(
        "add 'standard_uncertainty:' from the calibration or the maker's figure (half of a 95 %"
        " limit)"
    ),
    source="JCGM 100:2008 (GUM), 4.3: uncertainty from specifications",
    passes=Example(
        protocol="measures: {speed_over_ground: {unit: kn, standard_uncertainty: 0.05 kn}}"
    ),
    fails=Example(protocol="measures: {speed_over_ground: {unit: kn}}"),
    check=check,
)
