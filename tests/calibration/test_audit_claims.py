"""Claims by the thousand: slips found and named, and false claims not upheld.

A sample of what `python tests/calibration/claims_run.py` and the full grid print.
"""

from __future__ import annotations

import pytest
from claims_against_data import (
    borne_out_when_stated,
    planned_effect,
    rows_of,
    upheld_best_quoted,
    upheld_far_off,
    upheld_when_stated,
    with_effect,
)
from claims_run import Tally, simulate
from claims_slips import KINDS
from world import World

WORLD = World("ABBAABBAABBA", 3, 1.0)


@pytest.fixture(scope="module")
def tally() -> Tally:
    return simulate(720, 20260601)


def test_no_consistent_claim_is_accused(tally: Tally) -> None:
    assert tally.made["consistent"] == 360
    assert tally.found["consistent"] == 0


def test_nothing_that_rounding_hides_is_called_a_fault(tally: Tally) -> None:
    assert sum(tally.hidden.values()) > 12
    assert sum(tally.accused_hidden.values()) == 0


@pytest.mark.parametrize("kind", KINDS)
def test_every_slip_that_shows_is_found(tally: Tally, kind: str) -> None:
    seen = tally.made[kind] - tally.hidden[kind]
    assert seen > 12  # rounding and cutting off hide half of what was rounded early
    assert tally.found[kind] == seen


def test_slips_are_named_for_what_they_are(tally: Tally) -> None:
    seen = {kind: tally.made[kind] - tally.hidden[kind] for kind in KINDS}
    right = sum(tally.explained[kind] for kind in KINDS)
    assert right >= 0.95 * sum(seen.values())
    for kind in KINDS:  # none is made up for by the others; 40 of a kind leave chance its part
        assert tally.explained[kind] >= 0.92 * seen[kind]


def test_false_claims_are_not_upheld() -> None:
    nothing = rows_of(WORLD, 1, 120)
    for found in (upheld_when_stated(nothing, 0.02), upheld_best_quoted(nothing)):
        assert found.share <= 0.025 + 3 * found.error(0.025)
    opposite = upheld_when_stated(rows_of(with_effect(WORLD, -0.02), 2, 80), 0.02)
    assert opposite.share <= 0.025
    effect = planned_effect(WORLD, 0.9)
    far = upheld_far_off(rows_of(with_effect(WORLD, effect), 3, 100), effect)
    assert far.share <= 0.025 + 3 * far.error(0.025)


def test_true_claims_that_the_plan_can_show_are_borne_out() -> None:
    effect = planned_effect(WORLD, 0.9)
    found = borne_out_when_stated(rows_of(with_effect(WORLD, effect), 4, 120), effect)
    assert found.share >= 0.85 - 3 * found.error(0.85)


@pytest.mark.full
@pytest.mark.parametrize("order", ["ABBA", "ABBAAB", "ABBAABBAABBA"])
def test_against_data_in_full(order: str) -> None:
    world = World(order, 3, 1.0)
    effect = planned_effect(world, 0.9)
    nothing, real = rows_of(world, 11, 2000), rows_of(with_effect(world, effect), 12, 2000)
    for found in (
        upheld_when_stated(nothing, effect),
        upheld_best_quoted(nothing),
        upheld_far_off(real, effect),
    ):
        assert found.share <= 0.025 + 3 * found.error(0.025)
    assert borne_out_when_stated(real, effect).share >= 0.85
