"""What instruments may write: every quantity that a log may hold, with its unit."""

from __future__ import annotations

from collections.abc import Mapping

#: Every quantity that a log may hold, with the unit that channels carry it in. Names are those of
#: the catalogue where that has the quantity. A wind is the true one unless its name says that it
#: is the one felt aboard.
UNITS: Mapping[str, str] = {
    "speed_over_ground": "kn",
    "course_over_ground": "deg",
    "course_over_ground_magnetic": "deg",
    "speed_through_water": "kn",
    "heading": "deg",
    "heading_magnetic": "deg",
    "magnetic_variation": "deg",
    "rate_of_turn": "deg/min",
    "latitude": "deg",
    "longitude": "deg",
    "distance": "m",
    "engine_speed": "rpm",
    "propeller_speed": "rpm",
    "engine_load": "%",
    "engine_torque": "%",
    "throttle": "%",
    "fuel_flow": "L/h",
    "shaft_power": "kW",
    "water_depth": "m",
    "water_temperature": "degC",
    "wind_speed": "kn",
    "wind_angle": "deg",
    "wind_direction": "deg",
    "apparent_wind_speed": "kn",
    "apparent_wind_angle": "deg",
    "heel": "deg",
    "trim": "deg",
    "rudder_angle": "deg",
    "tank_level": "%",
    "stroke_rate": "1/min",
    "fuel_mass_flow": "kg/h",
    "electric_power": "kW",
    "torque": "N*m",
    "thrust": "kN",
    "exhaust_temperature": "degC",
    "coolant_temperature": "degC",
    "boost_pressure": "kPa",
    "sound_level": "dB",
}

#: Angles around the compass: 359 and 1 are 2 apart.
CIRCULAR = frozenset(
    {
        "course_over_ground",
        "course_over_ground_magnetic",
        "heading",
        "heading_magnetic",
        "wind_angle",
        "wind_direction",
        "apparent_wind_angle",
    }
)
