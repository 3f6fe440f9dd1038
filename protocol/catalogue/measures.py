"""The one catalogue of what is measured on a run, what is derived from it, and what is noted of a day.

A protocol may declare further measures under names of its own.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

Better = Literal["more", "less"]
Scale = Literal["ratio", "difference"]
Kind = Literal["measured", "derived"]
Table = Literal["set points", "equal speed", "whole sweep"]
Combine = Literal["sum", "mean"]


@dataclass(frozen=True, slots=True)
class Recipe:
    """One way to make a derived quantity: a product of powers of others.

    Parameters
    ----------
    parts : mapping
        Power of each quantity that goes into it; relative errors add with these.
    needs : mapping
        Power of what else it takes: of the boat (`fuel_density`, `fuel_capacity`), of each configuration
        (`gear_ratio`, `propeller_pitch`), of the trial (`duty`).
    """

    parts: Mapping[str, float]
    needs: Mapping[str, float] = field(default_factory=dict)


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
    made_of : tuple of Recipe
        Ways to make a derived quantity, the first that the measures allow is taken; empty for one
        that is measured.
    table : "set points", "equal speed" or "whole sweep"
        Where it is told: at each set point, read off at a speed, or once for a session.
    changes_as : str
        The quantity that it changes in proportion with, so that what is declared of the one
        serves for the other; "-economy" stands for the inverse.
    asked_only : bool
        It says the same as another quantity, and is made only where a file names it.
    combine : "sum" or "mean"
        How the columns of several engines become one value.
    complement : bool
        It is what the product of its recipe leaves of one, as slip is.
    largest_of : str
        The quantity of which it is the largest along the sweep; empty where it is none.
    """

    name: str
    title: str
    unit: str
    better: Better | None
    scale: Scale
    kind: Kind
    symbol: str = ""
    made_of: tuple[Recipe, ...] = ()
    table: Table = "set points"
    changes_as: str = ""
    asked_only: bool = False
    combine: Combine = "mean"
    complement: bool = False
    largest_of: str = ""


def _measured(
    name: str,
    title: str,
    unit: str,
    symbol: str,
    better: Better | None = None,
    scale: Scale = "ratio",
    combine: Combine = "mean",
) -> Measure:
    return Measure(name, title, unit, better, scale, "measured", symbol, combine=combine)


def _derived(
    name: str,
    title: str,
    unit: str,
    symbol: str,
    better: Better | None = None,
    scale: Scale = "ratio",
    *,
    made_of: tuple[Recipe, ...],
    table: Table = "set points",
    changes_as: str = "",
    asked_only: bool = False,
    complement: bool = False,
    largest_of: str = "",
) -> Measure:
    return Measure(
        name,
        title,
        unit,
        better,
        scale,
        "derived",
        symbol,
        made_of,
        table,
        changes_as,
        asked_only,
        complement=complement,
        largest_of=largest_of,
    )


# Which side is better: common practice. A speed is better when higher at the same set point; a
# temperature, an angle or a rotational speed is better on neither side by itself.
_CATALOGUE: tuple[Measure, ...] = (
    _measured("speed_over_ground", "Speed over ground", "kn", "SOG", "more"),
    _measured("speed_through_water", "Speed through the water by log", "kn", "STW", "more"),
    _measured("course_over_ground", "Course over ground", "deg", "COG", scale="difference"),
    _measured("engine_speed", "Engine speed", "rpm", "n"),
    _measured("propeller_speed", "Propeller speed", "rpm", "n_p"),
    _measured("throttle", "Throttle", "%", "θ_t", scale="difference"),
    _measured("fuel_flow", "Fuel flow", "L/h", "q", "less", combine="sum"),
    _measured("fuel_mass_flow", "Fuel flow by mass", "kg/h", "q_m", "less", combine="sum"),
    _measured("shaft_power", "Shaft power", "kW", "P", "less", combine="sum"),
    _measured("electric_power", "Electric power", "kW", "P_e", "less", combine="sum"),
    _measured("electric_energy", "Electric energy of a run", "kWh", "W_e", "less", combine="sum"),
    _measured("timed_distance", "Distance of a timed run", "nmi", "d"),
    _measured("elapsed_time", "Time of a timed run", "s", "t"),
    _measured("torque", "Torque", "N*m", "Q", combine="sum"),
    _measured("thrust", "Thrust", "kN", "T", combine="sum"),
    _measured("trim", "Trim", "deg", "τ", scale="difference"),
    _measured("heel", "Heel", "deg", "φ", scale="difference"),
    _measured("exhaust_temperature", "Exhaust temperature", "degC", "T_x", scale="difference"),
    _measured("coolant_temperature", "Coolant temperature", "degC", "T_c", scale="difference"),
    _measured("boost_pressure", "Boost pressure", "kPa", "p_b", scale="difference"),
    _measured("sound_level", "Sound level", "dB", "L_p", "less", scale="difference"),
    _measured("wind_speed", "Wind speed", "kn", "W", scale="difference"),
    _measured("water_depth", "Water depth", "m", "h", scale="difference"),
    _measured("water_temperature", "Water temperature", "degC", "T_w", scale="difference"),
    _derived(
        "speed", "Speed through the water", "kn", "V", "more",
        made_of=(Recipe({"speed_over_ground": 1}), Recipe({"speed_through_water": 1})),
    ),
    _derived(
        "economy", "Economy", "nmi/L", "E", "more",
        made_of=(
            Recipe({"speed": 1, "fuel_flow": -1}),
            Recipe({"speed": 1, "fuel_mass_flow": -1}, {"fuel_density": 1}),
        ),
    ),
    _derived(
        "fuel_per_distance", "Fuel per distance", "L/nmi", "F", "less",
        made_of=(
            Recipe({"speed": -1, "fuel_flow": 1}),
            Recipe({"speed": -1, "fuel_mass_flow": 1}, {"fuel_density": -1}),
        ),
        changes_as="-economy", asked_only=True,
    ),
    _derived(
        "distance_per_energy", "Distance per energy", "nmi/kWh", "D_e", "more",
        made_of=(Recipe({"speed": 1, "electric_power": -1}),),
    ),
    _derived(
        "energy_per_distance", "Energy per distance", "kWh/nmi", "W_d", "less",
        made_of=(Recipe({"speed": -1, "electric_power": 1}),),
        changes_as="-distance_per_energy", asked_only=True,
    ),
    _derived(
        "advance", "Advance per revolution", "m", "a", "more",
        made_of=(
            Recipe({"speed": 1, "engine_speed": -1}, {"gear_ratio": 1}),
            Recipe({"speed": 1, "propeller_speed": -1}),
        ),
    ),
    _derived(
        "slip", "Apparent slip", "1", "s", scale="difference",
        made_of=(Recipe({"advance": 1}, {"propeller_pitch": -1}),),
        complement=True,
    ),
    _derived(
        "range", "Range", "nmi", "R", "more",
        made_of=(Recipe({"economy": 1}, {"fuel_capacity": 1}),), table="equal speed",
        changes_as="economy",
    ),
    _derived(
        "top_speed", "Top speed", "kn", "V_max", "more",
        made_of=(Recipe({"speed": 1}),), table="whole sweep", changes_as="speed",
        largest_of="speed",
    ),
    _derived(
        "planing_threshold", "Planing threshold", "kn", "V_p", "less",
        made_of=(Recipe({"speed": 1}),), table="whole sweep",
    ),
    _derived(
        "planing_engine_speed", "Engine speed at the planing threshold", "rpm", "n_p", "less",
        made_of=(Recipe({"speed": 1}),), table="whole sweep",
    ),
    _derived(
        "best_economy_speed", "Speed of best economy", "kn", "V_E",
        made_of=(Recipe({"economy": 1}),), table="whole sweep",
    ),
    _derived(
        "best_economy", "Economy at its best speed", "nmi/L", "E_max", "more",
        made_of=(Recipe({"economy": 1}),), table="whole sweep", changes_as="economy",
        largest_of="economy",
    ),
    _derived(
        "trip_fuel", "Fuel for the declared trip", "L", "Q_t", "less",
        made_of=(Recipe({"speed": 1, "fuel_flow": 1}, {"duty": 1}),), table="whole sweep",
    ),
    _derived(
        "annual_fuel", "Fuel in a year of the declared trips", "L", "Q_a", "less", "difference",
        made_of=(Recipe({"trip_fuel": 1}, {"duty": 1}),), table="whole sweep",
    ),
)  # fmt: skip

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
