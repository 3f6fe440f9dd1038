"""Invented boats with known curves, for the figures of the sweep as a whole.

A world makes session values as the reduction hands them on; they then take the same way as any
user's trial: curves, figures, comparison. What is true is computed from the curves themselves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.derived import Fitted, derived
from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.sweep.duty import duty_tables
from slackwater.analysis.sweep.equal_speed import Target, equal_speed_tables
from slackwater.analysis.sweep.figures import best_economy, top_speed
from slackwater.analysis.sweep.planing import planing
from slackwater.analysis.verdict.judgement import Judged, judge_sweep
from slackwater.analysis.verdict.terms import Terms

Array = NDArray[np.float64]
Curve = Callable[[Array], Array]

AXIS = SweepAxis("engine_speed", "rpm")
EVEN = tuple(np.linspace(1500, 4500, 11).tolist())
TRIPS = 100


def flow(rpm: Array) -> Array:
    """Fuel flow of an invented engine. [L/h]"""
    return np.asarray(2 + 60 * (rpm / 4500) ** 2.4)


def hump(rpm: Array) -> Array:
    """A planing boat with a smooth hump at about 2600 rpm. [kn]"""
    return np.asarray(11 / (1 + np.exp(-(rpm - 2600) / 230)) + 3.4 * (rpm / 1000) ** 1.15)


def kink(rpm: Array) -> Array:
    """One that lifts all at once: straight pieces, rounded over 100 rpm. [kn]"""
    around = np.linspace(-50, 50, 21)
    pieces = [np.interp(rpm + a, [1000, 2200, 2800, 5200], [4.0, 8.5, 17.0, 31.0]) for a in around]
    return np.asarray(np.mean(pieces, axis=0))


def plain(rpm: Array) -> Array:
    """One without a hump, whose economy hardly depends on speed. [kn]"""
    return np.asarray(0.0072 * rpm - 1.0)


def flat_flow(rpm: Array) -> Array:
    """The engine that makes it so: economy has a best at 17 kn, and is 1 % less 6 kn off. [L/h]"""
    speed = plain(rpm)
    return np.asarray(speed / 0.9 * np.exp(0.00028 * (speed - 17.0) ** 2))


@dataclass(frozen=True)
class SweepWorld:
    """What is true in one cell of the simulation.

    Parameters
    ----------
    name : str
    speed, flow : callable
        Of the baseline, over engine speed.
    stretch : float
        The modified boat does at this many times the engine speed what the baseline does: a
        finer propeller, with which nothing changes at equal speed. [1]
    flow_change : float
        Further change of fuel flow, everywhere. [1]
    lift : float
        The modified boat's hump comes so much earlier. [rpm]
    between, by_set_point, run : float
        Standard deviations of sessions, of set points within them, and of their runs. [1]
    order : str
    points : tuple of float
        Set points. [rpm]
    cruise : tuple of float
        Where the best economy is looked for. [kn]
    """

    name: str
    speed: Curve
    flow: Curve = flow
    stretch: float = 1.0
    flow_change: float = 0.0
    lift: float = 0.0
    between: float = 0.005
    by_set_point: float = 0.0015
    run: float = 0.003
    order: str = "ABBAAB"
    points: tuple[float, ...] = EVEN
    cruise: tuple[float, float] = (12.0, 24.0)
    speeds: tuple[float, ...] = (9.0, 13.0, 16.0, 19.0, 22.0)
    duty: tuple[tuple[float, float], ...] = ((20.0, 1.0), (10.0, 2.0))

    def speed_of(self, fitted: str, rpm: Array) -> Array:
        """True speed of a configuration. [kn]"""
        rpm = np.asarray(rpm, dtype=float)
        if fitted == "A":
            return self.speed(rpm)
        return self.speed(rpm / self.stretch + self.lift)

    def flow_of(self, fitted: str, rpm: Array) -> Array:
        """True fuel flow of a configuration. [L/h]"""
        rpm = np.asarray(rpm, dtype=float)
        if fitted == "A":
            return self.flow(rpm)
        return self.flow(rpm / self.stretch) * (1 + self.flow_change)


@dataclass(frozen=True)
class Truth:
    """What the figures of one configuration really are."""

    flow_at: Array
    economy_at: Array
    engine_at: Array
    top: float
    best_speed: float
    best_economy: float
    steepest: float
    threshold: float
    trip: float


def truth(world: SweepWorld, fitted: str) -> Truth:
    """Compute what is true from the curves, on a fine grid."""
    rpm = np.linspace(world.points[0], world.points[-1], 300_001)
    speed, burned = world.speed_of(fitted, rpm), world.flow_of(fitted, rpm)
    at = np.interp(world.speeds, speed, rpm)
    economy = speed / burned
    cruising = np.where((speed >= world.cruise[0]) & (speed <= world.cruise[1]), economy, -np.inf)
    best = int(cruising.argmax())
    rise = np.gradient(speed, rpm)
    steep = np.flatnonzero(rise > rise.max() * 0.9999)
    steepest = float(rpm[steep].mean())
    flow_at = world.flow_of(fitted, at)
    legs = np.array([v for v, _ in world.duty])
    hours = np.array([h for _, h in world.duty])
    return Truth(
        flow_at=flow_at,
        economy_at=np.array(world.speeds) / flow_at,
        engine_at=at,
        top=float(speed[-1]),
        best_speed=float(speed[best]),
        best_economy=float(economy[best]),
        steepest=steepest,
        threshold=float(np.interp(steepest, rpm, speed)),
        trip=float((world.flow_of(fitted, np.interp(legs, speed, rpm)) * hours).sum()),
    )


def simulate(world: SweepWorld, rng: np.random.Generator) -> dict[str, SessionValues]:
    """Session values of speed and fuel flow of one trial in this world."""
    points = np.array(world.points)
    sessions, n = len(world.order), len(points)
    tables = {}
    for name, unit, better, of, share in (
        ("speed", "kn", "more", world.speed_of, 1.0),
        ("fuel_flow", "L/h", "less", world.flow_of, 1.3),
    ):
        true = np.array([of(fitted, points) for fitted in world.order])
        error = share * world.between * rng.standard_normal((sessions, 1))
        error = error + np.hypot(world.by_set_point, world.run) * rng.standard_normal((sessions, n))
        values = true * np.exp(error)
        tables[name] = SessionValues(
            quantity=name,
            unit=unit,
            scale="ratio",
            better=better,
            sessions=tuple(f"S{i + 1}" for i in range(sessions)),
            positions=points,
            labels=tuple(f"{p:g} rpm" for p in points),
            values=values,
            run_variance=(world.run * values) ** 2,
            double_runs=np.full((sessions, n), 3),
            instrument_variance=np.zeros(n),
        )
    return tables


def figures(world: SweepWorld, tables: dict[str, SessionValues]) -> dict[str, SessionValues]:
    """Every figure of the sweep, as the pipeline makes them."""
    fitted = list(world.order)
    speed, burned = tables["speed"], tables["fuel_flow"]
    economy = economy_of(speed, burned)
    targets = [Target(v, f"{v:g} kn", v) for v in world.speeds]
    found = list(equal_speed_tables(tables, AXIS, fitted, targets).values())
    found.append(top_speed(speed, fitted))
    found += best_economy(speed, economy, fitted, world.cruise, 0.95)
    found += planing(speed, AXIS, fitted, 0.95)
    legs = [(Target(v, f"{v:g} kn", v), hours) for v, hours in world.duty]
    found += duty_tables(tables, fitted, legs, TRIPS)
    return {table.key: table for table in found} | {"speed": speed, "economy": economy}


def economy_of(speed: SessionValues, burned: SessionValues) -> SessionValues:
    """Economy at the set points, by the pipeline's own derivation."""
    nothing = Fitted((None,) * len(speed.sessions), (None,) * len(speed.sessions))
    tables = {"speed": speed, "fuel_flow": burned}
    return derived(tables, nothing, AXIS)["economy"]


def judge(table: SessionValues, world: SweepWorld) -> Judged:
    """The comparison of the modified with the baseline in one figure."""
    return judge_sweep(table, list(world.order), "A", "B", Terms())
