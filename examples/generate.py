"""Make the runs of the example trials. The boats, the crews and every figure are invented.

    python examples/generate.py

writes the run tables anew; the seeds are fixed, so the files come out the same every time.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
TIDE_PERIOD = 12.42  # [h], the principal lunar semidiurnal tide

Curve = Callable[[float], float]


@dataclass(frozen=True)
class Boat:
    """An invented boat: what it does at an engine speed when nothing disturbs it."""

    speed: Curve  # [kn] at [rpm]
    fuel_flow: Curve  # [L/h] at [rpm]


@dataclass(frozen=True)
class Day:
    """One session: when it starts, what is fitted, and the tide it meets."""

    id: str
    fitted: str
    start: datetime
    tide: float  # [kn], amplitude along the course
    phase: float  # [h] after slack water at the start


def semi_planing(rpm: float) -> float:
    """Speed of an invented 11 m workboat. [kn]"""
    return 4.0 + 22.5 / (1 + math.exp(-(rpm - 2350) / 420)) + 1.2 * rpm / 3500


def diesel(rpm: float) -> float:
    """Fuel flow of its invented engine. [L/h]"""
    return 2.5 + 88 * (rpm / 3500) ** 2.9


def bump(centre: float, width: float, height: float) -> Curve:
    """A change that is largest at one engine speed. [fraction]"""
    return lambda rpm: height * math.exp(-(((rpm - centre) / width) ** 2))


def sweep(
    path: Path,
    days: list[Day],
    boats: dict[str, Boat],
    set_points: list[int],
    double_runs: int,
    seed: int,
    between: float,
) -> None:
    """Run every day's sweep and write the table."""
    rng = np.random.default_rng(seed)
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(
            [
                "session", "set_point [rpm]", "double_run", "direction", "start", "duration [s]",
                "speed_over_ground [kn]", "engine_speed [rpm]", "fuel_flow [L/h]", "set_aside",
                "note",
            ]
        )  # fmt: skip
        for day in days:
            for row in _session(rng, day, boats[day.fitted], set_points, double_runs, between):
                out.writerow(row)


def _session(
    rng: np.random.Generator,
    day: Day,
    boat: Boat,
    set_points: list[int],
    double_runs: int,
    between: float,
) -> list[list[object]]:
    shared = rng.normal(0, between)
    shared_flow = rng.normal(0, 1.3 * between)
    own = {rpm: rng.normal(0, 0.3 * between) for rpm in set_points}
    clock, out_first, rows = day.start, True, []
    for rpm in rng.permutation(set_points).tolist():
        for number in range(1, double_runs + 1):
            for direction in ("out", "back") if out_first else ("back", "out"):
                hours = (clock - day.start).total_seconds() / 3600 + 1 / 120
                current = day.tide * math.sin(2 * math.pi * (day.phase + hours) / TIDE_PERIOD)
                held = rpm + rng.normal(0, 4)
                through = boat.speed(held) * math.exp(shared + own[rpm])
                sign = 1 if direction == "out" else -1
                over_ground = through + sign * current + rng.normal(0, 0.12)
                flow = boat.fuel_flow(held) * math.exp(shared_flow + rng.normal(0, 0.008))
                rows.append(
                    [
                        day.id, rpm, number, direction, clock.isoformat(), 60,
                        f"{over_ground:.2f}", f"{held:.0f}", f"{flow:.1f}", "", "",
                    ]
                )  # fmt: skip
                clock += timedelta(seconds=150)
            out_first = not out_first
    return rows


def changed(boat: Boat, speed: Curve, flow: Curve) -> Boat:
    """The boat with a change fitted: speed and fuel flow multiplied along the sweep."""
    return Boat(
        speed=lambda rpm: boat.speed(rpm) * (1 + speed(rpm)),
        fuel_flow=lambda rpm: boat.fuel_flow(rpm) * (1 + flow(rpm)),
    )


def workboat() -> None:
    """Interceptors on a workboat: six days, ABBAAB, a gain in the middle and none at the top."""
    bare = Boat(semi_planing, diesel)
    fitted = changed(bare, bump(2250, 420, 0.055), bump(2250, 500, -0.02))
    mornings = [
        ("S1", "bare", "2026-05-04", 0.9, 1.0),
        ("S2", "fitted", "2026-05-06", 1.1, 2.6),
        ("S3", "fitted", "2026-05-11", 1.2, 4.1),
        ("S4", "bare", "2026-05-13", 1.0, 5.4),
        ("S5", "bare", "2026-05-19", 0.8, 0.2),
        ("S6", "fitted", "2026-05-21", 1.0, 3.0),
    ]
    days = [
        Day(id, on, datetime.fromisoformat(f"{date}T08:30:00"), tide, phase)
        for id, on, date, tide, phase in mornings
    ]
    points = [1000, 1400, 1800, 2000, 2200, 2500, 3000, 3500]
    boats = {"bare": bare, "fitted": fitted}
    path = HERE / "workboat-interceptors" / "runs.csv"
    sweep(path, days, boats, points, double_runs=3, seed=20260504, between=0.005)
    _set_aside_one(path)


def _set_aside_one(path: Path) -> None:
    """The skipper called one double run off: traffic on the course."""
    lines = path.read_text(encoding="utf-8").splitlines()
    reason = "gave way to a ferry; throttle closed"
    for i, line in enumerate(lines):
        if line.startswith("S3,1400,2,"):
            lines[i] = line[: -len(",,")] + f",{reason},"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def one_morning_each() -> None:
    """A propeller tried as it is usually done: one morning with the old, one with the new."""
    old = Boat(
        lambda rpm: 5.0 + 29 / (1 + math.exp(-(rpm - 3150) / 560)) + 2.0 * rpm / 6000,
        lambda rpm: 2.0 + 118 * (rpm / 6000) ** 2.6,
    )
    # The new propeller changes nothing; the second morning was merely a better one.
    better_morning = changed(old, lambda rpm: 0.058, lambda rpm: -0.02)
    days = [
        Day("M1", "old", datetime.fromisoformat("2026-06-13T07:45:00"), 0.6, 1.5),
        Day("M2", "new", datetime.fromisoformat("2026-06-20T07:50:00"), 0.7, 4.0),
    ]
    points = [2000, 3000, 3500, 4000, 5000, 6000]
    path = HERE / "one-morning-each" / "runs.csv"
    boats = {"old": old, "new": better_morning}
    sweep(path, days, boats, points, double_runs=1, seed=613, between=0.004)


def planing(rpm: float) -> float:
    """Speed of an invented 7.2 m runabout: a hump at about 3150 rpm. [kn]"""
    return 12 / (1 + math.exp(-(rpm - 3150) / 180)) + 2.75 * (rpm / 1000) ** 1.2


def petrol(rpm: float) -> float:
    """Fuel flow of her invented engine. [L/h]"""
    return 2 + 80 * (rpm / 6000) ** 2.4


def finer_pitch() -> None:
    """A finer propeller: the engine turns 5 % faster for the same speed and the same fuel."""
    standard = Boat(planing, petrol)
    finer = Boat(lambda rpm: planing(rpm / 1.05), lambda rpm: petrol(rpm / 1.05))
    mornings = [
        ("P1", "standard", "2026-07-06", 0.7, 1.2),
        ("P2", "finer", "2026-07-08", 0.8, 2.9),
        ("P3", "finer", "2026-07-13", 0.9, 4.4),
        ("P4", "standard", "2026-07-15", 0.8, 5.1),
        ("P5", "standard", "2026-07-20", 0.6, 0.4),
        ("P6", "finer", "2026-07-22", 0.8, 3.3),
    ]
    days = [
        Day(id, on, datetime.fromisoformat(f"{date}T07:30:00"), tide, phase)
        for id, on, date, tide, phase in mornings
    ]
    points = [2000, 2500, 3000, 3250, 3500, 3750, 4000, 4500, 5000, 5500]
    path = HERE / "finer-pitch-propeller" / "runs.csv"
    boats = {"standard": standard, "finer": finer}
    sweep(path, days, boats, points, double_runs=2, seed=706, between=0.005)


if __name__ == "__main__":
    workboat()
    finer_pitch()
    one_morning_each()
