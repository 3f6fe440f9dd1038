"""What an invented boat reads at each set point: plain curves, scaled to what the protocol expects.

Nothing here describes a boat. The curves rise as such readings do, so that a rehearsal looks like a trial.
"""

from __future__ import annotations

from collections.abc import Callable

from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.units.quantity import conversion, convert, same_dimension

#: By measure, in the catalogue's unit: from the place in the sweep, 0 to 1, to a reading.
CURVES: dict[str, Callable[[float], float]] = {
    "speed": lambda x: 4.0 + 15.0 * x,
    "engine_speed": lambda x: 600.0 + 2400.0 * x,
    "propeller_speed": lambda x: 300.0 + 1200.0 * x,
    "throttle": lambda x: 100.0 * x,
    "fuel_flow": lambda x: 3.0 + 47.0 * x**3,
    "fuel_mass_flow": lambda x: 2.5 + 39.5 * x**3,
    "shaft_power": lambda x: 4.0 + 146.0 * x**3,
    "electric_power": lambda x: 1.0 + 39.0 * x**3,
    "torque": lambda x: 80.0 + 420.0 * x**2,
    "thrust": lambda x: 0.4 + 7.6 * x**2,
    "trim": lambda x: 0.8 + 2.6 * x,
    "heel": lambda x: 0.5,
    "exhaust_temperature": lambda x: 220.0 + 230.0 * x,
    "coolant_temperature": lambda x: 78.0 + 6.0 * x,
    "boost_pressure": lambda x: 15.0 + 135.0 * x,
    "sound_level": lambda x: 62.0 + 18.0 * x,
    "wind_speed": lambda x: 4.0,
    "water_depth": lambda x: 40.0,
    "water_temperature": lambda x: 12.0,
}
#: How strongly a relative gain in speed at equal throttle shows in a reading; fuel at equal speed falls.
POWERS = ("fuel_flow", "fuel_mass_flow", "shaft_power", "electric_power", "electric_energy")
SPEED_READINGS = ("speed_over_ground", "speed_through_water")


def places(protocol: Protocol) -> tuple[float, ...]:
    """Where each set point lies in the sweep, from somewhat above 0 to 1."""
    values = protocol.set_point_values
    top = max(abs(value) for value in values) or 1.0
    return tuple(max(abs(value) / top, 0.05) for value in values)


def speeds(protocol: Protocol) -> tuple[float, ...]:
    """Through the water at the set points: held, expected or invented. [kn]"""
    known = protocol.expected_values("speed", "kn")
    return known or tuple(CURVES["speed"](x) for x in places(protocol))


def levels(protocol: Protocol, name: str) -> tuple[float, ...]:
    """What a measure reads at the set points. [unit of the protocol]"""
    unit = protocol.measure(name).unit
    if name == protocol.set_point_measure:
        factor = conversion(protocol.set_point_unit, unit)
        return tuple(value * factor for value in protocol.set_point_values)
    known = protocol.expected_values(name, unit)
    if known is not None:
        return known
    curve = CURVES.get(name, _unknown)
    listed = MEASURES.get(name)
    own = listed.unit if listed and same_dimension(listed.unit, unit) else unit
    return tuple(convert(curve(x), own, unit) for x in places(protocol))


def _unknown(place: float) -> float:
    """A measure of the protocol's own, of which nothing is known here."""
    return 10.0 + 10.0 * place


def fastest(protocol: Protocol) -> float:
    """The top speed of the sweep. [kn]"""
    return max(speeds(protocol))


def pitch(protocol: Protocol, gear: float) -> float | None:
    """A pitch at which the apparent slip is never below a tenth; None where no engine speed is held. [m]"""
    if protocol.set_point_measure != "engine_speed":
        return None
    factor = conversion(protocol.set_point_unit, "rpm")
    turns = [value * factor / gear / 60 for value in protocol.set_point_values]
    knot = 1852 / 3600
    return max(v * knot / n for v, n in zip(speeds(protocol), turns, strict=True)) / 0.9
