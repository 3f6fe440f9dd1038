"""Turns in invented logs, held against what is true of them: found, read without a bias, as uncertain as is told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from turn_world import tally

SAMPLE, WHOLE = 60, 1000


def hold(turns: int, *, rudder: bool, compass: bool = True) -> None:
    """99 % found; twice the standard uncertainty holds 95 % at least; no bias beyond chance; each less 3 standard errors."""
    found, tallies = tally(turns, rudder=rudder, compass=compass)
    assert found >= turns * (0.99 - 3 * math.sqrt(0.99 * 0.01 / turns))
    told = {name: each for name, each in tallies.items() if each.told}
    ordered = {"advance", "time_to_90", "time_to_180"}
    assert (
        ordered <= set(told)
    ) == rudder  # by how much the order is late nothing tells without one
    for name, each in told.items():
        off = np.array(each.errors)
        least = 0.95 - 3 * math.sqrt(0.95 * 0.05 / each.told)
        assert each.held >= least * each.told, (name, each.line())
        # what is left beside chance is a small part of what is told
        beside = 3 * off.std() / math.sqrt(off.size) + 0.2 * off.std()
        assert compass is False or name == "speed_lost" or abs(off.mean()) < beside, (
            name,
            each.line(),
        )


@pytest.mark.parametrize("rudder", [True, False])
def test_turns_with_a_compass(rudder: bool) -> None:
    hold(SAMPLE, rudder=rudder)


def test_turns_without_one() -> None:
    hold(SAMPLE, rudder=False, compass=False)


@pytest.mark.full
@pytest.mark.parametrize(("rudder", "compass"), [(True, True), (False, True), (False, False)])
def test_turns_in_full(rudder: bool, compass: bool) -> None:
    hold(WHOLE, rudder=rudder, compass=compass)
