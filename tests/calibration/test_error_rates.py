"""Error rates, coverage and power in invented worlds: a sample of the grid that run.py prints.

Bounds carry three Monte Carlo standard errors, so that a correct analysis fails a cell about once
in a thousand seeds; the seeds are fixed. `pytest -m full` runs every cell.
"""

from __future__ import annotations

import pytest
from cell_work import seed_of
from grid import (
    ORACLE,
    PARTLY,
    SAMPLE,
    STRESS_SAMPLE,
    effect_cells,
    null_cells,
    oracle_world,
    stress_cells,
)
from run import keeps_bounds
from tally import tally
from world import World

TRIALS = 200


@pytest.mark.parametrize("world", SAMPLE, ids=lambda w: f"{w.order}-{w.double_runs}")
def test_false_claims_and_coverage(world: World) -> None:
    got = tally(world, TRIALS, seed_of(world), usual=False)
    assert got.false <= 0.05 + 3 * got.error(0.05)
    assert got.covered >= 0.95 - 3 * got.error(0.95)


@pytest.mark.parametrize(("world", "most"), STRESS_SAMPLE, ids=lambda x: str(x)[:60])
def test_noise_that_is_not_even(world: World, most: float) -> None:
    assert keeps_bounds(tally(world, 200, seed_of(world), usual=False), most=most)


@pytest.mark.full
@pytest.mark.parametrize(("note", "world", "most"), [*stress_cells()], ids=lambda x: str(x)[:80])
def test_every_stress_cell(note: str, world: World, most: float) -> None:
    assert keeps_bounds(tally(world, 1000, seed_of(world), usual=False), most=most)


def test_finds_what_is_there() -> None:
    finds("ABBAAB", trials=200)


@pytest.mark.full
@pytest.mark.parametrize("order", ORACLE)
def test_finds_what_is_there_in_every_order(order: str) -> None:
    finds(order, trials=1000)


def finds(order: str, trials: int) -> None:
    world = oracle_world(order)
    got = tally(world, trials, seed_of(world), usual=False)
    # Both shares are of one seed, so that their ratio is known better than either.
    assert got.found >= (ORACLE[order] - 0.03) * got.oracle
    assert got.covered >= 0.95 - 3 * got.error(0.95)


def test_no_false_claim_beside_a_true_one() -> None:
    world = World("ABBAAB", 3, 1.0, effect=PARTLY)
    got = tally(world, TRIALS, seed_of(world), usual=False)
    assert got.false <= 0.05 + 3 * got.error(0.05)
    assert got.found > 0.5


def test_usual_ways_claim_what_is_not_there() -> None:
    world = World("ABBAAB", 3, 1.0, 0.006)
    got = tally(world, 120, seed_of(world))
    assert got.usual["one way"] > 0.2
    assert got.usual["double runs"] > 0.2
    assert got.false <= 0.05 + 3 * got.error(0.05)


@pytest.mark.full
@pytest.mark.parametrize(
    ("note", "world"), [*null_cells(), *effect_cells()], ids=lambda x: str(x)[:80]
)
def test_every_cell(note: str, world: World) -> None:
    assert keeps_bounds(tally(world, 1000, seed_of(world), usual=False))
