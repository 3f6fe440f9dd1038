"""Invented worlds: trials whose truth is known, for the simulations in this folder.

A world makes run tables as the intake would hand them on; they then take the same way as any
user's trial: reduction, session values, comparison.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from slackwater.analysis.quantities.making import Instrument, SweepAxis, measured
from slackwater.analysis.reduction.reduction import reduce_runs
from slackwater.analysis.verdict.judgement import Judged, judge_sweep
from slackwater.analysis.verdict.terms import Terms
from slackwater.protocol.catalogue.measures import MEASURES

Array = NDArray[np.float64]

TIDE_PERIOD = 12.42 * 3600  # [s]
RUN_EVERY = 150.0  # [s]
SPEEDS = np.linspace(8.0, 44.0, 8)  # [kn] through the water at the set points


@dataclass(frozen=True)
class World:
    """What is true in one cell of the simulation.

    Parameters
    ----------
    order : str
        Configurations in the order of the sessions, one a day; A the baseline.
    double_runs : int
        Per set point and session.
    tide : float
        Amplitude of the current along the course. [kn]
    between, by_set_point : float
        Standard deviation of sessions, shared and of each set point. [1]
    run : float
        Standard deviation of one run's speed over ground. [kn]
    uneven : float
        Factor on the noise of two of the set points. [1]
    heavy : bool
        Student's t with 3 degrees of freedom in place of every normal deviate, same variance.
    missing : float
        Chance that a double run is missing. [1]
    per_day : int
        Sessions a day; with more than one, sessions are compared within their day.
    day : float
        Standard deviation of what a day does to all its sessions. [1]
    effect : tuple of float
        True change at each set point. [1]
    loading : tuple of float
        How strongly what a session shares shows at each set point. [1]
    louder : str
        Configurations whose sessions scatter more, or less, than those of the others.
    louder_by : float
        How many times. [1]
    """

    order: str
    double_runs: int = 3
    tide: float = 1.0
    between: float = 0.006
    by_set_point: float = 0.003
    run: float = 0.15
    uneven: float = 1.0
    heavy: bool = False
    missing: float = 0.0
    per_day: int = 1
    day: float = 0.0
    effect: tuple[float, ...] = (0.0,) * 8
    loading: tuple[float, ...] = (1.0,) * 8
    louder: str = ""
    louder_by: float = 1.0

    @property
    def noise_factor(self) -> Array:
        """Factor on the noise of each set point. [1]"""
        factor = np.ones(len(SPEEDS))
        factor[3:5] = self.uneven
        return factor

    def deviates(self, rng: np.random.Generator, *shape: int) -> Array:
        """Deviates of unit variance."""
        if self.heavy:
            return np.asarray(rng.standard_t(3, shape) / np.sqrt(3.0))
        return np.asarray(rng.standard_normal(shape))

    def session_variance(self) -> Array:
        """True variance of the logarithm of a session value at each set point. [1]"""
        runs = (self.run / SPEEDS) ** 2 / (2 * self.double_runs)
        shared = (self.between * np.array(self.loading)) ** 2
        return shared + self.noise_factor**2 * (self.by_set_point**2 + runs)

    def session_noise(self, fitted: str, rng: np.random.Generator) -> Array:
        """What a session adds to the logarithm of its values, runs not counted, shape (points,)."""
        level = self.between * np.array(self.loading) * self.deviates(rng, 1)
        own = self.by_set_point * self.noise_factor * self.deviates(rng, len(SPEEDS))
        return np.asarray((level + own) * (self.louder_by if fitted in self.louder else 1.0))


def simulate(world: World, rng: np.random.Generator) -> pd.DataFrame:
    """The run table of one trial in this world, as the intake hands it on."""
    points = len(SPEEDS)
    columns: dict[str, list[Array]] = {
        name: [] for name in ("session", "point", "pair", "sign", "seconds", "speed")
    }
    clock = phase = 0.0
    days = np.zeros(len(world.order))
    if world.day:
        days = world.day * world.deviates(rng, len(world.order))
    for s, fitted in enumerate(world.order):
        if s % world.per_day == 0:
            clock = 86400.0 * (s // world.per_day)
        noise = days[s // world.per_day] + world.session_noise(fitted, rng)
        change = np.log1p(np.array(world.effect)) if fitted == "B" else np.zeros(points)
        through = SPEEDS * np.exp(noise + change)
        point = np.repeat(rng.permutation(points), 2 * world.double_runs)
        pair = np.tile(np.repeat(np.arange(world.double_runs), 2), points)
        first = np.where(np.arange(points * world.double_runs) % 2 == 0, 1.0, -1.0)
        sign = np.stack([first, -first], axis=1).ravel()
        seconds = RUN_EVERY * np.arange(point.size) + clock
        clock = seconds[-1] + RUN_EVERY
        if s % world.per_day == 0:
            phase = rng.uniform(0, 2 * np.pi)
        current = world.tide * np.sin(2 * np.pi * seconds / TIDE_PERIOD + phase)
        blur = world.run * world.noise_factor[point] * world.deviates(rng, point.size)
        speed = through[point] + sign * current + blur
        keep = np.ones(point.size, dtype=bool)
        if world.missing:
            gone = rng.random(points * world.double_runs) < world.missing
            keep = ~np.repeat(gone, 2)
        for name, values in zip(
            columns, (np.full(point.size, s), point, pair, sign, seconds, speed), strict=True
        ):
            columns[name].append(values[keep])
    data = {name: np.concatenate(parts) for name, parts in columns.items()}
    start = pd.Timestamp("2026-05-04T08:00:00") + pd.to_timedelta(data["seconds"], unit="s")
    return pd.DataFrame(
        {
            "row": np.arange(2, data["point"].size + 2),
            "session": [f"S{int(s) + 1}" for s in data["session"]],
            "set_point": 1000.0 + 500.0 * data["point"],
            "double_run": data["pair"].astype(int) + 1,
            "direction": np.where(data["sign"] > 0, "out", "back"),
            "heading": np.nan,
            "start": start.astype("datetime64[ns]"),
            "duration": 60.0,
            "speed_over_ground": data["speed"],
            "set_aside": "",
        }
    )


def analyse_runs(world: World, frame: pd.DataFrame, terms: Terms | None = None) -> Judged:
    """The comparison of speed along the sweep, by the way that users' trials take."""
    reduction = reduce_runs(frame, method="tide_fit", one_way=False)
    seen = {session for session, _ in reduction.cells}
    order = {f"S{i + 1}": fitted for i, fitted in enumerate(world.order)}
    sessions = tuple(name for name in order if name in seen)
    measure = replace(MEASURES["speed_over_ground"], unit="kn")
    tables = measured(
        reduction,
        {"speed_over_ground": measure},
        {"speed_over_ground": Instrument("kn")},
        SweepAxis("engine_speed", "rpm"),
        sessions,
    )
    fitted = [order[name] for name in sessions]
    days = [str(list(order).index(name) // world.per_day) for name in sessions]
    blocks = days if world.per_day > 1 else None
    return judge_sweep(tables["speed"], fitted, "A", "B", terms or Terms(), blocks)
