"""Slowest planing speeds, values of a protocol's own and steering in invented logs, held against what is true of them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from planing_world import leaning, steering, tally

SAMPLE, WHOLE = 15, 250


def held_enough(held: object, least: float = 0.95) -> bool:
    """Twice the uncertainty holds the truth as often as it has to, less 3 standard errors."""
    told = np.asarray(held, float)
    return bool(told.mean() >= least - 3 * math.sqrt(least * (1 - least) / told.size))


def hold(outings: int, rate: int) -> None:
    """95 % found, none besides, unbiased, as uncertain as is told."""
    found = tally(outings, rate=rate)
    assert found.found >= found.made * (0.95 - 3 * math.sqrt(0.95 * 0.05 / found.made))
    assert found.none <= 3 * math.sqrt(0.01 * found.made)
    errors = np.array(found.errors)
    assert abs(errors.mean()) < 3 * errors.std() / math.sqrt(errors.size) + 0.002
    assert held_enough(found.held), found.lines()


def lean(turns: int) -> None:
    for take, (errors, held) in leaning(turns).items():
        assert held_enough(held), take
        chance = 3 * errors.std() / math.sqrt(errors.size)
        # what looking for the highest adds is taken out but for a twentieth of the noise of single readings, 1 deg
        assert abs(errors.mean()) < chance + (0.06 if take in ("max", "furthest") else 0.02), take


def steer(straights: int) -> None:
    errors, held = steering(straights)
    assert held_enough(
        held, 0.92
    )  # a spread that happens to come out small has a small uncertainty, too
    # the line laid through takes the slowest of the straying along
    assert -0.05 < errors.mean() < 3 * errors.std() / math.sqrt(errors.size)


def test_the_slowest_planing_speed() -> None:
    hold(SAMPLE, 1)


def test_own_values_and_steering() -> None:
    lean(4 * SAMPLE)
    steer(2 * SAMPLE)


@pytest.mark.full
@pytest.mark.parametrize("rate", [1, 10])
def test_the_slowest_planing_speed_in_full(rate: int) -> None:
    hold(WHOLE, rate)


@pytest.mark.full
def test_own_values_and_steering_in_full() -> None:
    lean(4 * WHOLE)
    steer(2 * WHOLE)
