"""Invented sprints off the mark and stops as instruments would have recorded them, with what is true of them.

python tests/calibration/sprint_world.py [--outings 100]

Each outing has two sprints from rest to above 20 kn, two from 8 kn held, and two stops from 18 kn, one each way along a line,
and between them what is none: a slow passage up to 21 kn, coming about, idling. Speed answers the lever with a lag; the receiver is noisy, the
water carries her evenly. Truth is read off the speed over ground at twenty times the rate of the record.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass, field

import numpy as np

from slackwater.analysis.handling.found_try import FoundTry
from slackwater.analysis.handling.tries import tries_of
from slackwater.analysis.handling.wanted import Wanted, WantedValue
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.terms import CutTerms
from slackwater.analysis.steady.track import KNOT, METRES_A_DEGREE

_FINE = 20
SPRINT = Wanted(
    "sprint", "speed",
    (WantedValue("to_20", "time_to_speed", "s", None, 20.0),
     WantedValue("from_8_to_20", "time_between_speeds", "s", 8.0, 20.0)),
    (), ("out", "back"), "reciprocal", 1, "none",
)  # fmt: skip
STOP = Wanted(
    "stop", "stop",
    (WantedValue("distance", "stopping_distance", "m", 18.0), WantedValue("time", "stopping_time", "s", 18.0)),
    (), ("out", "back"), "reciprocal", 1, "none",
)  # fmt: skip
PULL = Wanted(
    "pull", "speed", (WantedValue("pulled", "time_to_speed", "s", 8.0, 20.0),),
    (), ("out", "back"), "reciprocal", 1, "none",
)  # fmt: skip
VALUES = ("to_20", "from_8_to_20", "pulled", "distance", "time")
TERMS = CutTerms("engine_speed", "rpm", (3000.0,), ((2900.0, 3100.0),))


@dataclass(frozen=True)
class Outing:
    """What instruments wrote, and of each manoeuvre its order and what is true of it."""

    channels: list[Channel]
    orders: dict[str, list[float]]
    truth: dict[str, list[float]]


def outing(seed: int, *, lever: bool) -> Outing:
    """Sprints, stops and what is none of either, along a line and back."""
    rng = np.random.default_rng(seed)
    lag, slow = float(rng.uniform(3, 8)), float(rng.uniform(2, 6))
    stream = float(rng.uniform(-0.1, 0.1))  # [m/s] along the line
    legs: list[tuple[float, float, float]] = []  # seconds, commanded [kn], course [deg]
    for course in (70.0, 250.0):
        legs += [(45, 0, course), (70, 25, course), (60, 18, course), (70, 0, course)]
        legs += [(40, 5, course), (200, 21.5, course)] if course < 180 else []
        legs += [(50, 6, course), (40, 8, course), (60, 25, course), (50, 6, course), (40, 6, course + 180)]  # fmt: skip
    legs = [(s + float(rng.uniform(0, 1)), v, c) for s, v, c in legs]  # no order falls on a sample
    step = 1 / _FINE
    asked = np.concatenate([np.full(round(s * _FINE), v) for s, v, _ in legs])
    course = np.concatenate([np.full(round(s * _FINE), c) for s, _, c in legs])
    t = np.arange(asked.size) * step
    speed, now, creeping = np.empty(asked.size), 0.0, 0.0
    for k, want in enumerate(asked.tolist()):
        tau = 60.0 if want == 21.5 else lag if want > now else slow
        now += step / tau * (want - now)
        creeping = now
        speed[k] = max(creeping, 0.0)
    over = speed * KNOT + stream * np.where(course == 70.0, 1.0, -1.0)
    orders: dict[str, list[float]] = {"sprint": [], "pull": [], "stop": []}
    truth: dict[str, list[float]] = {name: [] for name in VALUES}
    at = 0
    for seconds, want, _ in legs:
        if want == 25 and asked[at - 1] == 8:
            orders["pull"].append(float(t[at]))
            truth["pulled"].append(int(np.argmax(over[at:] >= 20 * KNOT)) * step)
        elif want == 25:
            _sprint(t, over / KNOT, at, orders["sprint"], truth)
        if want == 0 and at:
            before = asked[at - 1]
            if before == 18:
                _stop(t, over, at, orders["stop"], truth)
        at += round(seconds * _FINE)
    seen = slice(None, None, _FINE)
    a = np.radians(course)
    way = [np.cumsum(over * f(a)) * step for f in (np.sin, np.cos)]
    shown = np.hypot(over[seen] / KNOT, 0) + rng.normal(0, 0.08, t[seen].size)
    made = {
        "latitude": (way[1][seen] + rng.normal(0, 0.2, t[seen].size)) / METRES_A_DEGREE,
        "longitude": (way[0][seen] + rng.normal(0, 0.2, t[seen].size)) / METRES_A_DEGREE,
        "speed_over_ground": np.abs(shown),
        "course_over_ground": (course[seen] + rng.normal(0, 1.0, t[seen].size)) % 360,
    }
    if lever:
        made["engine_speed"] = 700 + 120 * asked[seen] + rng.normal(0, 5, t[seen].size)
    units = {"speed_over_ground": "kn", "engine_speed": "rpm"}
    channels = [Channel(n, "x", units.get(n, "deg"), t[seen], v) for n, v in made.items()]
    return Outing(channels, orders, truth)


def _sprint(t: np.ndarray, knots: np.ndarray, at: int, orders: list[float], truth: dict[str, list[float]]) -> None:  # fmt: skip
    orders.append(float(t[at]))
    came = {level: float(t[at + int(np.argmax(knots[at:] >= level))]) for level in (8.0, 20.0)}
    truth["to_20"].append(came[20.0] - t[at])
    truth["from_8_to_20"].append(came[20.0] - came[8.0])


def _stop(t: np.ndarray, over: np.ndarray, at: int, orders: list[float], truth: dict[str, list[float]]) -> None:  # fmt: skip
    orders.append(float(t[at]))
    end = at + int(np.argmax(over[at:] <= 0.3 * KNOT))
    truth["time"].append(float(t[end] - t[at]))
    truth["distance"].append(float(over[at:end].sum()) / _FINE)


@dataclass
class Tally:
    """Manoeuvres made, found, found where there was none; errors of each value, and how often ± 2 u held the truth."""

    made: int = 0
    found: int = 0
    none: int = 0
    errors: dict[str, list[float]] = field(default_factory=lambda: {name: [] for name in VALUES})
    held: dict[str, list[bool]] = field(default_factory=lambda: {name: [] for name in VALUES})

    def add(self, each: Outing, tries: list[FoundTry]) -> None:
        """One outing."""
        for name, orders in each.orders.items():
            own = [one for one in tries if one.manoeuvre == name and not one.aside]
            self.made += len(orders)
            for one in own:
                near = [k for k, order in enumerate(orders) if abs(one.start - order) < 8]
                self.none += not near
                if near:
                    self.found += 1
                    self._values(one, each, near[0])

    def _values(self, one: FoundTry, each: Outing, k: int) -> None:
        for name, figure in one.values.items():
            if figure.value is None:
                continue
            off = figure.value - each.truth[name][k]
            self.errors[name].append(off)
            if figure.uncertainty is not None:
                self.held[name].append(abs(off) <= 2 * figure.uncertainty)

    def lines(self) -> list[str]:
        """In words."""
        told = [f"{self.found} of {self.made} found, {self.none} found that were none"]
        for name, errors in self.errors.items():
            off, held = np.array(errors), self.held[name]
            cover = f"{100 * np.mean(held):5.1f} % of {len(held)}" if held else "not told"
            told.append(f"  {name:14} bias {off.mean():+6.2f}  rms {math.sqrt((off**2).mean()):6.2f}  held by ± 2 u: {cover}")  # fmt: skip
        return told


def tally(outings: int, *, lever: bool, first: int = 500) -> Tally:
    """Many outings together."""
    found = Tally()
    for seed in range(first, first + outings):
        each = outing(seed, lever=lever)
        found.add(each, list(tries_of(each.channels, (SPRINT, PULL, STOP), TERMS).tries))
    return found


def main() -> None:
    """Print what is found with engine speed recorded and without."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--outings", type=int, default=60)
    args = parser.parse_args()
    for lever in (True, False):
        print(f"engine speed {'recorded' if lever else 'not recorded'}:")
        print("\n".join(tally(args.outings, lever=lever).lines()), flush=True)


if __name__ == "__main__":
    main()
