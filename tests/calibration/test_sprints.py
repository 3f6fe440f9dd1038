"""Sprints and stops in invented logs, held against what is true of them: found, none besides, as uncertain as is told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from sprint_world import tally

SAMPLE, WHOLE = 12, 250


def hold(outings: int, *, lever: bool) -> None:
    """99 % found, 1 % besides at most, twice the uncertainty holds 95 % at least; each less 3 standard errors."""
    found = tally(outings, lever=lever)
    chance = 3 * math.sqrt(0.99 * 0.01 / found.made)
    assert found.found >= found.made * (0.99 - chance)
    assert found.none <= found.made * (0.01 + chance)
    for name, held in found.held.items():
        if held:
            assert np.mean(held) >= 0.95 - 3 * math.sqrt(0.95 * 0.05 / len(held)), (
                name,
                found.lines(),
            )
    assert not found.held["distance"]  # the current is left in, and nothing tells what it adds
    for name in ("to_20", "pulled", "from_8_to_20"):
        # how late the order is told moves the first two, and nothing the third
        assert abs(np.mean(found.errors[name])) < (0.1 if name == "from_8_to_20" else 0.4)


@pytest.mark.parametrize("lever", [True, False])
def test_sprints_and_stops(lever: bool) -> None:
    hold(SAMPLE, lever=lever)


@pytest.mark.full
@pytest.mark.parametrize("lever", [True, False])
def test_sprints_and_stops_in_full(lever: bool) -> None:
    hold(WHOLE, lever=lever)
