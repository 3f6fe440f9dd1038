"""Invented helmsmen on invented boats: times that scatter and skew, two directions, hands that learn.

    python tests/calibration/try_world.py --trials 2000

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

from slackwater.analysis.manoeuvres.tried import table_of
from slackwater.analysis.statistics.tries import levels_of
from slackwater.analysis.sweep.corrections import with_trend
from slackwater.analysis.verdict.judgement import judge_sweep
from slackwater.analysis.verdict.terms import Terms
from slackwater.protocol.declared.manoeuvres import Manoeuvre

Array = NDArray[np.float64]

SPRINT = Manoeuvre.model_validate(
    {
        "start": "at rest",
        "end": "on the plane",
        "current": "averaged",
        "values": {"time_to_plane": {}},
    }
)
MEASURE = SPRINT.measures["time_to_plane"]


@dataclass(frozen=True)
class TryCell:
    """One world of tries; sizes are logarithms, hundredths of which are per cent.

    `skewed` tries are late by an exponential of the same standard deviation, as a throttle that hangs or a wave
    makes them; `learned` is what the helmsman gains from each session to the next, `practised` from each
    try to the next; `lost` is the part of tries that were set aside.
    """

    order: str
    tries: int
    effect: float = 0.0
    of_session: float = 0.02
    of_try: float = 0.06
    apart: float = 0.10
    skewed: bool = False
    learned: float = 0.0
    practised: float = 0.0
    lost: float = 0.0
    trend: bool = False

    @property
    def name(self) -> str:
        words = [f"{self.order}, {self.tries} tries each way, {100 * self.effect:+g} %"]
        words += ["skewed"] * self.skewed
        words += [f"{100 * self.learned:g} % learned a session"] * bool(self.learned)
        words += [f"{100 * self.practised:g} % a try"] * bool(self.practised)
        words += [f"{100 * self.lost:g} % lost"] * bool(self.lost)
        return ", ".join([*words, *["trend declared"] * self.trend])


@dataclass(frozen=True)
class TryTally:
    """Shares: of the trials, a difference established; of the intervals given, those that hold the truth.

    A comparison whose interval is wider than half the value is given none.
    """

    trials: int
    established: float
    covered: float

    def error(self, share: float) -> float:
        return sqrt(max(share * (1 - share), 1e-9) / self.trials)


def logarithms(cell: TryCell, rng: np.random.Generator) -> Array:
    """Tries of one trial, shape (sessions, directions, tries); NaN where one was set aside."""
    count = len(cell.order)
    shape = count, 2, cell.tries
    fitted = np.array([letter == "B" for letter in cell.order])
    if cell.skewed:
        stray = cell.of_try * (rng.exponential(1.0, shape) - 1.0)
    else:
        stray = rng.normal(0, cell.of_try, shape)
    session = rng.normal(0, cell.of_session, count) + cell.effect * fitted
    session = session - cell.learned * np.arange(count)
    found = np.log(5.0) + session[:, None, None] + stray
    found = found + cell.apart * np.array([0.5, -0.5])[:, None]
    found = found - cell.practised * np.arange(cell.tries)
    gone = rng.random(shape) < cell.lost
    gone[..., 0] &= ~gone.all(axis=-1)  # one at least is made each way
    return np.where(gone, np.nan, found)


def tally(cell: TryCell, trials: int, seed: int) -> TryTally:
    """Trials of one cell, each through tries, session values and the one comparison."""
    rng = np.random.default_rng(seed)
    count = len(cell.order)
    sessions = tuple(f"S{i}" for i in range(count))
    established = covered = given = 0
    for _ in range(trials):
        logs = logarithms(cell, rng)
        session, direction, _ = np.nonzero(np.isfinite(logs))
        levels = levels_of(logs[np.isfinite(logs)], session, direction, count, 2)
        table = table_of("time_to_plane", SPRINT, MEASURE, levels, sessions)
        table = with_trend(table) if cell.trend else table
        row = judge_sweep(table, list(cell.order), "A", "B", Terms()).rows[0]
        established += row.verdict.established
        low, high = row.low, row.high
        if low is not None and high is not None:
            given += 1
            covered += low <= np.expm1(cell.effect) <= high
    return TryTally(trials, established / trials, covered / max(given, 1))


def cells() -> Iterator[TryCell]:
    """Four to eight sessions, few and many tries, quiet and loud hands, skew, learning, tries lost."""
    for order, tries, effect, skewed in product(
        ("ABBA", "ABBAAB", "ABBAABBA"), (1, 3, 6), (0.0, -0.1), (False, True)
    ):
        yield TryCell(order, tries, effect, skewed=skewed)
    for order, effect in product(("ABBA", "ABBAAB", "ABBAABBA"), (0.0, -0.1)):
        yield TryCell(order, 3, effect, learned=0.01)
        yield TryCell(order, 3, effect, learned=0.03, skewed=True)
        yield TryCell(order, 3, effect, practised=0.02, lost=0.2)
        yield TryCell(order, 3, effect, of_session=0.0, of_try=0.15, skewed=True)
    yield TryCell("ABBAABBA", 3, learned=0.03, trend=True)
    yield TryCell("ABBAABBA", 3, -0.1, learned=0.03, trend=True)


def main() -> None:
    """Print every cell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=500)
    trials = parser.parse_args().trials
    for number, cell in enumerate(cells()):
        found = tally(cell, trials, number)
        print(
            f"{cell.name}: established {100 * found.established:.1f} %, "
            f"covered {100 * found.covered:.1f} %",
            flush=True,
        )


if __name__ == "__main__":
    main()
