"""Invented outings as instruments would have recorded them: a helm, a boat that answers slowly, waves, a receiver.

Nothing in here was measured. Whoever calls gives the seed, so that logs come out the same every time; what was
commanded and when is known, so that what is found in the logs can be held against it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STEP = 0.5  # [s] of the simulation
KNOT = 1852.0 / 3600.0  # [m/s]
SETTLE, RECORD, RUN_ON = 30.0, 60.0, 32.0  # [s] that this crew waits, records and goes on
TURNING = 6.0  # [deg/s]
IDLE = 800.0  # [rpm]
TIDE_PERIOD = 12.42 * 3600.0  # [s]


@dataclass(frozen=True)
class Voyage:
    """One outing to be made.

    Parameters
    ----------
    begins : float
        Seconds since 1970-01-01 UTC.
    speed : callable
        Speed through the water at an engine speed. [kn at rpm]
    flow : callable
        Fuel flow at an engine speed. [L/h at rpm]
    points : sequence of float
        Set points in their order, each run twice both ways. [rpm]
    course : float
        Of the runs out. [deg]
    tide, phase : float
        Amplitude along the course [kn], and how long after slack water the outing begins [s].
    broken_off : int or None
        The run, by its place in the order, that is broken off and made again.
    crossing : float or None
        Engine speed of a leg across the course that nobody planned, made half-way. [rpm]
    """

    begins: float
    speed: Callable[[Array], Array]
    flow: Callable[[Array], Array]
    points: Sequence[float]
    course: float
    tide: float = 0.8
    phase: float = 0.0
    broken_off: int | None = None
    crossing: float | None = None


@dataclass(frozen=True)
class MadeRun:
    """A run as it was made: from and to [s], and its true mean speed over ground [kn]."""

    point: float
    direction: str
    start: float
    end: float
    speed: float


@dataclass(frozen=True)
class Recorded:
    """What the instruments show every second, and the runs that were made."""

    seconds: Array
    latitude: Array
    longitude: Array
    speed: Array
    course: Array
    engine: Array
    flow: Array
    runs: tuple[MadeRun, ...]


@dataclass
class _Helm:
    """Commands over time: engine speed and heading."""

    at: float = 0.0
    way: str = ""
    engine: list[tuple[float, float]] = field(default_factory=list)
    heading: list[tuple[float, float]] = field(default_factory=list)
    runs: list[tuple[float, str, float, float]] = field(default_factory=list)

    def turn(self, heading: float) -> None:
        old = self.heading[-1][1]
        change = (heading - old + 180.0) % 360.0 - 180.0
        seconds = abs(change) / TURNING
        self.heading += [(self.at, old), (self.at + seconds, old + change)]
        self.at += seconds

    def hold(self, rpm: float, seconds: float) -> None:
        self.engine.append((self.at, rpm))
        self.at += seconds


def _steered(voyage: Voyage, rng: np.random.Generator) -> _Helm:
    """The whole outing, command by command."""
    helm = _Helm(engine=[(0.0, IDLE)], heading=[(0.0, voyage.course + 180.0)])
    helm.at = 30.0
    plan = [(rpm, way) for rpm in voyage.points for way in ("out", "back", "back", "out")]
    for number, (rpm, way) in enumerate(plan):
        heading = voyage.course + (0.0 if way == "out" else 180.0)
        if number == voyage.broken_off:
            helm.turn(heading)
            helm.hold(rpm, 48.0)
            helm.turn(heading + 180.0)
            helm.at += 20.0
        if voyage.crossing is not None and number == len(plan) // 2:
            helm.turn(heading + 90.0)
            helm.hold(voyage.crossing, 110.0)
        if (
            abs(heading - helm.heading[-1][1]) % 360.0 < 1.0
        ):  # two runs the same way, one behind the other
            helm.hold(IDLE, 25.0)
        helm.turn(heading)
        set_to = rpm * (1.0 + 0.0015 * rng.standard_normal())  # no hand finds it to the revolution
        helm.hold(set_to, SETTLE + rng.uniform(0.0, 4.0))
        helm.way = way
        helm.runs.append((rpm, way, helm.at, helm.at + RECORD))
        helm.at += RECORD + RUN_ON + rng.uniform(0.0, 4.0)
    helm.turn(helm.heading[-1][1] + 90.0)
    helm.hold(IDLE, 30.0)
    return helm


def _answer(commanded: Array, seconds: float) -> Array:
    """First-order answer to what is commanded."""
    out, share = commanded.copy(), 1.0 - np.exp(-STEP / seconds)
    for index in range(1, out.size):
        out[index] = out[index - 1] + share * (commanded[index] - out[index - 1])
    return out


def _wander(rng: np.random.Generator, count: int, seconds: float) -> Array:
    """Noise of unit variance that forgets itself in so many seconds."""
    keep = float(np.exp(-STEP / seconds))
    out = rng.standard_normal(count)
    kick = out * np.sqrt(1.0 - keep**2)
    for index in range(1, count):
        out[index] = keep * out[index - 1] + kick[index]
    return out


def _waves(rng: np.random.Generator, time: Array, period: float) -> Array:
    """A sea of unit variance: some regular waves of near periods."""
    periods = period * rng.uniform(0.8, 1.25, 8)
    phases = rng.uniform(0.0, 2 * np.pi, 8)
    return np.asarray(np.sin(2 * np.pi * time[:, None] / periods + phases).sum(axis=1) / 2.0)


def record(voyage: Voyage, seed: int) -> Recorded:
    """Make the outing and record it; the same seed always gives the same."""
    rng = np.random.default_rng(seed)
    helm = _steered(voyage, rng)
    time = np.arange(int(helm.at / STEP)) * STEP
    at, rpms = np.array(helm.engine).T
    engine = _answer(rpms[np.searchsorted(at, time, side="right") - 1], 1.5)
    wheel = np.interp(time, *np.array(helm.heading).T)
    heading = _answer(wheel, 2.0)
    turning = np.clip(np.abs(np.gradient(heading, STEP)) / TURNING, 0.0, 1.5)
    heading += 1.0 * _waves(rng, time, 4.5) + 0.8 * _wander(rng, time.size, 15.0)
    water = _answer(voyage.speed(engine) * (1.0 - 0.18 * turning), 6.0)
    water *= 1.0 + 0.006 * _waves(rng, time, 4.5) + 0.0015 * _wander(rng, time.size, 20.0)
    tide = voyage.tide * np.sin(2 * np.pi * (time + voyage.phase) / TIDE_PERIOD)
    turn, set_ = np.radians(heading), np.radians(voyage.course + 15.0)
    east = water * np.sin(turn) + tide * np.sin(set_)
    north = water * np.cos(turn) + tide * np.cos(set_)
    ground = np.hypot(east, north)
    shown = slice(None, None, round(1.0 / STEP))
    noise = 0.04 * _wander(rng, time.size, 3.0) + 0.04 * rng.standard_normal(time.size)
    blur = [1.0 * _wander(rng, time.size, 60.0) for _ in range(2)]
    metres = [
        np.cumsum(each) * KNOT * STEP + off for each, off in zip((north, east), blur, strict=True)
    ]
    latitude = -41.0 + metres[0] / 111_200.0  # open water, and no trial was ever run there
    longitude = 160.0 + metres[1] / (111_200.0 * np.cos(np.radians(41.0)))
    course = np.degrees(np.arctan2(east, north)) + 2.0 * rng.standard_normal(
        time.size
    ) / np.maximum(ground, 2)
    drawn = engine * (1.0 + 0.0015 * rng.standard_normal(time.size))
    runs = tuple(
        MadeRun(
            point, way, voyage.begins + begin, voyage.begins + end,
            float(ground[round(begin / STEP) : round(end / STEP)].mean()),
        )
        for point, way, begin, end in helm.runs
    )  # fmt: skip
    return Recorded(
        (voyage.begins + time)[shown], latitude[shown], longitude[shown],
        np.abs(ground + noise)[shown], (course % 360.0)[shown], drawn[shown],
        (voyage.flow(engine) * (1.0 + 0.01 * _wander(rng, time.size, 4.0)))[shown], runs,
    )  # fmt: skip
