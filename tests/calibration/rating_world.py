"""Invented raters on invented boats: whole points, scales that end, levels of their own, seats left empty.

    python tests/calibration/rating_world.py --trials 2000

prints every cell.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from slackwater.analysis.ratings.rated import agreement_of, session_values, untestable
from slackwater.analysis.statistics.panel import panel_of, ranks_within
from slackwater.analysis.verdict.judgement import judge_sweep
from slackwater.analysis.verdict.terms import Terms

Array = NDArray[np.float64]


@dataclass(frozen=True)
class RatingCell:
    """One world of raters; all sizes in points of the scale."""

    order: str
    raters: int
    points: int
    effect: float = 0.0
    of_session: float = 0.5
    of_score: float = 0.8
    of_rater: float = 0.8
    missing: float = 0.0

    @property
    def name(self) -> str:
        gaps = f", {100 * self.missing:g} % missing" if self.missing else ""
        return f"{self.order}, {self.raters} raters, {self.points} points, {self.effect:+g}{gaps}"

    @property
    def fitted(self) -> NDArray[np.bool_]:
        return np.array([letter == "B" for letter in self.order])


@dataclass(frozen=True)
class RatingTally:
    """Shares over the trials: a difference established, a verdict given after all, the truth held."""

    trials: int
    established: float
    told: float
    covered: float
    testable: float

    def error(self, share: float) -> float:
        return sqrt(max(share * (1 - share), 1e-9) / self.trials)


def truth(cell: RatingCell, levels: Array) -> float:
    """The difference that a panel's mean scores would show for ever, whole points and ends included."""
    sd = sqrt(cell.of_session**2 + cell.of_score**2)
    cuts = np.arange(1, cell.points) + 0.5

    def mean(centre: Array) -> Array:
        return 1 + (1 - norm.cdf((cuts[:, None] - centre) / sd)).sum(axis=0)

    middle = (1 + cell.points) / 2
    high, low = middle + cell.effect / 2 + levels, middle - cell.effect / 2 + levels
    return float((mean(high) - mean(low)).mean())


def tally(cell: RatingCell, trials: int, seed: int) -> RatingTally:
    """Trials of one cell, each through panel, session values and the one comparison."""
    rng = np.random.default_rng(seed)
    established = told = covered = testable = 0
    sessions = tuple(f"S{i}" for i in range(len(cell.order)))
    for _ in range(trials):
        levels = rng.normal(0, cell.of_rater, cell.raters)
        scores = _scores(cell, levels, rng)
        panel, ranked = panel_of(scores), panel_of(ranks_within(scores))
        raters = [f"R{i}" for i in range(cell.raters)]
        agreed = agreement_of(scores, panel, ranked, ordinal=False)
        reason = untestable(panel, agreed, raters, 0.95)
        table = session_values("ride", "more", "blind", panel, scores, sessions, cell.order)
        row = judge_sweep(table, list(cell.order), "A", "B", Terms()).rows[0]
        found = row.verdict.established
        established += found
        testable += not reason
        told += found and not reason
        low, high = row.low, row.high
        covered += low is not None and high is not None and low <= truth(cell, levels) <= high
    shares = (count / trials for count in (established, told, covered, testable))
    return RatingTally(trials, *shares)


def _scores(cell: RatingCell, levels: Array, rng: np.random.Generator) -> Array:
    shape = len(cell.order), cell.raters
    felt = (1 + cell.points) / 2 + np.where(cell.fitted, 0.5, -0.5)[:, None] * cell.effect
    felt = felt + rng.normal(0, cell.of_session, (shape[0], 1)) + levels
    whole = np.clip(np.rint(felt + rng.normal(0, cell.of_score, shape)), 1, cell.points)
    return np.where(rng.random(shape) < cell.missing, np.nan, whole)


def cells() -> Iterator[RatingCell]:
    """Three to ten raters, five to ten points, with and without a difference and empty seats."""
    for order, raters, points, effect in product(
        ("ABBA", "ABBAAB", "ABBABAAB"), (3, 5, 10), (5, 7, 10), (0.0, 1.0)
    ):
        yield RatingCell(order, raters, points, effect)
    for raters, effect in product((4, 8), (0.0, 1.0)):
        yield RatingCell("ABBABAAB", raters, 7, effect, missing=0.2)


def main() -> None:
    """Print every cell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=500)
    trials = parser.parse_args().trials
    for number, cell in enumerate(cells()):
        found = tally(cell, trials, number)
        print(
            f"{cell.name}: established {100 * found.established:.1f} %, told "
            f"{100 * found.told:.1f} %, covered {100 * found.covered:.1f} %, testable "
            f"{100 * found.testable:.0f} %"
        )


if __name__ == "__main__":
    main()
