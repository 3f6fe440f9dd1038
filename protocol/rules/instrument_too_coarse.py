"""An instrument's uncertainty is larger than the worthwhile difference."""

from __future__ import annotations

import math
from collections.abc import Iterable

from slackwater.protocol.catalogue.recipes import SPEEDS, given, powers
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import worthwhile_declared
from slackwater.protocol.rules._sizes import fraction, percent, size_unknown, slowest, worthwhile
from slackwater.protocol.units.quantity import Quantity


def check(protocol: Protocol) -> Found:
    for quantity in (each for each in protocol.analysis.worthwhile if each not in protocol.beside):
        size = worthwhile(protocol, quantity)
        parts = powers(quantity, given(protocol.measures))
        total = math.sqrt(
            sum((power * _error(protocol, name)) ** 2 for name, power in parts.items())
        )
        if size is None:
            yield size_unknown(protocol, quantity).of(RULE.id)
        elif total <= size * (1 + 1e-9):
            yield from _untold(protocol, quantity, parts)
        else:
            yield RULE.found(
                protocol.document.place(("analysis", "worthwhile", quantity)),
                f"the instruments behind {quantity} have a standard uncertainty of {percent(total)} "
                f"(absolute ones {slowest(protocol)[1]}); the worthwhile difference is {percent(size)}",
            )


def _untold(protocol: Protocol, quantity: str, parts: Iterable[str]) -> Found:
    """The instruments behind a quantity that could not be counted in."""
    for name in parts:
        measure = protocol.measures.get(name)
        if measure is None:
            continue  # worthwhile-not-measured speaks
        if measure.standard_uncertainty is None:
            why, lets = "is not declared", f"'standard_uncertainty:' of {name}"
        elif _fraction(protocol, name) is None:
            why = f"({measure.standard_uncertainty}) is in a unit, and which part of a reading it is is not known"
            lets = f"'standard_uncertainty:' of {name} in per cent"
        else:
            continue
        yield RULE.unseen(f"{quantity}: the standard uncertainty of {name} {why}", lets)


def _fraction(protocol: Protocol, name: str) -> float | None:
    """The standard uncertainty of a measure as a fraction; None where that is not known."""
    declared = protocol.measures[name].standard_uncertainty
    reference = None
    if name in SPEEDS:
        reference = Quantity(slowest(protocol)[0], "kn")
    elif name == protocol.set_point_measure:
        reference = Quantity(min(map(abs, protocol.set_point_values)), protocol.set_point_unit)
    return None if declared is None else fraction(declared, reference)


def _error(protocol: Protocol, name: str) -> float:
    """What an instrument adds to a difference, as a fraction; twice where there are two."""
    measure = protocol.measures.get(name)
    size = (_fraction(protocol, name) if measure else None) or 0.0
    return size if measure is None or measure.shared else size * math.sqrt(2)


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
    needs=(worthwhile_declared,),
)
