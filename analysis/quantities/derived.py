"""Derived quantities, made from the session values of others as the catalogue declares them.

A quantity that is a product of powers of others needs nothing here but its declaration. Those that
are not have a maker of their own, named in `MAKERS`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.quantities.session_values import SessionValues, errors_common
from slackwater.protocol.catalogue.measures import MEASURES, Measure, Recipe
from slackwater.protocol.catalogue.recipes import WRITTEN, recipes
from slackwater.protocol.units.quantity import conversion

Array = NDArray[np.float64]

#: Distance and amount in the units that a speed and a flow are declared in.
_DISTANCE = {"kn": "nmi", "mph": "mi", "km/h": "km"}
_AMOUNT = {"L/h": "L", "gal/h": "gal", "kW": "kWh"}


@dataclass(frozen=True, slots=True)
class Fitted:
    """What a derived quantity may need besides measures; None where it is not declared.

    Attributes
    ----------
    pitch, gear_ratio : tuple of float or None, length sessions
        Of the propeller [m], and engine turns a propeller turn [1], as fitted in each session.
    fuel_density : float or None
        [kg/L]
    asked : collection of str
        Quantities that the protocol or the trial names, beside those that are always told.
    """

    pitch: tuple[float | None, ...]
    gear_ratio: tuple[float | None, ...]
    fuel_density: float | None = None
    asked: Collection[str] = field(default_factory=tuple)

    def of_sessions(self, name: str) -> Array | None:
        """A need of a recipe, shape (sessions, 1) or (1, 1); None where a session has none."""
        if name == "fuel_density":
            return None if self.fuel_density is None else np.array([[self.fuel_density]])
        values = {"gear_ratio": self.gear_ratio, "propeller_pitch": self.pitch}[name]
        if any(value is None for value in values):
            return None
        return np.array(values, dtype=float)[:, None]


def derived(
    tables: Mapping[str, SessionValues], fitted: Fitted, axis: SweepAxis
) -> dict[str, SessionValues]:
    """Session values of all that can be derived at the set points.

    Parameters
    ----------
    tables : mapping
        From `measured`.
    fitted : Fitted
    axis : SweepAxis
        Where the quantity held is not measured, the set points stand for it.

    Returns
    -------
    dict of SessionValues
        By name, in the order of the catalogue.
    """
    out: dict[str, SessionValues] = {}
    for measure in MEASURES.values():
        name = measure.name
        if measure.kind == "measured" or measure.table != "set points" or name in tables:
            continue
        if measure.asked_only and name not in fitted.asked:
            continue
        have = {**tables, **out}
        for chosen in recipes(name, {*have, axis.measure}):
            factors = {need: fitted.of_sessions(need) for need in chosen.needs}
            made = MAKERS.get(name, product)(measure, chosen, have, factors, axis)
            if made is not None:
                out[name] = made
                break
    return out


def unit_of(measure: Measure, parts: Mapping[str, SessionValues]) -> str:
    """The unit of a quotient of distance and fuel or energy, following the units declared."""
    speed = _DISTANCE.get(parts["speed"].unit) if "speed" in parts else None
    amounts = [_AMOUNT.get(table.unit) for name, table in parts.items() if name != "speed"]
    amount = "L" if "fuel_mass_flow" in parts else amounts[0] if amounts else None
    usual = set(measure.unit.split("/")) <= {"nmi", *_AMOUNT.values()}
    if speed is None or amount is None or not usual:
        return measure.unit
    return f"{speed}/{amount}" if measure.better == "more" else f"{amount}/{speed}"


def product(
    measure: Measure,
    chosen: Recipe,
    have: Mapping[str, SessionValues],
    factors: Mapping[str, Array | None],
    axis: SweepAxis,
) -> SessionValues | None:
    """A product of powers of other tables.

    Relative variances add with the squares of the powers, which is never too small here: speed and
    fuel flow of one run err together (a little more throttle gives more of both), which makes
    their quotient steadier than independent errors would. What forbids a comparison of any part
    forbids it here. Where something is needed that nobody declared, the quantity is untestable and
    says so.
    """
    parts = {name: have[name] for name in chosen.parts if name in have}
    if len(parts) < len(chosen.parts):
        return None
    unit = unit_of(measure, parts)
    missing = [need for need, values in factors.items() if values is None]
    factor = _to_catalogue(parts, chosen) * conversion(measure.unit, unit)
    value: Array | float = factor
    with np.errstate(invalid="ignore", divide="ignore"):
        for name, table in parts.items():
            value = value * table.values ** chosen.parts[name]
        for need, values in factors.items():
            # Without what nobody declared there is no level either: not a figure in wrong units.
            value = value * (np.nan if values is None else values ** chosen.needs[need])
    return _made_of(parts, chosen, np.asarray(value), measure, unit, _undeclared(measure, missing))


def _made_of(
    parts: Mapping[str, SessionValues],
    chosen: Recipe,
    value: Array,
    measure: Measure,
    unit: str,
    undeclared: str = "",
) -> SessionValues:
    """The table of a product of powers, with the uncertainties of all parts."""
    value = np.where(np.isfinite(value), value, np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        relative = _sum(parts, chosen, lambda t: t.run_variance / t.values**2)
    return replace(
        next(iter(parts.values())),
        quantity=measure.name,
        unit=unit,
        scale=measure.scale,
        better=measure.better,
        values=value,
        run_variance=np.where(np.isfinite(value), relative * value**2, np.nan),
        double_runs=np.where(
            np.isfinite(value), np.minimum.reduce([t.double_runs for t in parts.values()]), 0
        ),
        instrument_variance=_sum(parts, chosen, lambda t: t.instrument_variance),
        common_errors=errors_common(*parts.values()),
        curve_variance=_sum_known(parts, chosen, lambda t: t.curve_variance),
        level_variance=_sum_known(parts, chosen, lambda t: t.level_variance),
        untestable=next(
            (table.untestable for table in parts.values() if table.untestable), undeclared
        ),
    )


def _undeclared(measure: Measure, missing: list[str]) -> str:
    if not missing:
        return ""
    words = " and ".join(need.replace("_", " ") for need in missing)
    name = measure.name.replace("_", " ")
    return f"{name} needs the {words}, which is not declared; write {WRITTEN[missing[0]]}"


def _to_catalogue(parts: Mapping[str, SessionValues], chosen: Recipe) -> float:
    """From the units of the parts to those of the catalogue, in which the product is the quantity's."""
    top = bottom = 1.0
    for name, table in parts.items():
        size, power = conversion(table.unit, MEASURES[name].unit), chosen.parts[name]
        if power > 0:
            top *= size**power
        else:
            bottom *= size**-power
    return top / bottom


def _sum(
    parts: Mapping[str, SessionValues], chosen: Recipe, get: Callable[[SessionValues], Array]
) -> Array:
    total: Array | None = None
    for name, table in parts.items():
        own = get(table) * chosen.parts[name] ** 2
        total = own if total is None else total + own
    assert total is not None  # a recipe has parts
    return total


def _sum_known(
    parts: Mapping[str, SessionValues],
    chosen: Recipe,
    get: Callable[[SessionValues], Array | None],
) -> Array | None:
    known = [(chosen.parts[name], own) for name, table in parts.items()
             if (own := get(table)) is not None]  # fmt: skip
    if not known:
        return None
    total = known[0][1] * known[0][0] ** 2
    for power, own in known[1:]:
        total = total + own * power**2
    return total


def advance(
    measure: Measure,
    chosen: Recipe,
    have: Mapping[str, SessionValues],
    factors: Mapping[str, Array | None],
    axis: SweepAxis,
) -> SessionValues | None:
    """Distance through the water a propeller turn: speed over propeller speed. [m]"""
    parts = {name: have[name] for name in chosen.parts if name in have}
    speed = parts.get("speed")
    ratio = factors.get("gear_ratio", np.ones((1, 1)))
    if speed is None or ratio is None:
        return None
    turns = next((table for name, table in parts.items() if name != "speed"), None)
    if turns is not None:
        rpm = turns.values * conversion(turns.unit, "rpm")
    else:  # not measured: what was held stands for it, and is known
        rpm = np.broadcast_to(speed.positions * conversion(axis.unit, "rpm"), speed.values.shape)
    metres_a_minute = speed.values * conversion(speed.unit, "m/s") * 60.0
    with np.errstate(invalid="ignore", divide="ignore"):
        value = metres_a_minute / (rpm / ratio)
    return _made_of(parts, chosen, value, measure, measure.unit)


def slip(
    measure: Measure,
    chosen: Recipe,
    have: Mapping[str, SessionValues],
    factors: Mapping[str, Array | None],
    axis: SweepAxis,
) -> SessionValues | None:
    """Apparent slip, 1 - advance / pitch. [1]"""
    moved, pitch = have.get("advance"), factors["propeller_pitch"]
    if moved is None or pitch is None:
        return None
    part = moved.values / pitch
    count = np.isfinite(part).sum(axis=0)
    level = np.where(count > 0, np.nansum(part, axis=0) / np.maximum(count, 1), 0.0)

    def scaled(variance: Array | None) -> Array | None:
        return None if variance is None else variance * part**2

    return replace(
        moved,
        quantity=measure.name,
        unit=measure.unit,
        scale=measure.scale,
        better=measure.better,
        values=1 - part,
        run_variance=moved.run_variance / pitch**2,
        curve_variance=scaled(moved.curve_variance),
        level_variance=scaled(moved.level_variance),
        instrument_variance=moved.instrument_variance * level**2,
    )


Maker = Callable[
    [Measure, Recipe, Mapping[str, SessionValues], Mapping[str, "Array | None"], SweepAxis],
    "SessionValues | None",
]

#: The quantities that are no plain product of others.
MAKERS: dict[str, Maker] = {"advance": advance, "slip": slip}
