"""An instrument's uncertainty is larger than the worthwhile difference."""

from __future__ import annotations

import math

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._sizes import fraction, percent, slowest, worthwhile
from slackwater.protocol.units.quantity import Quantity

SPEED = ("speed_over_ground", "speed_through_water")
FUEL = ("fuel_flow", "fuel_mass_flow")
ROTATION = ("engine_speed", "propeller_speed")
MADE_OF: dict[str, tuple[tuple[str, ...], ...]] = {
    "speed": (SPEED,),
    "top_speed": (SPEED,),
    "economy": (SPEED, FUEL),
    "fuel_per_distance": (SPEED, FUEL),
    "range": (SPEED, FUEL),
    "advance": (SPEED, ROTATION),
}


def check(protocol: Protocol) -> Found:
    for quantity in protocol.analysis.worthwhile:
        size = worthwhile(protocol, quantity)
        parts = [_error(protocol, group) for group in MADE_OF.get(quantity, ((quantity,),))]
        total = math.sqrt(sum(part**2 for part in parts))
        if size is None or total <= size * (1 + 1e-9):
            continue
        yield RULE.found(
            protocol.document.place(("analysis", "worthwhile", quantity)),
            f"the instruments behind {quantity} have a standard uncertainty of {percent(total)} "
            f"(absolute ones {slowest(protocol)[1]}); the worthwhile difference is {percent(size)}",
        )


def _error(protocol: Protocol, group: tuple[str, ...]) -> float:
    """What an instrument adds to a difference, as a fraction; twice where there are two."""
    name = next((one for one in group if one in protocol.measures), None)
    declared = protocol.measures[name].standard_uncertainty if name else None
    if name is None or declared is None:
        return 0.0
    reference = None
    if name in SPEED:
        reference = Quantity(slowest(protocol)[0], "kn")
    elif name == protocol.set_point_measure:
        reference = Quantity(min(map(abs, protocol.set_point_values)), protocol.set_point_unit)
    size = fraction(declared, reference) or 0.0
    return size if protocol.measures[name].shared else size * math.sqrt(2)


RULE = ProtocolRule(
    id="instrument-too-coarse",
    severity=Severity.WARNING,
    title="An instrument's uncertainty is larger than the worthwhile difference.",
    looks_at=(
        "measures",
        "analysis.worthwhile",
    ),
    why=(
        "No number of runs makes up for an instrument whose error is larger than what is looked"
        " for. A shared instrument cancels its error only as far as that stays the same from "
        "session to session."
    ),
    fix="use a better instrument, calibrate it, or declare a larger worthwhile difference",
    source="JCGM 100:2008 (GUM), 5.1: combined standard uncertainty",
    passes=Example(
        protocol=(
            "{measures: {speed_over_ground: {unit: kn, standard_uncertainty: 0.5 %, shared: "
            "true}}, analysis: {worthwhile: {speed: 1 %}}}"
        )
    ),
    fails=Example(
        protocol=(
            "{measures: {speed_over_ground: {unit: kn, standard_uncertainty: 1.1 %, shared: "
            "true}}, analysis: {worthwhile: {speed: 1 %}}}"
        )
    ),
    at_limit=Example(
        protocol=(
            "{measures: {speed_over_ground: {unit: kn, standard_uncertainty: 1 %, shared: "
            "true}}, analysis: {worthwhile: {speed: 1 %}}}"
        )
    ),
    check=check,
)
