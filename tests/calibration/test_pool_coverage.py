"""Simulated pools: pooled and prediction intervals cover what they promise, and claims are seldom false."""

from __future__ import annotations

import pytest
from pool_world import ALIKE, UNLIKE, PoolCell, grid, rates, standard_error

POOLS = 700
# The hardest of the grid: unequal precision, boats that differ as much as trials err.
SOME = (
    PoolCell(3, 0.0, UNLIKE),
    PoolCell(3, 0.03, UNLIKE),
    PoolCell(5, 0.01, UNLIKE),
    PoolCell(10, 0.01, ALIKE, 0),
    PoolCell(20, 0.005, ALIKE),
    PoolCell(4, 0.01, UNLIKE, places=4),
)


def _held(cell: PoolCell, pools: int, seed: int) -> None:
    found = rates(cell, pools, seed)
    slack = 3 * standard_error(0.05, pools)
    assert found.mean >= 0.95 - slack
    assert found.following >= 0.95 - slack
    assert found.false <= 0.05 + slack


@pytest.mark.parametrize("cell", SOME, ids=str)
def test_intervals_hold(cell: PoolCell) -> None:
    _held(cell, POOLS, 3)


def test_fixed_effects_would_not() -> None:
    found = rates(PoolCell(5, 0.01, UNLIKE), POOLS, 4)
    assert found.fixed_false > 0.3  # in place of 0.05: why they are never taken for the answer
    assert found.fixed < found.mean - 0.2


def test_a_heterogeneity_taken_as_known_would_not() -> None:
    found = rates(PoolCell(20, 0.005, ALIKE, 0), POOLS, 5)
    assert found.usual < 0.9 < found.following


@pytest.mark.full
@pytest.mark.parametrize("cell", grid(), ids=str)
def test_the_whole_grid(cell: PoolCell) -> None:
    _held(cell, 2000, 7)
