"""Figures of the sweep as a whole, in worlds whose curves are known.

Intervals of differences and of each configuration's own figure may miss the truth in 5 % of the
trials and one point more, with three Monte Carlo standard errors on top; so may claims of a
difference where there is none. A trial that gives no interval, with its reason, is not wrong: on
a flat top it is what often comes out. `pytest -m full` runs every world.
"""

from __future__ import annotations

import numpy as np
import pytest
from sweep_cells import FULL, SAMPLE, faults
from sweep_tally import tally
from sweep_world import SweepWorld, figures, judge, simulate, truth

from slackwater.analysis.sweep.curves import curves, spread

TRIALS = 30


@pytest.mark.parametrize("world", SAMPLE[:3], ids=lambda world: world.name)
def test_intervals_and_claims(world: SweepWorld) -> None:
    counts = tally(world, TRIALS, seed=20)
    assert not faults(counts)
    # The other figures always have something to say here, or the test would be empty.
    for name in ("economy at equal speed", "top_speed by top speed", "economy band"):
        assert counts[name].stated == TRIALS


def test_best_speed_is_found_on_a_hump_and_left_open_on_a_flat_top() -> None:
    few = 16
    on_hump = tally(SAMPLE[0], few, seed=21)["best_economy_speed"]
    on_flat = tally(SAMPLE[3], few, seed=21)["best_economy_speed"]
    assert on_hump.stated > 0.9 * few
    assert on_flat.stated < 0.5 * few
    assert on_flat.width > 3 * on_hump.width


def test_equal_engine_speed_claims_what_equal_speed_does_not() -> None:
    """A finer propeller changes nothing at equal speed, and everything at equal engine speed."""
    world = SAMPLE[1]
    tables = figures(world, simulate(world, np.random.default_rng(3)))
    at_engine = {row.verdict for row in judge(tables["economy"], world).rows}
    at_speed = {row.verdict for row in judge(tables["economy at equal speed"], world).rows}
    assert {"gain", "loss"} & at_engine
    assert at_speed == {"within noise"}


@pytest.mark.parametrize("world", FULL, ids=lambda world: world.name)
def test_curves_are_off_by_no_more_than_is_told(world: SweepWorld) -> None:
    """Without noise: what the curve is really off by, against what leaving out says of it."""
    rpm = np.array(world.points)
    fine = np.linspace(rpm[0], rpm[-1], 2001)
    for of in (world.speed_of, world.flow_of):
        y = np.log(of("A", rpm))
        off = np.abs(curves(np.log(rpm), y).at(np.log(fine)) - np.log(of("A", fine)))
        told = 1.96 * spread(np.log(rpm), y).at(np.log(fine))
        assert (off <= told + 5e-4).mean() > 0.95
    assert truth(world, "A").top == pytest.approx(float(world.speed_of("A", rpm[-1:])[0]))


@pytest.mark.full
@pytest.mark.parametrize("world", FULL, ids=lambda world: world.name)
def test_every_world(world: SweepWorld) -> None:
    assert not faults(tally(world, 1000, seed=22))
