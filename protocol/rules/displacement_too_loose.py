"""The displacement may differ by more than the result allows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slackwater.protocol.catalogue.recipes import OF_FUEL
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import limit_on
from slackwater.protocol.rules._sizes import percent, size_unknown, worthwhile

if TYPE_CHECKING:
    from slackwater.protocol.declared.limits import Limit

WIDEST = 0.02  # of displacement
SPEEDS = ("speed", "top_speed")
FUELS = (*sorted(OF_FUEL), "shaft_power", "electric_power", "distance_per_energy")


def speed_lost(heavier: float) -> float:
    """Fraction of speed lost at equal power by a boat heavier by a fraction."""
    return float(1 - (1 + heavier) ** (-2 / 9))


def power_added(heavier: float) -> float:
    """Fraction of power added at equal speed by a boat heavier by a fraction."""
    return float((1 + heavier) ** (2 / 3) - 1)


def tolerance(limit: Limit) -> float | None:
    """How much heavier one configuration may be, as a fraction; None where it cannot be told."""
    if limit.within is not None and limit.within.unit == "%":
        return limit.within.value / 100
    if limit.between is not None and limit.between[0].value > 0:
        low, high = limit.between
        return float(high.to(low.unit).value / low.value - 1)
    return None


def check(protocol: Protocol) -> Found:
    limit = protocol.limits["displacement"]
    loose = tolerance(limit)
    if loose is None:
        if not limit.same:
            yield RULE.unseen(f"which part of it '{limit}' is, is not known", "a limit in per cent")
        return
    place = protocol.document.place(("loading", "displacement"))
    moved = {name: speed_lost(loose) for name in SPEEDS}
    moved |= {name: power_added(loose) for name in FUELS}
    for quantity in protocol.analysis.worthwhile:
        size = worthwhile(protocol, quantity)
        if size is None and quantity in moved:
            yield size_unknown(protocol, quantity).of(RULE.id)
        if size is not None and moved.get(quantity, 0.0) > size:
            yield RULE.found(
                place,
                f"displacement may differ by {percent(loose)}, which moves {quantity} by "
                f"{percent(moved[quantity])} or more; the worthwhile difference is {percent(size)}",
            )
            return
    if loose > WIDEST * (1 + 1e-9):
        yield RULE.found(
            place,
            f"displacement may differ by {percent(loose)}; published ship trials hold "
            f"{percent(WIDEST)}",
        )


RULE = ProtocolRule(
    id="displacement-too-loose",
    severity=Severity.WARNING,
    title="The displacement may differ by more than the result allows.",
    looks_at=(
        "loading.displacement",
        "analysis.worthwhile",
    ),
    why=(
        "By the admiralty coefficient power goes with displacement to the power of two thirds, "
        "and speed at equal power with minus two ninths; a planing boat feels it more. A "
        "tolerance that moves the result by the worthwhile difference can make or hide it."
    ),
    fix="write 'displacement: {within: 1 %}', and weigh or trim the boat to it",
    source=(
        "admiralty coefficient: displacement^(2/3) V^3 / P; common practice: published ship "
        "trials hold displacement within 2 %"
    ),
    passes=Example(
        protocol="{loading: {displacement: {within: 1 %}}, analysis: {worthwhile: {speed: 1 %}}}"
    ),
    fails=Example(
        protocol="{loading: {displacement: {within: 2.5 %}}, analysis: {worthwhile: {speed: 1 %}}}"
    ),
    at_limit=Example(
        protocol="{loading: {displacement: {within: 2 %}}, analysis: {worthwhile: {speed: 1 %}}}"
    ),
    check=check,
    needs=(limit_on("displacement"),),
)
