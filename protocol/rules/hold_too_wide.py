"""The set point may stray so far that this alone moves the result."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._sizes import hold, percent, worthwhile

ROTATION = {
    "speed": 1.0,
    "speed_over_ground": 1.0,
    "speed_through_water": 1.0,
    "fuel_flow": 3.0,
    "fuel_mass_flow": 3.0,
    "shaft_power": 3.0,
    "torque": 2.0,
    "economy": 2.0,
    "fuel_per_distance": 2.0,
    "range": 2.0,
}
# Powers of what is held with which each quantity goes; propeller law.
EXPONENTS: dict[str, dict[str, float]] = {
    "engine_speed": ROTATION,
    "propeller_speed": ROTATION,
    "speed": ROTATION,
    "speed_over_ground": ROTATION,
    "speed_through_water": ROTATION,
    "shaft_power": {name: power / 3 for name, power in ROTATION.items()},
}


def check(protocol: Protocol) -> Found:
    stray = hold(protocol)
    exponents = EXPONENTS.get(protocol.set_point_measure, {})
    if stray is None:
        return
    for quantity in protocol.analysis.worthwhile:
        size, power = worthwhile(protocol, quantity), exponents.get(quantity)
        if size is None or power is None or stray * power <= size * (1 + 1e-9):
            continue
        yield RULE.found(
            protocol.document.place(("runs", "set_points", "hold")),
            f"{protocol.set_point_measure} may stray by {percent(stray)}, which moves {quantity} by "
            f"about {percent(stray * power)}; the worthwhile difference is {percent(size)}",
        )


RULE = ProtocolRule(
    id="hold-too-wide",
    severity=Severity.WARNING,
    title="The set point may stray so far that this alone moves the result.",
    looks_at=(
        "runs.set_points.hold",
        "analysis.worthwhile",
    ),
    why=(
        "Speed goes about with engine speed, and fuel flow with its cube. A set point that may "
        "stray further than the worthwhile difference can make or hide it."
    ),
    fix=(
        "narrow 'hold:', or correct the results to the set point and waive this rule with that "
        "reason"
    ),
    source=(
        "common practice: speed about proportional to engine speed; propeller law, power with "
        "its cube, as in 40 CFR 1042 appendix II (E3)"
    ),
    passes=Example(
        protocol="{runs: {set_points: {hold: 0.5 %}}, analysis: {worthwhile: {speed: 1 %}}}"
    ),
    fails=Example(
        protocol="{runs: {set_points: {hold: 1.1 %}}, analysis: {worthwhile: {speed: 1 %}}}"
    ),
    at_limit=Example(
        protocol=(
            "{runs: {set_points: {hold: 1 %}}, analysis: {worthwhile: {speed: 1 %, economy: 2 "
            "%, fuel_flow: 3 %}}}"
        )
    ),
    check=check,
)
