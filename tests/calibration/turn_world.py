"""Invented turns as instruments would have recorded them, with what is true of them; and how well they are found and read.

python tests/calibration/turn_world.py [--turns 400]

The boat answers her helm with a lag, skids, and loses speed in the turn; the receiver wanders, the compass is noisy, all
once a second; the water carries her evenly. Truth is read off the path through the water at twenty times that rate.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.handling.circles_found import circles_of
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.track import KNOT, METRES_A_DEGREE

FIGURES = ("advance", "transfer", "tactical_diameter", "steady_diameter", "speed_lost", "time_to_90", "time_to_180")  # fmt: skip
_FINE = 20


@dataclass(frozen=True)
class Turned:
    """A turn: what instruments wrote, and what is true."""

    channels: list[Channel]
    truth: dict[str, float]
    drift: tuple[float, float]


def turn(seed: int, *, rudder: bool, compass: bool = True) -> Turned:
    """One turn to either side, of 400 to 900 degrees."""
    rng = np.random.default_rng(seed)
    speed, lost = float(rng.uniform(3, 9)), float(rng.uniform(0.05, 0.4))
    rate = math.radians(float(rng.uniform(4, 14))) * float(rng.choice([-1, 1]))
    lag, skid = float(rng.uniform(0.5, 2.5)), math.radians(float(rng.uniform(0, 10)))
    drift = (float(rng.normal(0, 0.3)), float(rng.normal(0, 0.3)))
    around = math.radians(float(rng.uniform(400, 900)))
    step, before = 1.0 / _FINE, 45.0
    t = np.arange(-before, around / abs(rate) + 3 * lag, step)
    order = float(rng.uniform(0, 1))
    since = np.clip(t - order, 0, None)
    yaw = rate * (1 - np.exp(-since / lag))
    heading = float(rng.uniform(0, 2 * math.pi)) + np.cumsum(yaw) * step
    slowed = speed * (1 - lost * (1 - np.exp(-since / (2 * lag + 2))))
    course = heading - skid * yaw / abs(rate)  # the way turns after the bow
    east, north = (np.cumsum(slowed * f(course)) * step for f in (np.sin, np.cos))
    truth = _truth(t, east, north, heading, course, order, rate, speed, slowed[-1])
    e, n = (way + c * t for way, c in zip((east, north), drift, strict=True))
    seen = slice(None, None, _FINE)
    s = t[seen]
    wander = [_wander(s.size, 0.5, 30.0, rng) for _ in range(2)]
    e, n = (way[seen] + w for way, w in zip((e, n), wander, strict=True))
    ve = (slowed * np.sin(course))[seen] + drift[0] + rng.normal(0, 0.05, s.size)
    vn = (slowed * np.cos(course))[seen] + drift[1] + rng.normal(0, 0.05, s.size)
    made = {
        "latitude": n / METRES_A_DEGREE,
        "longitude": e / METRES_A_DEGREE,
        "speed_over_ground": np.hypot(ve, vn) / KNOT,
        "course_over_ground": np.degrees(np.arctan2(ve, vn)) % 360,
    }
    if compass:
        made["heading"] = np.degrees(heading[seen]) % 360 + rng.normal(0, 0.7, s.size)
    if rudder:
        made["rudder_angle"] = np.where(s >= order, 25.0, 0.0) + rng.normal(0, 0.3, s.size)
    units = {"speed_over_ground": "kn"}
    channels = [
        Channel(name, "x", units.get(name, "deg"), s, values) for name, values in made.items()
    ]
    return Turned(channels, truth, drift)


def _wander(count: int, sd: float, memory: float, rng: np.random.Generator) -> np.ndarray:
    """What a receiver is off by: most of it the same as a second ago."""
    keep = math.exp(-1 / memory)
    pushes = rng.normal(0, sd * math.sqrt(1 - keep**2), count)
    off = np.empty(count)
    off[0] = rng.normal(0, sd)
    for k in range(1, count):
        off[k] = keep * off[k - 1] + pushes[k]
    return off


def _truth(
    t: np.ndarray, east: np.ndarray, north: np.ndarray, heading: np.ndarray, course: np.ndarray,
    order: float, rate: float, speed: float, steady: float,
) -> dict[str, float]:  # fmt: skip
    """By the definitions, on the path through the water."""
    sign = math.copysign(1.0, rate)
    turned = sign * (heading - heading[0])
    begun = int(np.searchsorted(t, order))
    angle = float(course[0])
    found = {}
    for degrees in (90, 180):
        at = int(np.argmax(turned >= math.radians(degrees)))
        de, dn = east[at] - east[begun], north[at] - north[begun]
        ahead = de * math.sin(angle) + dn * math.cos(angle)
        aside = sign * (de * math.cos(angle) - dn * math.sin(angle))
        found |= {f"time_to_{degrees}": t[at] - order}
        found |= {"advance": ahead, "transfer": aside} if degrees == 90 else {"tactical_diameter": aside}  # fmt: skip
    found["steady_diameter"] = 2 * steady / abs(rate)
    found["speed_lost"] = (speed - steady) / KNOT
    return {name: float(value) for name, value in found.items()}


@dataclass
class Tally:
    """Of one figure: errors [unit], and how often twice the standard uncertainty held the truth."""

    errors: list[float]
    held: int = 0
    told: int = 0

    def line(self) -> str:
        off = np.array(self.errors)
        cover = f"{100 * self.held / self.told:5.1f} % of {self.told}" if self.told else "not told"
        return (
            f"bias {off.mean():+7.3f}  rms {np.sqrt((off**2).mean()):7.3f}  held by ± 2 u: {cover}"
        )


def tally(
    turns: int, *, rudder: bool, compass: bool = True, first: int = 1000
) -> tuple[int, dict[str, Tally]]:
    """How many turns were found as one, and how far off their figures are."""
    found, tallies = 0, {name: Tally([]) for name in FIGURES}
    for seed in range(first, first + turns):
        made = turn(seed, rudder=rudder, compass=compass)
        circles = circles_of(made.channels, 320.0).found
        if len(circles) != 1:
            continue
        found += 1
        for name in FIGURES:
            figure = circles[0].figures[name]
            if figure.value is None:
                continue
            off = figure.value - made.truth[name]
            tallies[name].errors.append(off)
            if figure.uncertainty is not None:
                tallies[name].told += 1
                tallies[name].held += abs(off) <= 2 * figure.uncertainty
    return found, tallies


def main() -> None:
    """Print a line a figure, with and without a rudder, with and without a compass."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--turns", type=int, default=200)
    args = parser.parse_args()
    for rudder, compass in ((True, True), (False, True), (False, False)):
        found, tallies = tally(args.turns, rudder=rudder, compass=compass)
        print(f"{'with' if rudder else 'no'} rudder, {'with' if compass else 'no'} compass: {found} of {args.turns} turns found")  # fmt: skip
        for name, one in tallies.items():
            print(f"  {name:20} {one.line()}", flush=True)


if __name__ == "__main__":
    main()
