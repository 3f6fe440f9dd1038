"""Runs that do not belong: how often a blunder is found, and an honest run named.

Worlds of 36 runs (six sessions, three set points, out and back) and of 252 (seven set points, three
double runs), with a tide, noise between sessions of 0.6 % and by set point of 0.3 %; the noise of a
run is normal, has heavy tails (Student's t with 4 degrees of freedom), or is now and then three
times as large. `python tests/calibration/test_doubtful.py` prints the table.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Callable, Iterator

import pytest

from slackwater.analysis.checking.run_rules._doubtful import doubtful_values
from slackwater.analysis.checking.run_rules._runs import DoubleRun, RunMade

NAME = "speed_over_ground"
ORDER = "ABBAAB"
RUN_NOISE = 0.006  # of a run's speed, as a fraction
POINTS = (1000.0, 1350.0, 1700.0, 2050.0, 2400.0, 2750.0, 3100.0)


def normal(dice: random.Random) -> float:
    return dice.gauss(0, 1)


def heavy(dice: random.Random) -> float:
    """Student's t with 4 degrees of freedom, scaled to a standard deviation of 1."""
    chi = sum(dice.gauss(0, 1) ** 2 for _ in range(4))
    return dice.gauss(0, 1) / math.sqrt(chi / 4) / math.sqrt(2)


def gusty(dice: random.Random) -> float:
    """One run in twenty with three times the noise."""
    return dice.gauss(0, 3 if dice.random() < 0.05 else 1)


NOISES: dict[str, Callable[[random.Random], float]] = {
    "normal": normal,
    "heavy tails": heavy,
    "gusty": gusty,
}


def trial(
    dice: random.Random,
    noise: Callable[[random.Random], float],
    points: int,
    double_runs: int,
    blunder: float = 0.0,
) -> tuple[list[DoubleRun], int]:
    """A trial's double runs, and the row of the run with the blunder."""
    rows = len(ORDER) * points * double_runs * 2
    wrong = dice.randrange(rows)
    effect = {"A": 0.0, "B": 0.03}
    found, row = [], 0
    phase = dice.random() * 6.28
    for number, letter in enumerate(ORDER):
        session, clock = dice.gauss(0, 0.006), dice.random() * 20_000
        specific = {point: dice.gauss(0, 0.003) for point in POINTS}
        for double in range(double_runs):
            for point in dice.sample(POINTS[:points], points):
                speed = 4 + point / 250
                pair = []
                for sign in (1, -1) if double % 2 else (-1, 1):
                    current = math.sin(phase + clock / 7_100)
                    value = speed * math.exp(effect[letter] + session + specific[point])
                    value = value * (1 + RUN_NOISE * noise(dice)) + sign * current
                    value *= 1 + (blunder if row == wrong else 0.0)
                    pair.append(
                        RunMade(row, f"S{number}", letter, point, double + 1,
                                "out" if sign > 0 else "back", math.nan, clock, 60.0, True,
                                {NAME: round(value, 2)})
                    )  # fmt: skip
                    row, clock = row + 1, clock + 150
                found.append(DoubleRun(f"S{number}", letter, point, double + 1, tuple(pair)))
    return found, wrong


def told(doubles: list[DoubleRun]) -> list[int]:
    found = doubtful_values(doubles, NAME, ratio=True, reciprocal=True)
    return [one.run.row for one in found]


def rates(
    noise: Callable[[random.Random], float], points: int, double_runs: int, trials: int, seed: int
) -> tuple[float, float]:
    """Part of the blunders found, and part of the honest runs named where there is none."""
    dice = random.Random(seed)
    found = named = 0
    for _ in range(trials):
        sign = dice.choice((-1, 1))
        doubles, wrong = trial(dice, noise, points, double_runs, 0.10 * sign)
        found += wrong in told(doubles)
        honest, _ = trial(dice, noise, points, double_runs)
        named += len(told(honest))
    return found / trials, named / (trials * len(ORDER) * points * double_runs * 2)


@pytest.mark.parametrize("noise", NOISES)
@pytest.mark.parametrize(("points", "double_runs", "trials"), [(3, 1, 400), (7, 3, 40)])
def test_a_blunder_is_found_and_honest_runs_are_not_named(
    noise: str, points: int, double_runs: int, trials: int
) -> None:
    found, named = rates(NOISES[noise], points, double_runs, trials, 20)
    runs = trials * len(ORDER) * points * double_runs * 2
    # With gusts the noise of a run is larger than what the 10 % are promised at.
    least = 0.8 if noise == "gusty" else 0.9
    assert found >= least - 3 * math.sqrt(least * (1 - least) / trials)
    assert named <= 0.001 + 3 * math.sqrt(0.001 / runs)


def test_a_speed_twice_the_others_is_found() -> None:
    """Of 100 all but one at most, where heavy tails let another run stand out as well."""
    dice = random.Random(3)
    found = 0
    for _ in range(100):
        doubles, wrong = trial(dice, heavy, 3, 1, 1.0)
        found += wrong in told(doubles)
    assert found >= 99


def table(trials: int) -> Iterator[str]:
    yield "noise        runs   blunder of 10 % found   honest runs named"
    for name, noise in NOISES.items():
        for points, double_runs in ((3, 1), (7, 3)):
            found, named = rates(noise, points, double_runs, trials, 1)
            runs = len(ORDER) * points * double_runs * 2
            yield f"{name:<12} {runs:>4}   {100 * found:>19.1f} %   {1000 * named:.2f} in 1,000"


if __name__ == "__main__":
    for line in table(int(sys.argv[1]) if len(sys.argv) > 1 else 400):
        print(line)
