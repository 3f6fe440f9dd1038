"""Invented outings of planing slower and slower, heel in turns and steering on a straight, with what is true of them.

python tests/calibration/planing_world.py [--outings 100]

In each outing she comes down in steps from a planing speed and holds each, out and back, until she falls off the plane; between
them is what tells no slowest speed: throttled back from a fast run, a hold that nobody comes off from, coming about. Trim is
low on the plane, high at the hump; waves and instruments are noisy; the water carries her evenly. Turns to both sides heel
her by a rounded peak. On a straight the heading strays as a damped spring pushed about at random does, whose spread is known in
closed form. Truth is what was put in, before noise.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass, field

import numpy as np

from slackwater.analysis.handling.found_try import FoundTry
from slackwater.analysis.handling.own_values import OwnValue, read_own
from slackwater.analysis.handling.steering import heading_spread
from slackwater.analysis.handling.tries import tries_of
from slackwater.analysis.handling.wanted import Held, Wanted, WantedValue
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.terms import CutTerms
from slackwater.analysis.steady.track import KNOT, METRES_A_DEGREE
from slackwater.protocol.declared.limits import Limit
from slackwater.protocol.units.quantity import Quantity

_FINE = 10
STEP = 1.0  # [kn] that she comes down by
HELD = Held(
    10.0,
    0.4,
    2.5,
    {
        "trim": Limit(at_most=Quantity(4.5, "deg")),
        "speed_over_ground": Limit(at_least=Quantity(8.0, "kn")),
    },
)
SLOW = Wanted(
    "come_down", "planing",
    (WantedValue("slowest", "slowest_planing_speed", "kn", held=HELD),),
    (), ("out", "back"), "reciprocal", 1, "none",
)  # fmt: skip
TERMS = CutTerms("engine_speed", "rpm", (3000.0,), ((2900.0, 3100.0),))
OWN = {
    "max": OwnValue("lean", "deg", "heel", "max"),
    "furthest": OwnValue("lean", "deg", "heel", "furthest"),
    "mean": OwnValue("lean", "deg", "heel", "mean"),
    "spread": OwnValue("lean", "deg", "heel", "spread"),
}


@dataclass(frozen=True)
class Outing:
    """What instruments wrote; when the slowest speeds were held; and what is true of the speed over ground. [s, kn]"""

    channels: list[Channel]
    holds: list[tuple[float, float]]
    seconds: np.ndarray
    speed: np.ndarray


def outing(seed: int, *, rate: int = 1) -> Outing:
    """Coming down twice, and what is no such try."""
    rng = np.random.default_rng(seed)
    falls = float(rng.uniform(11.0, 13.0))  # [kn] below which she falls off the plane
    stream = float(rng.uniform(-0.3, 0.3))  # [kn] along the line
    lag = float(rng.uniform(1.5, 3.0))
    legs: list[
        tuple[float, float, float, bool]
    ] = []  # seconds, commanded [kn], course [deg], the slowest held
    for course in (70.0, 250.0):
        first = falls + float(rng.uniform(0.3, 0.9))
        steps = [first + 3 * STEP, first + 2 * STEP, first + STEP]
        legs += [(30, 0, course, False), (40, 20, course, False)]
        legs += [(float(rng.uniform(15, 25)), v, course, False) for v in steps]
        legs += [(float(rng.uniform(18, 30)), first, course, True), (30, first - STEP, course, False)]  # fmt: skip
        legs += [(40, 20, course, False), (25, 0, course, False)]  # throttled back from a fast run
        legs += [(40, 5, course, False), (40, 5, course + 180, False)]
    asked = np.concatenate([np.full(round(s * _FINE), v) for s, v, _, _ in legs])
    course = np.concatenate([np.full(round(s * _FINE), c) for s, _, c, _ in legs])
    slowest = np.concatenate([np.full(round(s * _FINE), k) for s, _, _, k in legs])
    t = np.arange(asked.size) / _FINE
    speed, now = np.empty(asked.size), 0.0
    for k, want in enumerate(asked.tolist()):
        off = (
            now < falls and 5.0 < want < falls
        )  # not enough to climb the hump: she sinks back to a lower speed
        now += (min(want, 7.5) - now if off else want - now) / (lag if not off else 4.0) / _FINE
        speed[k] = now
    # a low speed that rises to the hump, and down again where she planes
    trim = 3.0 + 4.0 / (1 + np.exp((speed - falls + 0.6) / 0.25)) * (1 - np.exp(-speed / 3))
    over = speed + stream * np.where(course == 70.0, 1.0, -1.0)
    seen = slice(None, None, _FINE // rate)
    count, east, north = t[seen].size, np.sin(np.radians(course)), np.cos(np.radians(course))
    made = {
        "latitude": (np.cumsum(over * KNOT * north) / _FINE)[seen] / METRES_A_DEGREE,
        "longitude": (np.cumsum(over * KNOT * east) / _FINE)[seen] / METRES_A_DEGREE,
        "speed_over_ground": np.abs(over[seen] + rng.normal(0, 0.08, count)),
        "course_over_ground": (course[seen] + rng.normal(0, 1.0, count)) % 360,
        "trim": trim[seen] + rng.normal(0, 0.6, count),
    }
    units = {"speed_over_ground": "kn"}
    channels = [Channel(n, "x", units.get(n, "deg"), t[seen], v) for n, v in made.items()]
    parts = np.flatnonzero(np.diff(np.concatenate([[0], slowest, [0]])))
    holds = [(float(t[a]), float(t[b])) for a, b in parts.reshape(-1, 2)]
    return Outing(channels, holds, t, over)


def leans(seed: int) -> tuple[Channel, float, float, dict[str, float]]:
    """The heel of one turn with waves and noise, its span, and what is true of it without its instrument's noise."""
    rng = np.random.default_rng(seed)
    rate, long = float(rng.choice([2, 5, 10])), float(rng.uniform(25, 60))
    t = np.arange(0, long + 40, 1 / rate) - 20
    peak, side = float(rng.uniform(6, 20)), 1.0
    inside = np.clip(t / long, 0, 1)
    heel = side * peak * np.sin(np.pi * inside) ** float(rng.uniform(0.5, 2.0))
    noisy = Channel("heel", "x", "deg", t, heel + rng.normal(0, 1.0, t.size))
    part = (t >= 0) & (t <= long)
    fine = np.linspace(0, long, 4000)
    smooth = np.interp(fine, t, heel)
    width = round(3.0 / (fine[1] - fine[0]))
    means = np.convolve(smooth, np.ones(width) / width, "valid")
    truth = {
        "max": float(means.max()),
        "furthest": float(means.max()),
        "mean": float(heel[part].mean()),
        "spread": math.hypot(float(heel[part].std(ddof=1)), 1.0),
    }
    return noisy, 0.0, long, truth


@dataclass
class Tally:
    """Tries made, found, found where there was none; errors, and how often ± 2 u held the truth."""

    made: int = 0
    found: int = 0
    none: int = 0
    errors: list[float] = field(default_factory=list)
    held: list[bool] = field(default_factory=list)

    def add(self, each: Outing, tries: list[FoundTry]) -> None:
        """One outing."""
        self.made += len(each.holds)
        for one in tries:
            near = any(a - 2 <= one.start and one.end <= b + 4 for a, b in each.holds)
            self.none += not near
            self.found += near
            figure = one.values["slowest"]
            if near and figure.value is not None and figure.uncertainty is not None:
                during = (each.seconds >= one.start) & (each.seconds <= one.end)
                self.errors.append(figure.value - float(each.speed[during].mean()))
                self.held.append(abs(self.errors[-1]) <= 2 * figure.uncertainty)

    def lines(self) -> list[str]:
        """In words."""
        off = np.array(self.errors)
        return [
            f"{self.found} of {self.made} found, {self.none} found that were none",
            f"  bias {off.mean():+6.3f} kn  rms {math.sqrt((off**2).mean()):6.3f}  held by ± 2 u: {100 * np.mean(self.held):5.1f} % of {off.size}",
        ]


def tally(outings: int, *, rate: int = 1, first: int = 700) -> Tally:
    """Many outings together."""
    found = Tally()
    for seed in range(first, first + outings):
        each = outing(seed, rate=rate)
        tried = tries_of(each.channels, (SLOW,), TERMS)
        found.add(each, [one for one in tried.tries if not one.aside])
    return found


def leaning(turns: int, first: int = 100) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Of each way to take a value: its errors [deg], and whether ± 2 u held the truth."""
    off: dict[str, list[tuple[float, bool]]] = {take: [] for take in OWN}
    for seed in range(first, first + turns):
        channel, start, end, truth = leans(seed)
        for take, own in OWN.items():
            figure = read_own(own, [channel], start, end)
            assert figure.value is not None
            assert figure.uncertainty is not None
            error = figure.value - truth[take]
            off[take].append((error, abs(error) <= 2 * figure.uncertainty))
    return {take: (np.array([e for e, _ in each]), np.array([h for _, h in each])) for take, each in off.items()}  # fmt: skip


def steered(seed: int) -> tuple[float, float, float]:
    """The spread of a heading over a minute and a half, its uncertainty, and what is true of it. [deg]

    A damped spring pushed by white noise of intensity q has the variance q / (4 d w^3).
    """
    rng = np.random.default_rng(seed)
    w, damped, spread = float(rng.uniform(0.6, 1.5)), float(rng.uniform(0.3, 1.0)), float(rng.uniform(1, 4))  # fmt: skip
    step, settle = 0.02, 2000
    push = rng.normal(0, math.sqrt(4 * damped * w**3 * spread**2 * step), round(90 / step) + settle)
    angle, rate, told = 0.0, 0.0, np.empty(push.size)
    for k, each in enumerate(push.tolist()):
        rate += (-2 * damped * w * rate - w**2 * angle) * step + each
        angle += rate * step
        told[k] = angle
    heading = told[settle::50]
    figure = heading_spread(np.arange(heading.size, dtype=float), 350 + heading)["heading_spread"]
    assert figure.value is not None
    assert figure.uncertainty is not None
    return figure.value, figure.uncertainty, spread


def steering(straights: int, first: int = 300) -> tuple[np.ndarray, np.ndarray]:
    """Errors as parts of the truth, and whether ± 2 u held it."""
    made = [steered(seed) for seed in range(first, first + straights)]
    return (
        np.array([value / truth - 1 for value, _, truth in made]),
        np.array([abs(value - truth) <= 2 * u for value, u, truth in made]),
    )


def main() -> None:
    """Print what is found at one and at ten readings a second, and of the heel."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--outings", type=int, default=60)
    args = parser.parse_args()
    for rate in (1, 10):
        print(f"{rate} readings a second:")
        print("\n".join(tally(args.outings, rate=rate).lines()), flush=True)
    for take, (errors, held) in leaning(4 * args.outings).items():
        print(f"heel, {take:9} bias {errors.mean():+6.3f} deg  rms {math.sqrt((errors**2).mean()):6.3f}  held by ± 2 u: {100 * held.mean():5.1f} % of {held.size}")  # fmt: skip
    errors, held = steering(4 * args.outings)
    print(f"spread of heading bias {100 * errors.mean():+5.1f} %  rms {100 * math.sqrt((errors**2).mean()):5.1f} %  held by ± 2 u: {100 * held.mean():5.1f} % of {held.size}")  # fmt: skip


if __name__ == "__main__":
    main()
