"""The one catalogue of what is measured on a run, what is derived from it, and what is noted of a day.

A protocol may declare further measures under names of its own.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Better = Literal["more", "less"]
Scale = Literal["ratio", "difference"]
Kind = Literal["measured", "derived"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity that runs carry or that is derived from them.

    Parameters
    ----------
    name : str
        As files spell it: snake_case.
    title : str
        As people read it.
    unit : str
        Working unit, unless a protocol declares another of the same dimension; "1" is a fraction.
    better : "more", "less" or None
        Which side counts as a gain; None when neither does.
    scale : "ratio" or "difference"
        How two values are compared: as a fraction of the baseline, or by subtraction.
    kind : "measured" or "derived"
        Whether it is read from an instrument or computed.
    symbol : str
        Short sign for plots and tables.
    """

    name: str
    title: str
    unit: str
    better: Better | None
    scale: Scale
    kind: Kind
    symbol: str = ""


def _measured(
    name: str,
    title: str,
    unit: str,
    symbol: str,
    better: Better | None = None,
    scale: Scale = "ratio",
) -> Measure:
    return Measure(name, title, unit, better, scale, "measured", symbol)


def _derived(
    name: str,
    title: str,
    unit: str,
    symbol: str,
    better: Better | None = None,
    scale: Scale = "ratio",
) -> Measure:
    return Measure(name, title, unit, better, scale, "derived", symbol)


# Which side is better: common practice. A speed is better when higher at the same set point; a
# temperature, an angle or a rotational speed is better on neither side by itself.
_CATALOGUE: tuple[Measure, ...] = (
    _measured("speed_over_ground", "Speed over ground", "kn", "SOG", "more"),
    _measured("speed_through_water", "Speed through the water by log", "kn", "STW", "more"),
    _measured("course_over_ground", "Course over ground", "deg", "COG", scale="difference"),
    _measured("engine_speed", "Engine speed", "rpm", "n"),
    _measured("propeller_speed", "Propeller speed", "rpm", "n_p"),
    _measured("throttle", "Throttle", "%", "θ_t", scale="difference"),
    _measured("fuel_flow", "Fuel flow", "L/h", "q", "less"),
    _measured("fuel_mass_flow", "Fuel flow by mass", "kg/h", "q_m", "less"),
    _measured("shaft_power", "Shaft power", "kW", "P", "less"),
    _measured("torque", "Torque", "N*m", "Q"),
    _measured("thrust", "Thrust", "kN", "T"),
    _measured("trim", "Trim", "deg", "τ", scale="difference"),
    _measured("heel", "Heel", "deg", "φ", scale="difference"),
    _measured("exhaust_temperature", "Exhaust temperature", "degC", "T_x", scale="difference"),
    _measured("coolant_temperature", "Coolant temperature", "degC", "T_c", scale="difference"),
    _measured("boost_pressure", "Boost pressure", "kPa", "p_b", scale="difference"),
    _measured("sound_level", "Sound level", "dB", "L_p", "less", scale="difference"),
    _measured("wind_speed", "Wind speed", "kn", "W", scale="difference"),
    _measured("water_depth", "Water depth", "m", "h", scale="difference"),
    _measured("water_temperature", "Water temperature", "degC", "T_w", scale="difference"),
    _derived("speed", "Speed through the water", "kn", "V", "more"),
    _derived("economy", "Economy", "nmi/L", "E", "more"),
    _derived("fuel_per_distance", "Fuel per distance", "L/nmi", "F", "less"),
    _derived("advance", "Advance per revolution", "m", "a", "more"),
    _derived("slip", "Apparent slip", "1", "s", scale="difference"),
    _derived("range", "Range", "nmi", "R", "more"),
    _derived("top_speed", "Top speed", "kn", "V_max", "more"),
    _derived("planing_threshold", "Planing threshold", "kn", "V_p", "less"),
    _derived("planing_engine_speed", "Engine speed at the planing threshold", "rpm", "n_p", "less"),
    _derived("best_economy_speed", "Speed of best economy", "kn", "V_E"),
    _derived("best_economy", "Economy at its best speed", "nmi/L", "E_max", "more"),
    _derived("trip_fuel", "Fuel for the declared trip", "L", "Q_t", "less"),
    _derived(
        "annual_fuel", "Fuel in a year of the declared trips", "L", "Q_a", "less", "difference"
    ),
)

MEASURES: dict[str, Measure] = {measure.name: measure for measure in _CATALOGUE}

# What is noted of a session and may be limited by a protocol: units of the dimensions that fit.
CONDITIONS: dict[str, tuple[str, ...]] = {
    "wind_speed": ("kn",),
    "wave_height": ("m",),
    "wave_period": ("s",),
    "swell_height": ("m",),
    "water_depth": ("m",),
    "current": ("kn",),
    "water_temperature": ("degC",),
    "air_temperature": ("degC",),
    "water_density": ("kg/m^3",),
    "air_pressure": ("hPa",),
}
LOADING: dict[str, tuple[str, ...]] = {
    "displacement": ("kg",),
    "fuel": ("%", "L", "kg"),
    "ballast": ("kg", "L"),
    "crew": ("count",),
    "trim": ("deg",),
    "heel": ("deg",),
    "draught": ("m",),
}


def nearest(name: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The known name closest to one that is not, or None when none is close."""
    by_fold = {one.casefold(): one for one in known}
    close = difflib.get_close_matches(str(name).casefold(), by_fold, n=1, cutoff=cutoff)
    return by_fold[close[0]] if close else None
