"""Counts over simulated sweeps: how often each figure's interval holds, and how often it misleads."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from sweep_world import TRIPS, SweepWorld, Truth, economy_of, figures, judge, simulate, truth

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.result.assembly import mean_half_width
from slackwater.analysis.result.bands import band_of

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Count:
    """What came of one figure in the trials of one world.

    Attributes
    ----------
    trials : int
    stated : int
        Trials that gave an interval.
    wrong : int
        Of these, trials in which the interval of the difference missed the truth anywhere.
    false : int
        Trials in which a difference was called established where there is none.
    level_wrong : int
        Trials in which the interval of a configuration's own figure missed the truth.
    width : float
        Median half-width of the difference. [1, or the unit of a difference]
    """

    trials: int
    stated: int
    wrong: int
    false: int
    level_wrong: int
    width: float

    def bound(self, rate: float) -> float:
        """The most that a count may be: the rate, one point, and three standard errors."""
        rate = rate + 0.01
        return self.trials * rate + 3 * float(np.sqrt(self.trials * rate * (1 - rate)))


def expected(key: str, one: Truth) -> Array | None:
    """The true value of a figure of one configuration; None for what is not followed."""
    found = {
        "fuel_flow at equal speed": one.flow_at,
        "economy at equal speed": one.economy_at,
        "engine_speed at equal speed": one.engine_at,
        "top_speed by top speed": one.top,
        "planing_engine_speed by steepest rise": one.steepest,
        "planing_threshold by steepest rise": one.threshold,
        "trip_fuel by trip": one.trip,
        "annual_fuel by year": one.trip * TRIPS,
    }.get(key)
    if key.startswith("best_economy_speed"):
        found = one.best_speed
    elif key.startswith("best_economy"):
        found = one.best_economy
    return None if found is None else np.atleast_1d(np.asarray(found, dtype=float))


def tally(world: SweepWorld, trials: int, seed: int) -> dict[str, Count]:
    """Simulate trials of one world and count, by figure."""
    rng = np.random.default_rng(seed)
    true = {name: truth(world, name) for name in "AB"}
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    widths: dict[str, list[float]] = defaultdict(list)
    for _ in range(trials):
        tables = simulate(world, rng)
        for key, table in figures(world, tables).items():
            a, b = (expected(key, true[name]) for name in "AB")
            if a is not None and b is not None:
                name = key if not key.startswith("best") else table.quantity
                _count(table, world, {"A": a, "B": b}, counts[name], widths[name])
        _along(world, economy_of(tables["speed"], tables["fuel_flow"]), counts["economy band"])
    return {
        name: Count(trials, *count, float(np.median(widths[name])) if widths[name] else np.nan)
        for name, count in counts.items()
    }


def _count(
    table: SessionValues,
    world: SweepWorld,
    true: dict[str, Array],
    count: list[int],
    widths: list[float],
) -> None:
    judged = judge(table, world)
    found = judged.differences
    if found is None or not np.isfinite(found.difference).any():
        return
    ratio = table.scale == "ratio"
    difference = np.log(true["B"] / true["A"]) if ratio else true["B"] - true["A"]
    known = np.isfinite(found.difference)
    off = np.abs(found.difference - difference)[known]
    count[0] += 1
    count[1] += bool((off > found.half_width[known]).any())
    none = np.abs(difference) < 1e-9
    count[2] += bool((found.established & none & known).any())
    widths.append(float(np.median(found.half_width[known])))
    wrong = False
    for name in "AB":
        mine = np.array(list(world.order)) == name
        half = mean_half_width(judged, table, mine)
        mean = table.on_scale()[mine].mean(axis=0)
        level = np.log(true[name]) if ratio else true[name]
        wrong |= bool((np.abs(mean - level) > half)[known].any()) and name == "A"
    count[3] += wrong


def _along(world: SweepWorld, economy: SessionValues, count: list[int]) -> None:
    """The band over the whole axis: it is wrong when the truth leaves it anywhere."""
    found = band_of(judge(economy, world))
    if found is None:
        return
    values = {
        name: np.log(world.speed_of(name, found.position) / world.flow_of(name, found.position))
        for name in "AB"
    }
    difference = values["B"] - values["A"]
    outside = (difference < found.low) | (difference > found.high)
    established = (found.low > 0) | (found.high < 0)
    count[0] += 1
    count[1] += bool(outside.any())
    count[2] += bool((established & (np.abs(difference) < 1e-9)).any())
