"""Invented outings whose truth is known: a helm, a boat that answers slowly, waves, instruments.

An outing is one session of a trial as the instruments would have recorded it, every set point run
both ways. What was commanded and when is known, so that what is cut from the log can be held against it.

These crews favour the method: they wait until the speed stands, by the boat's own time constant, and run on
so that the way back covers the same water. `hasty` crews wait for as long as they were told and no longer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from slackwater.analysis.logs.channels import Channel
from slackwater.protocol.catalogue.logged import UNITS

Array = NDArray[np.float64]

STEP = 0.1  # [s] of the simulation
KNOT = 1852.0 / 3600.0  # [m/s]
MOORING = (50.0, 4.0)  # [deg] latitude and longitude that the outing starts from, open water


@dataclass(frozen=True)
class OutingWorld:
    """What is true in one cell of the simulation.

    Parameters
    ----------
    points : int
        Set points, each run both ways.
    settle, record : float
        What the crew were told to wait and to record. [s]
    rough : float
        0 is calm, 1 is as rough as anybody would run a trial in.
    rate : float
        Of the receiver. [Hz]
    noise : float
        Of the receiver's speed, standard deviation. [kn]
    lag : float
        By which the receiver's speed and course come late. [s]
    engine : bool
        Whether the engine speed was recorded.
    response : float
        Time in which the boat makes up 63 % of a change of speed. [s]
    tide : float
        Strongest current. [kn]
    dropouts : int
        Gaps of 3 to 12 s in the receiver's record.
    aborted : int
        Runs broken off before their time to settle and to record was over, and made again.
    unplanned : bool
        Whether the boat crosses over at a speed of her own in the middle.
    hasty : bool
        Whether the crew record once the time to settle is over, though the speed may not stand yet.
    positions : bool
        Whether positions were recorded.
    step : float
        What the receiver rounds its speed to. [kn]
    faster : float
        By which the boat is faster than this world's other ones, at every engine speed. [1]
    """

    points: int = 8
    settle: float = 20.0
    record: float = 60.0
    rough: float = 0.0
    rate: float = 1.0
    noise: float = 0.08
    lag: float = 0.0
    engine: bool = True
    response: float = 6.0
    tide: float = 0.8
    dropouts: int = 0
    aborted: int = 0
    unplanned: bool = False
    hasty: bool = False
    positions: bool = True
    step: float = 0.01
    faster: float = 0.0

    @property
    def set_points(self) -> Array:
        """[rpm]"""
        return np.linspace(1000.0, 4500.0, self.points)

    def speed_at(self, rpm: Array) -> Array:
        """Speed through the water at an engine speed: a hump, then planing. [kn]"""
        x = rpm / 4500.0
        bare = 5.5 + 24.0 * x**1.6 + 2.0 * np.tanh(8.0 * (x - 0.6)) + 2.0 * (x - 0.22)
        return np.asarray(bare * (1.0 + self.faster))


@dataclass(frozen=True)
class TrueRun:
    """A run as it was made.

    Parameters
    ----------
    set_point : float
        [rpm]
    direction : str
    held : tuple of float
        From the command for it to the next one. [s]
    start, end : float
        What the crew recorded. [s]
    speed : float
        True mean speed over ground from start to end. [kn]
    recorded : float
        Mean of the receiver over the same. [kn]
    level : float
        Speed over ground as it were without waves, wander and remains of the command. [kn]
    """

    set_point: float
    direction: str
    held: tuple[float, float]
    start: float
    end: float
    speed: float
    recorded: float
    level: float


@dataclass(frozen=True)
class Outing:
    """Channels, the runs that were made, and the plan in its order: set point [rpm] and direction."""

    channels: tuple[Channel, ...]
    runs: tuple[TrueRun, ...]
    plan: tuple[tuple[float, str], ...]


@dataclass
class _Script:
    """Commands over time: engine speed, heading, and what of it was a run."""

    at: float = 0.0

    def __post_init__(self) -> None:
        self.engine: list[tuple[float, float]] = []
        self.heading: list[tuple[float, float]] = []
        self.runs: list[tuple[float, str, float, float, float, float]] = []


def _plan(world: OutingWorld, rng: np.random.Generator) -> list[tuple[float, str]]:
    plan = []
    for number, rpm in enumerate(rng.permutation(world.set_points)):
        both = ("out", "back") if number % 2 == 0 else ("back", "out")
        plan += [(float(rpm), way) for way in both]
    return plan


def _turn(script: _Script, heading: float, rate: float) -> None:
    """Bring the helm over to the new heading at a rate. [deg/s]"""
    old = script.heading[-1][1] if script.heading else heading
    change = (heading - old + 180.0) % 360.0 - 180.0
    seconds = abs(change) / rate
    script.heading += [(script.at, old), (script.at + seconds, old + change)]
    script.at += seconds


def _leg(
    script: _Script,
    world: OutingWorld,
    rpm: float,
    way: str,
    whole: float,
    rng: np.random.Generator,
) -> None:
    """Settle until the speed stands, record, run on so that the way back covers the same water."""
    script.at += rng.uniform(0.0, 3.0)
    old, new = world.speed_at(np.array([script.engine[-1][1], rpm]))
    stands = world.response * float(np.log(max(abs(old - new), 0.2 * new) / (0.003 * new)))
    wait = world.settle if world.hasty else max(world.settle, stands)
    script.engine.append((script.at, rpm))
    begin = script.at + wait + rng.uniform(0.0, 2.0)
    end = (
        begin + world.record if whole == 1.0 else script.at + whole * (world.settle + world.record)
    )
    command = script.at
    script.at = end + rng.uniform(1.0, 4.0) + (wait if whole == 1.0 else 0.0)
    if whole == 1.0:
        script.runs.append((rpm, way, command, script.at, begin, end))


def _script(
    world: OutingWorld, rng: np.random.Generator, course: float
) -> tuple[_Script, list[tuple[float, str]]]:
    plan = _plan(world, rng)
    aborted = set(rng.choice(len(plan), world.aborted, replace=False).tolist())
    script, rate = _Script(), rng.uniform(5.0, 9.0)
    script.engine.append((0.0, 900.0))
    script.heading.append((0.0, course + (180.0 if plan[0][1] == "out" else 0.0)))
    script.at = 40.0
    for number, (rpm, way) in enumerate(plan):
        heading = course if way == "out" else course + 180.0
        if number in aborted:
            _turn(script, heading, rate)
            _leg(script, world, rpm, way, rng.uniform(0.4, 0.75), rng)
            _turn(script, heading + 180.0, rate)
            script.at += rng.uniform(15.0, 25.0)
        if world.unplanned and number == len(plan) // 2:
            _turn(script, heading + 90.0, rate)
            points = world.set_points
            script.engine.append((script.at, float(points[1] * 0.45 + points[2] * 0.55)))
            script.at += world.settle + world.record + 30.0
        _turn(script, heading, rate)
        _leg(script, world, rpm, way, 1.0, rng)
    _turn(script, script.heading[-1][1] + 120.0, rate)
    script.engine.append((script.at, 900.0))
    script.at += 40.0
    return script, plan


def _wander(rng: np.random.Generator, count: int, seconds: float, step: float = STEP) -> Array:
    """Noise of unit variance that forgets itself in so many seconds."""
    keep = np.exp(-step / seconds)
    raw = rng.standard_normal(count + 200) * np.sqrt(1.0 - keep**2)
    return np.asarray(lfilter([1.0], [1.0, -keep], raw)[200:])


def _waves(rng: np.random.Generator, count: int, period: float) -> Array:
    """Waves of unit variance in a narrow band."""
    turn, keep = 2 * np.pi * STEP / period, np.exp(-STEP / (1.5 * period))
    raw = rng.standard_normal(count + 1000)
    out = lfilter([1.0], [1.0, -2 * keep * np.cos(turn), keep**2], raw)[1000:]
    return np.asarray(out / out.std())


def _answer(commanded: Array, seconds: float, start: float) -> Array:
    """First-order response to what is commanded."""
    keep = np.exp(-STEP / seconds)
    return np.asarray(lfilter([1 - keep], [1.0, -keep], commanded, zi=[keep * start])[0])


def _over_ground(water: Array, helm: Array, tide: Array, set_: float) -> float:
    """Mean speed over ground of a boat that holds course and speed exactly. [kn]"""
    along = np.radians(helm) - set_
    return float(np.hypot(water + tide * np.cos(along), tide * np.sin(along)).mean())


def _sampled(
    quantity: str, source: str, time: Array, values: Array, keep: NDArray[np.bool_] | slice
) -> Channel:
    return Channel(quantity, source, UNITS[quantity], time[keep], values[keep])


def simulate_outing(world: OutingWorld, seed: int, *, begins: float = 1_777_881_600.0) -> Outing:
    """One outing in this world; the same seed always gives the same one."""
    rng = np.random.default_rng(seed)
    course = rng.uniform(0.0, 360.0)
    script, plan = _script(world, rng, course)
    count = int(script.at / STEP)
    t = np.arange(count) * STEP
    at, rpms = np.array(script.engine).T
    rpm = _answer(rpms[np.searchsorted(at, t, side="right") - 1], 1.5, 900.0)
    helm = np.interp(t, *np.array(script.heading).T)
    swell = rng.uniform(3.0, 6.0)
    heading = _answer(helm, 2.0, helm[0])
    turning = np.abs(np.gradient(heading, STEP)) / 6.0
    yaw = (0.6 + 2.2 * world.rough) * _waves(rng, count, swell)
    yaw += (0.7 + 0.8 * world.rough) * _wander(rng, count, 15.0)
    ideal = world.speed_at(rpm) * (1.0 - 0.2 * np.clip(turning, 0.0, 1.5))
    speed = _answer(ideal, world.response, ideal[0])
    surge = (0.003 + 0.022 * world.rough) * _waves(rng, count, swell)
    surge += (0.001 + 0.003 * world.rough) * _wander(rng, count, 20.0)
    speed = speed * (1.0 + surge)
    direction = np.radians(heading + yaw)
    phase, set_ = rng.uniform(0, 2 * np.pi), np.radians(course + rng.uniform(-40.0, 40.0))
    tide = world.tide * np.sin(2 * np.pi * t / 44_700.0 + phase)
    east = speed * np.sin(direction) + tide * np.sin(set_)
    north = speed * np.cos(direction) + tide * np.cos(set_)
    ground = np.hypot(east, north)

    every = round(1.0 / (world.rate * STEP))
    late = round(world.lag / STEP)
    seen = np.arange(rng.integers(every), count, every)
    source = np.maximum(seen - late, 0)
    heard = np.ones(seen.size, dtype=bool)
    for begin in rng.uniform(0, t[-1], world.dropouts):
        heard &= ~((t[seen] > begin) & (t[seen] < begin + rng.uniform(3.0, 12.0)))
    error = 0.7 * _wander(rng, seen.size, 3.0, STEP * every) + 0.71 * rng.standard_normal(seen.size)
    sog = np.round(np.abs(ground[source] + world.noise * error) / world.step) * world.step
    cross = np.degrees(
        world.noise * rng.standard_normal(seen.size) / np.maximum(ground[source], 0.3)
    )
    cog = np.round((np.degrees(np.arctan2(east, north))[source] + cross) % 360.0, 1) % 360.0
    clock = begins + t[seen]
    channels = [
        _sampled("speed_over_ground", "receiver", clock, sog, heard),
        _sampled("course_over_ground", "receiver", clock, cog, heard),
    ]
    if world.positions:
        blur = 1.2 * np.stack([_wander(rng, seen.size, 60.0, STEP * every) for _ in range(2)])
        metres = np.stack([np.cumsum(north), np.cumsum(east)])[:, seen] * KNOT * STEP + blur
        latitude = MOORING[0] + metres[0] / 111_200.0
        longitude = MOORING[1] + metres[1] / (111_200.0 * np.cos(np.radians(MOORING[0])))
        channels += [
            _sampled("latitude", "receiver", clock, latitude, heard),
            _sampled("longitude", "receiver", clock, longitude, heard),
        ]
    if world.engine:
        rows = np.arange(rng.integers(10), count, 10)
        shown = rpm[rows] * (1.0 + 0.002 * rng.standard_normal(rows.size))
        channels.append(
            _sampled(
                "engine_speed",
                "engine",
                begins + t[rows],
                np.round(shown / 0.25) * 0.25,
                slice(None),
            )
        )
        flow = 2.0 + 60.0 * (rpm[rows] / 4500.0) ** 2.6
        channels.append(
            _sampled("fuel_flow", "engine", begins + t[rows], np.round(flow, 1), slice(None))
        )
    runs = []
    for point, way, command, left, begin, end in script.runs:
        inside = slice(round(begin / STEP), round(end / STEP))
        window = heard & (t[seen] >= begin + world.lag) & (t[seen] < end + world.lag)
        runs.append(
            TrueRun(
                point, way, (begins + command, begins + left), begins + begin, begins + end,
                float(ground[inside].mean()),
                float(sog[window].mean()),
                _over_ground(world.speed_at(np.array(point)), helm[inside], tide[inside], set_),
            )
        )  # fmt: skip
    return Outing(tuple(channels), tuple(runs), tuple(plan))
