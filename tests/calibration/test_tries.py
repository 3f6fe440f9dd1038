"""Tries of manoeuvres that skew, differ by direction, are learned and lost: false claims, coverage, planned power."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from scipy.special import stdtr
from told_once import keeps, power_planned
from try_world import TryCell, cells, logarithms, tally

from slackwater.analysis.checking.run_rules.tries_learning import LEVEL
from slackwater.analysis.checking.run_rules.try_doubtful import FAR
from slackwater.analysis.planning.power import Design, Noise
from slackwater.analysis.statistics.tries import standings, trend_of

CELLS = tuple(cells())
SAMPLE = (
    TryCell("ABBA", 3, skewed=True),
    TryCell("ABBAAB", 1, -0.1),
    TryCell("ABBAABBA", 3, learned=0.03, skewed=True),
    TryCell("ABBAABBA", 3, practised=0.02, lost=0.2),
)
PLANNED = (
    TryCell("ABBAAB", 3, -0.12),
    TryCell("ABBAABBA", 3, -0.08),
    TryCell("ABBAABBA", 6, -0.08, skewed=True),
    TryCell("ABBAABBA", 1, -0.12),
)


def hold(cell: TryCell, trials: int, seed: int) -> None:
    found = tally(cell, trials, seed)
    monte_carlo = sqrt(0.05 * 0.95 / trials)
    if not cell.effect:
        assert found.established <= 0.05 + 3 * monte_carlo, cell.name
    assert found.covered >= 0.95 - 3 * monte_carlo, cell.name


@pytest.mark.parametrize("cell", SAMPLE, ids=lambda cell: cell.name)
def test_false_claims_and_coverage(cell: TryCell) -> None:
    hold(cell, trials=300, seed=31)


@pytest.mark.full
@pytest.mark.parametrize("number", range(len(CELLS)), ids=lambda i: CELLS[i].name)
def test_false_claims_and_coverage_everywhere(number: int) -> None:
    hold(CELLS[number], trials=2000, seed=300 + number)


def _planned(cell: TryCell, trials: int, seed: int) -> None:
    # The noise of a plan is that of pairs of tries, one each way.
    noise = Noise(cell.of_session, 0.0, cell.of_try / sqrt(2))
    power = power_planned(Design(len(cell.order) // 2, cell.tries), noise, -cell.effect)
    keeps(cell.name, power, tally(cell, trials, seed).established, trials)


@pytest.mark.parametrize("cell", PLANNED[:1], ids=lambda cell: cell.name)
def test_planned_power_is_realised(cell: TryCell) -> None:
    _planned(cell, trials=300, seed=41)


@pytest.mark.full
@pytest.mark.parametrize("cell", PLANNED, ids=lambda cell: cell.name)
def test_planned_power_is_realised_everywhere(cell: TryCell) -> None:
    _planned(cell, trials=2000, seed=42)


@pytest.mark.parametrize(("practised", "skewed"), [(0.0, False), (0.0, True), (0.05, False)])
def test_learning_is_told_of_where_it_is_and_hardly_elsewhere(
    practised: float, skewed: bool
) -> None:
    """The rule on learning, tried on 400 trials of six sessions: one in a hundred in vain."""
    cell = TryCell("ABBAAB", 3, practised=practised, skewed=skewed)
    rng, told, trials = np.random.default_rng(51), 0, 400
    for _ in range(trials):
        logs = logarithms(cell, rng)
        session, direction, number = np.nonzero(np.isfinite(logs))
        slope, error, df = trend_of(logs.ravel(), 2 * session + direction, number.astype(float))
        told += bool(2 * stdtr(df, -abs(slope) / error) <= LEVEL)
    if practised:
        assert told / trials >= 0.8
    else:
        assert told / trials <= LEVEL + 3 * sqrt(LEVEL * (1 - LEVEL) / trials)


@pytest.mark.parametrize("skewed", [False, True])
def test_a_slip_of_the_pen_is_found_and_a_late_try_hardly_ever_taken_for_one(skewed: bool) -> None:
    """A point in the wrong place in one of 36 tries of 300 trials; late tries have a long tail."""
    cell = TryCell("ABBAAB", 3, skewed=skewed)
    rng, trials = np.random.default_rng(61), 300
    fitted = np.array([letter == "B" for letter in cell.order])
    kind = (2 * fitted[:, None, None] + np.arange(2)[:, None] + np.zeros((6, 2, 3), int)).ravel()
    found, vain = 0, 0
    for _ in range(trials):
        logs = logarithms(cell, rng).ravel()
        vain += int((np.abs(standings(logs, kind)) > FAR).sum())
        logs[rng.integers(36)] += np.log(10)
        found += bool((np.abs(standings(logs, kind)) > FAR).any())
    assert found / trials >= 0.99
    assert vain / (36 * trials) <= 1e-3
