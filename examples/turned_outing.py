"""An invented morning of straight runs and turning circles, a second after the other, and what instruments wrote of it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from instruments import _minutes, _summed

KNOT = 1852 / 3600
FINE = 10  # steps a second


@dataclass(frozen=True)
class Turner:
    """A boat: speed on the straight and in the turn [kn], diameter of her steady turn [m], how fast she answers [s]."""

    speed: float
    turning: float
    diameter: float
    answers: float = 1.2
    skids: float = 6.0  # [deg] that her bow is further round than her way


@dataclass(frozen=True)
class Morning:
    """One session: when it begins (UTC), the stream towards east and north [m/s], how far off its figures are [1]."""

    begins: str
    stream: tuple[float, float]
    off: float
    seed: int


def legs(boat: Turner, rng: np.random.Generator) -> Iterator[tuple[float, float, float]]:
    """Seconds, helm and speed [kn]: two double runs, the second begun on the way back, then two circles to either side, twice."""
    about = math.pi * boat.diameter / 2 / (boat.turning * KNOT)
    yield 40, 0, boat.speed
    for seconds, way, speed in (
        (115, 0, boat.speed),
        (about, 1, boat.turning),
        (115, 0, boat.speed),
        (40, 0, 8.0),  # throttled back, so that it is another run
        (125, 0, boat.speed),
        (about, -1, boat.turning),
        (115, 0, boat.speed),
    ):
        yield seconds + float(rng.uniform(0, 1)), way, speed
    for way in (1, -1, 1, -1):
        yield 45 + float(rng.uniform(0, 1)), 0, boat.speed
        helm = way * (1 + float(rng.normal(0, 0.012)))  # nobody holds a wheel twice alike
        yield 2.06 * math.pi * boat.diameter / (boat.turning * KNOT), helm, boat.turning
    yield 20, 0, boat.speed


def written(boat: Turner, morning: Morning) -> Iterator[str]:
    """What a receiver, a compass, an engine and a rudder wrote: RMC, HDT, RPM and RSA, a second."""
    rng = np.random.default_rng(morning.seed)
    plan = list(legs(boat, rng))
    helm = np.concatenate([np.full(round(s * FINE), way) for s, way, _ in plan])
    commanded = np.concatenate([np.full(round(s * FINE), knots) for s, _, knots in plan])
    rate_asked = 2 * boat.turning * KNOT / (boat.diameter * (1 + morning.off))
    speed, rate, heading, east, north = 5.0, 0.0, math.radians(35.0), 0.0, 0.0
    wander = np.zeros(2)
    start = datetime.fromisoformat(morning.begins).replace(tzinfo=UTC).timestamp()
    for k, (way, asked) in enumerate(zip(helm.tolist(), commanded.tolist(), strict=True)):
        if k % FINE == 0:
            wander = 0.97 * wander + rng.normal(0, 0.07, 2)
            course = heading - math.radians(boat.skids) * rate / rate_asked
            ve = speed * KNOT * math.sin(course) + morning.stream[0] + rng.normal(0, 0.04)
            vn = speed * KNOT * math.cos(course) + morning.stream[1] + rng.normal(0, 0.04)
            yield from _second(start + k / FINE, (east + wander[0], north + wander[1]), (ve, vn), heading, way, asked, rng)  # fmt: skip
        rate += (way * rate_asked - rate) / boat.answers / FINE
        speed += (asked - speed) / (3.0 if way else 6.0) / FINE
        heading += rate / FINE
        course = heading - math.radians(boat.skids) * rate / rate_asked
        east += (speed * KNOT * math.sin(course) + morning.stream[0]) / FINE
        north += (speed * KNOT * math.cos(course) + morning.stream[1]) / FINE


def _second(
    seconds: float,
    place: tuple[float, float],
    velocity: tuple[float, float],
    heading: float,
    way: float,
    asked: float,
    rng: np.random.Generator,
) -> Iterator[str]:
    moment = datetime.fromtimestamp(round(seconds), UTC)
    south = _minutes(40.0 - place[1] / 111_120, 2)
    west = _minutes(30.0 - place[0] / (111_120 * math.cos(math.radians(40.0))), 3)
    knots = math.hypot(*velocity) / KNOT
    course = math.degrees(math.atan2(*velocity)) % 360
    yield _summed(f"GPRMC,{moment:%H%M%S}.00,A,{south},S,{west},W,{knots:.2f},{course:.1f},{moment:%d%m%y},,,A")  # fmt: skip
    yield _summed(f"HEHDT,{(math.degrees(heading) + rng.normal(0, 0.4)) % 360:.1f},T")
    yield _summed(f"IIRPM,E,1,{(3000 if asked > 9 else 1700) + rng.normal(0, 4):.0f},,A")
    yield _summed(f"IIRSA,{20.0 * way + rng.normal(0, 0.2):.1f},A,,V")
