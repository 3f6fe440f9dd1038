"""What values a quantity on or around a boat can have at all: one table, with the reason of each row.

Beyond a row a value is a slip of the pen, the unit or the instrument, and is refused with its place.
The rows are wide: what is within them and still far from everything else in a trial is found by the
rules on runs, which know the set point.

A reason begins with where it comes from, one of `GROUNDS`: what nobody who tries boats would doubt,
where no standard says it; an extreme or a constant that was not looked up, so that the end lies well
beyond it; what words and units mean; or what follows from other rows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from slackwater.protocol.units.units import QuantityError, convert, normal_unit, same_dimension

COMMON = "common practice"
GROUNDS = (COMMON, "from memory", "by definition", "reckoned")


@dataclass(frozen=True, slots=True)
class Possible:
    """The span of what is possible.

    Parameters
    ----------
    low, high : float
        Both ends included. [unit]
    unit : str
    source : str
        Why these ends.
    """

    low: float
    high: float
    unit: str
    source: str = COMMON


#: By the name of a measure, or of a key of a protocol or trial.
POSSIBLE: dict[str, Possible] = {
    "speed_over_ground": Possible(
        0.01, 300, "kn", "common practice: faster than any craft on water"
    ),
    "speed_through_water": Possible(0.01, 300, "kn", "common practice: as speed over ground"),
    "course_over_ground": Possible(-360, 360, "deg", "by definition: a full turn"),
    "engine_speed": Possible(1, 60_000, "rpm", "common practice: models' motors included"),
    "propeller_speed": Possible(1, 60_000, "rpm", "common practice: models' motors included"),
    "throttle": Possible(-120, 120, "%", "common practice: full travel, a little beyond, astern"),
    "fuel_flow": Possible(1e-4, 50_000, "L/h", "common practice: the largest ships"),
    "fuel_mass_flow": Possible(1e-4, 50_000, "kg/h", "common practice: the largest ships"),
    "shaft_power": Possible(1e-4, 200_000, "kW", "common practice: the largest ships"),
    "electric_power": Possible(1e-4, 200_000, "kW", "common practice: the largest ships"),
    "electric_energy": Possible(1e-6, 5_000_000, "kWh", "reckoned: a day at the largest power"),
    "timed_distance": Possible(
        1e-3, 10_000, "nmi", "common practice: nearly half-way round the earth"
    ),
    "elapsed_time": Possible(0.1, 10_000_000, "s", "common practice: four months"),
    "torque": Possible(-1e8, 1e8, "N*m", "reckoned: the largest power at 20 rpm"),
    "thrust": Possible(-50_000, 50_000, "kN", "common practice: the largest ships"),
    "trim": Possible(-90, 90, "deg", "by definition: upright to on end"),
    "heel": Possible(-180, 180, "deg", "by definition: upright to upside down"),
    "exhaust_temperature": Possible(-60, 1_500, "degC", "from memory: iron melts at 1,538 degC"),
    "coolant_temperature": Possible(-60, 250, "degC", "common practice"),
    "boost_pressure": Possible(-110, 2_000, "kPa", "common practice: from a vacuum"),
    "sound_level": Possible(
        -20, 200, "dB", "reckoned: 20 log10(101,325 Pa / 20 uPa) = 194 dB swings down to a vacuum"
    ),
    "wind_speed": Possible(0, 250, "kn", "from memory: beyond the strongest gust recorded"),
    "wave_height": Possible(0, 40, "m", "from memory: beyond the highest wave recorded"),
    "wave_period": Possible(0.05, 60, "s", "common practice: wind waves and swell"),
    "swell_height": Possible(0, 40, "m", "from memory: as wave height"),
    "water_depth": Possible(0.01, 11_100, "m", "from memory: the deepest trench is shallower"),
    "current": Possible(-25, 25, "kn", "from memory: beyond the strongest tidal rapids"),
    "water_temperature": Possible(
        -5, 60, "degC", "from memory: sea water freezes at -2 degC; hot springs"
    ),
    "air_temperature": Possible(-90, 60, "degC", "from memory: the extremes on land"),
    "water_density": Possible(
        900, 1_300, "kg/m^3", "from memory: ice-cold brine and fresh hot water lie within"
    ),
    "air_pressure": Possible(
        400, 1_150, "hPa", "from memory: mountain lakes to the strongest high"
    ),
    "length_overall": Possible(0.05, 600, "m", "common practice: models to the longest ships"),
    "waterline_length": Possible(0.05, 600, "m", "common practice: models to the longest ships"),
    "beam": Possible(0.01, 150, "m", "common practice: models to the broadest ships"),
    "draught": Possible(0.001, 40, "m", "common practice: models to the deepest ships"),
    "displacement": Possible(0.01, 1e9, "kg", "common practice: models to the largest ships"),
    "ballast": Possible(0, 1e9, "kg", "reckoned: no more than the displacement"),
    "fuel": Possible(0, 110, "%", "common practice: a full tank, a little beyond for the gauge"),
    "fuel_capacity": Possible(0.01, 5e7, "L", "common practice: the largest ships"),
    "fuel_reserve": Possible(0, 100, "%", "by definition: a full tank"),
    "fuel_density": Possible(
        50, 1_200, "kg/m^3", "from memory: liquid hydrogen (71) to heavy fuel oil (1,010)"
    ),
    "propeller_pitch": Possible(0.001, 25, "m", "common practice: models to the largest ships"),
    "propeller_diameter": Possible(0.001, 15, "m", "common practice: models to the largest ships"),
    "gear_ratio": Possible(0.01, 100, "1", "common practice"),
    "duration": Possible(0, 86_400, "s", "common practice: a run lasts no more than a day"),
    "reciprocal_within": Possible(0, 180, "deg", "by definition: half a turn"),
    "standard_uncertainty": Possible(
        0, 100, "%", "reckoned: an instrument off by all it shows shows nothing"
    ),
    "noise": Possible(
        0, 100, "%", "reckoned: sessions that differ by all that is measured measure nothing"
    ),
    "worthwhile": Possible(0, 100, "%", "common practice: a doubling needs no trial"),
    "time_to_speed": Possible(0.05, 7_200, "s", "common practice: the largest ships, two hours"),
    "time_to_plane": Possible(0.05, 7_200, "s", "common practice: as the time to a speed"),
    "time_between_speeds": Possible(0.05, 7_200, "s", "common practice: as the time to a speed"),
    "stopping_distance": Possible(
        0.05, 50_000, "m", "common practice: models to the largest ships coasting"
    ),
    "stopping_time": Possible(0.05, 7_200, "s", "common practice: the largest ships coasting"),
    "turning_advance": Possible(0.05, 20_000, "m", "common practice: models to the largest ships"),
    "turning_transfer": Possible(
        -20_000, 20_000, "m", "common practice: to either side, as the advance"
    ),
    "tactical_diameter": Possible(
        0.05, 20_000, "m", "common practice: models to the largest ships"
    ),
    "steady_diameter": Possible(0.05, 20_000, "m", "common practice: models to the largest ships"),
    "speed_lost_in_turn": Possible(-300, 300, "kn", "reckoned: no more than any craft's speed"),
    "slowest_planing_speed": Possible(0.5, 300, "kn", "common practice: models to racing craft"),
    "steering_correction": Possible(
        1e-4, 180, "deg", "by definition: no spread of headings is wider than half a turn"
    ),
    "heading": Possible(0, 360, "deg", "by definition: a full turn"),
}

#: For whatever has no row of its own, by its dimension.
ANY: tuple[tuple[str, Possible], ...] = (
    ("a speed", Possible(-6e8, 6e8, "kn", "by definition: the metre makes light 5.8e8 kn fast")),
    ("a rotational speed", Possible(-100_000, 100_000, "rpm")),
    ("a flow of volume", Possible(-1e6, 1e6, "L/h")),
    ("a flow of mass", Possible(-1e6, 1e6, "kg/h")),
    ("a distance per volume", Possible(-1e6, 1e6, "nmi/L")),
    ("a volume per distance", Possible(-1e6, 1e6, "L/nmi")),
    ("a length", Possible(-4.1e7, 4.1e7, "m", "from memory: once round the earth")),
    ("a mass", Possible(-1e9, 1e9, "kg")),
    ("a volume", Possible(-1e9, 1e9, "L")),
    ("a time", Possible(-3.2e9, 3.2e9, "s", "reckoned: a hundred years")),
    ("an angle", Possible(-3_600, 3_600, "deg")),
    ("a power", Possible(-1e6, 1e6, "kW")),
    ("a torque or an energy", Possible(-1e14, 1e14, "N*m")),
    ("a force", Possible(-1e9, 1e9, "N")),
    ("a pressure", Possible(-1e7, 1e7, "kPa")),
    (
        "a density",
        Possible(-30_000, 30_000, "kg/m^3", "from memory: no metal is denser than 23,000"),
    ),
    ("a sound level", Possible(-300, 300, "dB")),
    (
        "a temperature",
        Possible(
            -273.15,
            5_000,
            "degC",
            "by definition: absolute zero; from memory: nothing is solid any more",
        ),
    ),
    ("a temperature difference", Possible(-5_300, 5_300, "delta_degC")),
    ("a plain number or a percentage", Possible(-1e7, 1e7, "1")),
)
_REST = Possible(-1e12, 1e12, "")
#: Nothing that is measured in the units above is this small and not nought.
SMALLEST = 1e-9
_OF_DEGREES = ("degC", "delta_degC", "deg", "dB")


@lru_cache(maxsize=1024)
def possible_in(unit: str, of: str = "") -> tuple[float, float]:
    """The span of what is possible, in a unit; that of the dimension where there is no row `of`."""
    row = _row(unit, of)
    if not row.unit:
        return row.low, row.high
    low, high = convert(row.low, row.unit, unit), convert(row.high, row.unit, unit)
    return min(low, high), max(low, high)


@lru_cache(maxsize=1024)
def _row(unit: str, of: str) -> Possible:
    named = POSSIBLE.get(of)
    if named is not None and same_dimension(named.unit, unit):
        return named
    return next((row for _, row in ANY if same_dimension(row.unit, unit)), _REST)


def is_possible(value: float, unit: str, of: str = "") -> bool:
    """Whether a quantity can have this value."""
    low, high = possible_in(unit, of)
    return low <= value <= high and (value == 0 or abs(value) >= smallest_in(unit))


@lru_cache(maxsize=1024)
def smallest_in(unit: str) -> float:
    """The least that is measured in a unit and is not nought."""
    row = _row(unit, "")
    if row.unit in _OF_DEGREES or not row.unit:
        return 0.0 if row.unit else 1e-12
    return abs(SMALLEST * convert(1.0, row.unit, unit))


def why_impossible(shown: str, unit: str, of: str = "") -> str:
    """The refusal in words, with the span in the unit that was written."""
    low, high = possible_in(unit, of)
    what = of.replace("_", " ") or "such a quantity"
    ends = f"{_round(low)} to {_round(high)}" + ("" if unit == "1" else f" {normal_unit(unit)}")
    return f"'{shown}' is beyond what is possible: {what} lies within {ends}"


FIX = "check the number and its unit"


def refuse_impossible(
    shown: str, value: float, unit: str, spread: float | None, of: str = ""
) -> None:
    """Refuse a value that nothing aboard can have, or a standard uncertainty as large.

    Raises
    ------
    QuantityError
    """
    if not is_possible(value, unit, of):
        raise QuantityError(why_impossible(shown, unit, of), FIX)
    low, high = possible_in(unit, of)
    if spread is not None and not spread <= high - low:
        raise QuantityError(f"'{shown}' has an uncertainty wider than all that is possible", FIX)


def _round(value: float) -> str:
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    return f"{value:.4g}" if abs(value) < 1e5 else f"{value:.3g}"
