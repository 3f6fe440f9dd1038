"""How large a tolerance or an uncertainty is beside the difference that is looked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slackwater.protocol.catalogue.recipes import SPEEDS, changes_as
from slackwater.protocol.rules._outcome import Lack
from slackwater.protocol.units.quantity import Quantity, QuantityError, same_dimension

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol

#: Taken for a boat whose speed a protocol does not tell; an assumption, common practice. [kn]
ORDINARY_SPEED = 10.0
#: From one run to the next, beside settling and recording: the turn; common practice. [s]
TURN = 60.0
#: Principal lunar semidiurnal tide, M2. [h]
TIDE_PERIOD = 12.42


def speeds(protocol: Protocol) -> tuple[float, ...]:
    """The speeds at the set points, held or expected; empty where they are not known. [kn]"""
    if same_dimension(protocol.set_point_unit, "kn"):
        return tuple(value.to("kn").value for value in protocol.runs.set_points.values)
    return protocol.expected_values("speed", "kn") or ()


def slowest(protocol: Protocol) -> tuple[float, str]:
    """The lowest speed of the sweep, with the words for where it comes from. [kn]"""
    known = [speed for speed in speeds(protocol) if speed > 0]
    if known:
        return min(known), f"at {min(known):g} kn"
    return ORDINARY_SPEED, f"at {ORDINARY_SPEED:g} kn, taken since no speeds are expected"


def fraction(quantity: Quantity, reference: Quantity | None) -> float | None:
    """A difference as a fraction of a reference value; None where it cannot be told."""
    if quantity.unit == "%":
        return quantity.value / 100
    if quantity.unit == "1":
        return quantity.value
    if reference is None or reference.value == 0:
        return None
    try:
        return quantity.to(reference.unit).value / abs(reference.value)
    except QuantityError:
        return None


def worthwhile(protocol: Protocol, quantity: str) -> float | None:
    """The worthwhile difference of a quantity as a fraction; None where it cannot be told."""
    declared = protocol.analysis.worthwhile.get(quantity)
    if declared is None:
        return None
    is_speed = quantity in SPEEDS or changes_as(quantity)[0] == "speed"
    reference = Quantity(slowest(protocol)[0], "kn") if is_speed else None
    return fraction(declared, reference)


def size_unknown(protocol: Protocol, quantity: str) -> Lack:
    """That a worthwhile difference cannot be told as a fraction."""
    return Lack(
        f"which part of a value the worthwhile difference of {quantity} "
        f"({protocol.analysis.worthwhile[quantity]}) is, is not known",
        "the worthwhile difference in per cent",
    )


def hold(protocol: Protocol) -> float | None:
    """How far the set point may stray, as a fraction of the lowest one."""
    lowest = min((abs(value) for value in protocol.set_point_values), default=0.0)
    reference = Quantity(lowest, protocol.set_point_unit)
    return fraction(protocol.runs.set_points.hold, reference)


def run_spacing(protocol: Protocol) -> float:
    """From the start of one run to that of the next, as planned. [s]"""
    steady = protocol.runs.steady
    return float(steady.settle.to("s").value + steady.record.to("s").value + TURN)


def session_length(protocol: Protocol) -> float:
    """How long a session takes, as planned. [h]"""
    ways = 2 if protocol.runs.directions == "reciprocal" else 1
    count = len(protocol.set_point_values) * protocol.runs.double_runs * ways
    return count * run_spacing(protocol) / 3600


def percent(value: float) -> str:
    """A fraction as people read it: `1.25 %`."""
    return f"{100 * value:.3g} %"
