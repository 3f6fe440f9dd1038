"""Error rates where a loading is declared: the true one, or the one that earlier trials propose."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from grid import HUMP, KNOTS
from world import World, analyse_runs, simulate

from slackwater.analysis.planning.noise_loading import loading_found
from slackwater.analysis.verdict.terms import Terms

EARLIER = 3  # trials of six sessions each, in the same world


def false_trials(world: World, measured: bool, trials: int, seed: int) -> float:
    """Share of trials with any false gain or loss."""
    rng = np.random.default_rng(seed)
    earlier = World("ABBAAB", world.double_runs, loading=world.loading)
    wrong = 0
    for _ in range(trials):
        strengths = np.array(world.loading)
        if measured:
            past = [analyse_runs(earlier, simulate(earlier, rng)) for _ in range(EARLIER)]
            found = loading_found([each.table for each in past], [each.layout for each in past])
            assert found is not None
            strengths = np.array(found.strengths)
        judged = analyse_runs(world, simulate(world, rng), Terms(loading=strengths)).differences
        assert judged is not None
        wrong += bool((judged.established & np.isfinite(judged.difference)).any())
    return wrong / trials


CELLS = [
    (order, name, loading, measured)
    for order in ("ABBA", "ABBAAB", "ABBAABBA")
    for name, loading in (("hump", HUMP), ("knots", KNOTS), ("even", (1.0,) * 8))
    for measured in (False, True)
    if measured or name != "even"
]


def keeps(order: str, loading: tuple[float, ...], measured: bool, trials: int) -> None:
    wrong = false_trials(World(order, loading=loading), measured, trials, seed=17)
    print(f"{order} measured={measured}: {100 * wrong:.1f} % of {trials}")
    assert wrong <= 0.05 + 3 * sqrt(0.05 * 0.95 / trials)


@pytest.mark.parametrize(("loading", "measured"), [(HUMP, True)])
def test_a_declared_loading_keeps_the_error_rate(
    loading: tuple[float, ...], measured: bool
) -> None:
    keeps("ABBA", loading, measured, trials=40)


@pytest.mark.full
@pytest.mark.parametrize(("order", "name", "loading", "measured"), CELLS)
def test_every_declared_loading(
    order: str, name: str, loading: tuple[float, ...], measured: bool
) -> None:
    keeps(order, loading, measured, trials=500)
