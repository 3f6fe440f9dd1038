"""Invented boats run on an invented tide: what the examples' run tables are made with.

Nothing in here was measured. Seeds are fixed by whoever calls, so that tables come out the same every time.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

TIDE_PERIOD = 12.42  # [h], the principal lunar semidiurnal tide

Curve = Callable[[float], float]


@dataclass(frozen=True)
class Boat:
    """An invented boat: what it does at an engine speed when nothing disturbs it."""

    speed: Curve  # [kn] at [rpm]
    fuel_flow: Curve  # [L/h] at [rpm]; of an electric boat, the power [kW]


@dataclass(frozen=True)
class Day:
    """One session: when it starts, what is fitted, and the water that it meets."""

    id: str
    fitted: str
    start: datetime
    tide: float  # [kn], amplitude along the course
    phase: float  # [h] after slack water at the start
    stream: float = 0.0  # [kn], a river's own, along the course


@dataclass(frozen=True)
class Reading:
    """What is read on one run."""

    day: Day
    set_point: int
    double_run: int
    direction: str
    start: datetime
    over_ground: float  # [kn]
    held: float  # [rpm]
    flow: float  # [L/h], or [kW]


Cells = Callable[[Reading], list[str]]


def plain_cells(run: Reading) -> list[str]:
    """Speed, engine speed and flow, as most of the examples' crews note them."""
    return [f"{run.over_ground:.2f}", f"{run.held:.0f}", f"{run.flow:.1f}"]


@dataclass(frozen=True)
class Table:
    """How a crew writes its table: the headings of what is read, how, and what parts the cells."""

    headings: Sequence[str] = (
        "speed_over_ground [kn]",
        "engine_speed [rpm]",
        "fuel_flow [L/h]",
    )
    cells: Cells = plain_cells
    delimiter: str = ","


@dataclass(frozen=True)
class Water:
    """What disturbs a sweep, and how long a run averages it; see `sweep`."""

    between: float
    within: float
    hold: float
    record: int


def sweep(
    path: Path,
    days: list[Day],
    boats: dict[str, Boat],
    set_points: list[int],
    double_runs: int,
    seed: int,
    between: float,
    *,
    within: float = 0.12,
    hold: float = 4.0,
    record: int = 60,
    table: Table | None = None,
) -> None:
    """Run every day's sweep and write the table.

    Parameters
    ----------
    between : float
        Standard deviation of a session's own speed, as a fraction; of its own flow 1.3 times that.
    within : float
        Standard deviation of a run's speed over ground. [kn]
    hold : float
        Standard deviation of the engine speed about its set point. [rpm]
    record : int
        How long a run is recorded. [s]
    """
    table = table or Table()
    water = Water(between, within, hold, record)
    rng = np.random.default_rng(seed)
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, delimiter=table.delimiter, lineterminator="\n")
        out.writerow(
            [
                "session", "set_point [rpm]", "double_run", "direction", "start", "duration [s]",
                *table.headings, "set_aside", "note",
            ]
        )  # fmt: skip
        for day in days:
            for run in _session(rng, day, boats[day.fitted], set_points, double_runs, water):
                named = [day.id, run.set_point, run.double_run, run.direction]
                out.writerow([*named, run.start.isoformat(), record, *table.cells(run), "", ""])


def _session(
    rng: np.random.Generator,
    day: Day,
    boat: Boat,
    set_points: list[int],
    double_runs: int,
    water: Water,
) -> list[Reading]:
    shared = rng.normal(0, water.between)
    shared_flow = rng.normal(0, 1.3 * water.between)
    own = {rpm: rng.normal(0, 0.3 * water.between) for rpm in set_points}
    clock, out_first, runs = day.start, True, []
    for rpm in _shuffled(rng, set_points):
        for number in range(1, double_runs + 1):
            for direction in ("out", "back") if out_first else ("back", "out"):
                hours = (clock - day.start).total_seconds() / 3600 + 1 / 120
                current = day.tide * math.sin(2 * math.pi * (day.phase + hours) / TIDE_PERIOD)
                held = rpm + rng.normal(0, water.hold)
                through = boat.speed(held) * math.exp(shared + own[rpm])
                sign = 1 if direction == "out" else -1
                over_ground = through + sign * (current + day.stream)
                over_ground += rng.normal(0, water.within)
                flow = boat.fuel_flow(held) * math.exp(shared_flow + rng.normal(0, 0.008))
                runs.append(Reading(day, rpm, number, direction, clock, over_ground, held, flow))
                clock += timedelta(seconds=water.record + 90)  # to settle and to turn
            out_first = not out_first
    return runs


def _shuffled(rng: np.random.Generator, set_points: list[int]) -> list[int]:
    """An order by chance; as on the sheet, never straight up or straight down."""
    while True:
        order: list[int] = rng.permutation(set_points).tolist()
        if len(order) < 3 or sorted(order) not in (order, order[::-1]):
            return order


def changed(boat: Boat, speed: Curve, flow: Curve) -> Boat:
    """The boat with a change fitted: speed and flow multiplied along the sweep."""
    return Boat(
        speed=lambda rpm: boat.speed(rpm) * (1 + speed(rpm)),
        fuel_flow=lambda rpm: boat.fuel_flow(rpm) * (1 + flow(rpm)),
    )


def bump(centre: float, width: float, height: float) -> Curve:
    """A change that is largest at one engine speed. [fraction]"""
    return lambda rpm: height * math.exp(-(((rpm - centre) / width) ** 2))


def semi_planing(rpm: float) -> float:
    """Speed of an invented 11 m workboat. [kn]"""
    return 4.0 + 22.5 / (1 + math.exp(-(rpm - 2350) / 420)) + 1.2 * rpm / 3500


def diesel(rpm: float) -> float:
    """Fuel flow of its invented engine. [L/h]"""
    return 2.5 + 88 * (rpm / 3500) ** 2.9
