"""A protocol with limits of every kind on what a run records, and runs around all of its limits."""

from __future__ import annotations

from random import Random

TRIAL = """\
trial: of-single-runs
protocol:
  protocol: of-single-runs
  version: "1.0"
  conditions:
    wind_speed: {at_most: 8 kn}
    water_depth: {at_least: 6 m}
    water_temperature: {between: [10 degC, 20 degC]}
  runs:
    set_points: {of: engine_speed, values: [1000 rpm, 1500 rpm, 2000 rpm], hold: 1 %}
    double_runs: 1
    directions: one_way
    steady: {settle: 20 s, record: 60 s}
  sessions: {order: AB}
  measures:
    speed_over_ground: {unit: kn}
    engine_speed: {unit: rpm}
    fuel_flow: {unit: L/h}
    trim: {unit: deg}
    wind_speed: {unit: m/s}
    water_depth: {unit: m}
    water_temperature: {unit: degF}
configurations: {bare: {}, fitted: {}}
sessions: [{id: S1, configuration: bare, date: 2026-05-04}]
"""
UNITS = {
    "speed_over_ground": "kn", "engine_speed": "rpm", "fuel_flow": "L/h", "trim": "deg",
    "wind_speed": "m/s", "water_depth": "m", "water_temperature": "degF", "duration": "s",
    "heading": "deg",
}  # fmt: skip
POINTS = (1000.0, 1500.0, 2000.0)
#: Values at, just within and just outside of what is asked, and far from it.
AROUND: dict[str, tuple[float, ...]] = {
    "speed_over_ground": (12.0, 0.0, -3.0, 0.01, 0.005, 300.0, 300.5, 1e-10),
    "fuel_flow": (20.0, 0.0, 1e-4, 5e-5, 50_000.0, 60_000.0),
    "trim": (2.0, 0.0, -3.0, 90.0, 91.0, -90.5),
    "wind_speed": (3.0, 8 * 1852 / 3600, 4.2, 4.1, 200.0, 0.0, -1.0),
    "water_depth": (20.0, 6.0, 5.99, 0.0, 12_000.0),
    "water_temperature": (59.0, 50.0, 68.0, 49.9, 68.1, 23.0, 22.9, 140.5),
    "duration": (60.0, 59.0, 61.5, 0.5, 1.0, 86_400.0, 90_000.0),
    "heading": (45.0, 0.0, 360.0, 361.0, -1.0),
}


def generated(count: int, seed: int) -> list[tuple[float, dict[str, float]]]:
    """Runs as a set point and values by name; some have nothing of a measure."""
    chance = Random(seed)
    found = []
    for _ in range(count):
        point = chance.choice(POINTS)
        off = chance.choice((0.0, 0.0, 0.0099, 0.01, 0.0101, -0.01, -0.02, 0.3, -1.0))
        values = {"engine_speed": round(point * (1 + off), 6)}
        for name, around in AROUND.items():
            usual = chance.random() < 0.75
            value = around[0] if usual else chance.choice(around)
            if name == "speed_over_ground" or chance.random() < 0.9:
                values[name] = value if usual else value * chance.choice((1, 1, 1, 1 + 1e-12))
        found.append((point, values))
    return found
