"""Ratings with rater effects, ties and ends of the scale: false claims, coverage, planned power."""

from __future__ import annotations

from math import sqrt

import pytest
from rating_world import RatingCell, cells, tally
from told_once import keeps, power_planned

from slackwater.analysis.planning.power import Design, Noise, Setting, realised_power

CELLS = tuple(cells())
SAMPLE = (
    RatingCell("ABBA", 3, 5),
    RatingCell("ABBABAAB", 5, 7, effect=1.0),
    RatingCell("ABBABAAB", 4, 7, missing=0.2),
)
PLANNED = (
    RatingCell("ABBABAAB", 5, 7, effect=1.2),
    RatingCell("ABBAAB", 10, 10, effect=1.5),
    RatingCell("ABBABAAB", 3, 10, effect=1.5),
)


def hold(cell: RatingCell, trials: int, seed: int) -> None:
    found = tally(cell, trials, seed)
    monte_carlo = sqrt(0.05 * 0.95 / trials)
    if not cell.effect:
        assert found.established <= 0.05 + 3 * monte_carlo, cell.name
        assert found.told <= found.established
    assert found.covered >= 0.95 - 3 * monte_carlo, cell.name


@pytest.mark.parametrize("cell", SAMPLE, ids=lambda cell: cell.name)
def test_false_claims_and_coverage(cell: RatingCell) -> None:
    hold(cell, trials=300, seed=11)


@pytest.mark.full
@pytest.mark.parametrize("number", range(len(CELLS)), ids=lambda i: CELLS[i].name)
def test_false_claims_and_coverage_everywhere(number: int) -> None:
    hold(CELLS[number], trials=2000, seed=100 + number)


def test_raters_who_agree_on_nothing_are_hardly_ever_believed() -> None:
    """No session differs from another: one in twenty passes for agreement, and few of those name a gain."""
    cell = RatingCell("ABBABAAB", 5, 7, of_session=0.0)
    found = tally(cell, trials=400, seed=12)
    assert found.testable <= 0.05 + 3 * sqrt(0.05 * 0.95 / 400)
    assert found.told <= 0.05


def _planned(cell: RatingCell, trials: int, seed: int) -> None:
    # A score in whole points scatters by a uniform step more than what is felt.
    noise = Noise(cell.of_session, 0.0, sqrt(cell.of_score**2 + 1 / 12))
    design = Design(len(cell.order) // 2, cell.raters)
    power = power_planned(design, noise, cell.effect, agreement=0.95)
    keeps(cell.name, power, tally(cell, trials, seed).told, trials)


def test_agreement_costs_nothing_where_scores_have_no_noise() -> None:
    noise, design = Noise(0.5, 0.0, 0.001), Design(4, 5)
    asked, not_asked = (power_planned(design, noise, 1.2, agreement=each) for each in (0.95, None))
    assert asked == pytest.approx(not_asked, abs=1e-9)


def test_agreement_costs_most_where_sessions_hardly_differ() -> None:
    noise, design = Noise(0.1, 0.0, 1.0), Design(3, 3)
    asked, not_asked = (power_planned(design, noise, 1.2, agreement=each) for each in (0.95, None))
    assert asked < not_asked - 0.1
    drawn, error = realised_power(design, noise, Setting(set_points=1, agreement=0.95), 1.2)
    assert asked == pytest.approx(drawn, abs=0.01 + 3 * error)


@pytest.mark.parametrize("cell", PLANNED[2:], ids=lambda cell: cell.name)
def test_planned_power_is_realised(cell: RatingCell) -> None:
    _planned(cell, trials=300, seed=21)


@pytest.mark.full
@pytest.mark.parametrize("cell", PLANNED, ids=lambda cell: cell.name)
def test_planned_power_is_realised_everywhere(cell: RatingCell) -> None:
    _planned(cell, trials=2000, seed=22)
