"""The set point may stray so far that this alone moves the result."""

from __future__ import annotations

from slackwater.protocol.catalogue.recipes import given, powers
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import worthwhile_declared
from slackwater.protocol.rules._sizes import hold, percent, size_unknown, worthwhile

# With which power of the engine speed each measure goes; propeller law, common practice.
ROTATION = {
    "speed_over_ground": 1.0,
    "speed_through_water": 1.0,
    "speed": 1.0,
    "fuel_flow": 3.0,
    "fuel_mass_flow": 3.0,
    "shaft_power": 3.0,
    "electric_power": 3.0,
    "torque": 2.0,
}
#: What engine speed is to the quantity held.
OF_HELD = {
    "engine_speed": 1.0,
    "propeller_speed": 1.0,
    "speed": 1.0,
    "speed_over_ground": 1.0,
    "speed_through_water": 1.0,
    "shaft_power": 3.0,
}


def exponent(protocol: Protocol, quantity: str) -> float | None:
    """The power of what is held with which a quantity goes; None where that is not known."""
    held = OF_HELD.get(protocol.set_point_measure)
    parts = powers(quantity, given(protocol.measures))
    if held is None or not parts.keys() <= ROTATION.keys():
        return None
    return abs(sum(power * ROTATION[name] for name, power in parts.items())) / held


def check(protocol: Protocol) -> Found:
    stray = hold(protocol)
    if stray is None:
        yield RULE.unseen(
            "what part of the set points 'hold' is, is not known", "'hold' in per cent"
        )
        return
    for quantity in (each for each in protocol.analysis.worthwhile if each not in protocol.beside):
        size, power = worthwhile(protocol, quantity), exponent(protocol, quantity)
        if size is None:
            yield size_unknown(protocol, quantity).of(RULE.id)
        elif power is None:
            yield RULE.unseen(
                f"how {quantity} goes with {protocol.set_point_measure} is not known",
                "a set point of engine speed, speed or power, and a quantity of speed, fuel or power",
            )
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
        "common practice: speed about proportional to engine speed; 40 CFR 1042, appendix II "
        "(E3): power with its cube, the propeller law"
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
    needs=(worthwhile_declared,),
)
