"""Figures of the sweep as a whole, on curves whose figures are known."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from sweep_tables import table

from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.sweep.duty import duty_tables
from slackwater.analysis.sweep.equal_speed import Target
from slackwater.analysis.sweep.figures import best_economy, range_table, top_speed
from slackwater.analysis.sweep.planing import planing

AXIS = SweepAxis("engine_speed", "rpm")
FITTED = ["A", "B", "B", "A"]
POINTS = np.linspace(1500, 4500, 11)
LEVEL = np.array([1.0, 1.003, 0.999, 1.002])[:, None]


def speeds(shift: float = 0.0) -> np.ndarray:
    def hump(rpm: np.ndarray) -> np.ndarray:
        return 11 / (1 + np.exp(-(rpm - 2600) / 230)) + 3.4 * (rpm / 1000) ** 1.15

    rows = [hump(POINTS + (shift if name == "B" else 0.0)) for name in FITTED]
    return np.array(rows) * LEVEL


def log_parabola(speed: np.ndarray, best: float) -> np.ndarray:
    return 0.9 * np.exp(-2 * (np.log(speed / best)) ** 2)


def test_top_speed_is_that_of_the_fastest_set_point() -> None:
    values = speeds()
    values[:, 10] = values[:, 9] - 1.0  # a propeller that lets go at the top
    found = top_speed(table("speed", POINTS, values), FITTED)
    assert_allclose(found.values[:, 0], values[:, 9])
    assert found.labels == ("top speed",)
    assert np.isnan(found.positions).all()


def test_best_economy_between_set_points() -> None:
    speed = table("speed", POINTS, speeds())
    economy = table("economy", POINTS, log_parabola(speeds(), 19.3))
    where, height = best_economy(speed, economy, FITTED, None, 0.95)
    assert where.untestable == ""
    assert_allclose(where.values[:, 0], 19.3, rtol=1e-6)
    assert_allclose(height.values[:, 0], 0.9, rtol=1e-6)
    # The spacing leaves open where a lopsided top would be, and nothing in a difference.
    assert (where.level_variance > 0).all()
    assert_allclose(where.curve_variance, 0.0, atol=1e-5)


def test_economy_best_at_the_end_is_not_placed() -> None:
    speed = table("speed", POINTS, speeds())
    falling = table("economy", POINTS, 20 / speeds())
    where, height = best_economy(speed, falling, FITTED, None, 0.95)
    assert "best at the slowest speed looked at" in where.untestable
    assert "cruise" in where.untestable
    assert height.untestable == where.untestable
    rising, _ = best_economy(speed, table("economy", POINTS, speeds()), FITTED, None, 0.95)
    assert "set points above it would tell" in rising.untestable


def test_cruise_looks_past_a_better_economy_at_a_crawl() -> None:
    speed = table("speed", POINTS, speeds())
    values = log_parabola(speeds(), 19.3) + 3 * np.exp(-speeds())
    economy = table("economy", POINTS, np.where(speeds() < 7, 2.0, values))
    without, _ = best_economy(speed, economy, FITTED, None, 0.95)
    assert without.untestable
    found, _ = best_economy(speed, economy, FITTED, (12.0, 28.0), 0.95)
    assert_allclose(found.values[:, 0], 19.3, rtol=0.01)
    assert found.labels == ("best economy between 12 and 28 kn",)


def test_a_flat_top_is_left_open() -> None:
    rng = np.random.default_rng(4)
    speed = table("speed", POINTS, speeds())
    flat = 0.9 * np.exp(rng.normal(0, 0.01, speeds().shape) - 1e-4 * (speeds() - 19.0) ** 2)
    where, _ = best_economy(speed, table("economy", POINTS, flat), FITTED, (8.0, 30.0), 0.95)
    wide = np.sqrt(np.nanmax(where.level_variance)) if not where.untestable else np.inf
    assert wide > 0.05


def test_planing_by_every_definition() -> None:
    speed = table("speed", POINTS, speeds())
    trim = table("trim", POINTS, 5 - ((POINTS - 2500) / 700) ** 2 + 0 * LEVEL)
    found = {each.key: each for each in planing(speed, AXIS, FITTED, 0.95, trim, 9.0)}
    assert list(found) == [
        "planing_engine_speed by 15.6 to 17.4 kn by size",
        "planing_engine_speed by steepest rise",
        "planing_threshold by steepest rise",
        "planing_engine_speed by highest trim",
        "planing_threshold by highest trim",
    ]
    # The hump is steepest at 2600 rpm and a little: the rest of the curve steepens as well.
    assert_allclose(found["planing_engine_speed by steepest rise"].values, 2603, atol=15)
    assert_allclose(found["planing_engine_speed by highest trim"].values, 2500, atol=1)
    by_size = found["planing_engine_speed by 15.6 to 17.4 kn by size"]
    assert np.interp(16.51, speeds()[0], POINTS) == pytest.approx(by_size.values[0, 0], rel=0.01)


def test_no_hump_no_threshold() -> None:
    speed = table("speed", POINTS, 3 * np.sqrt(POINTS / 1000) * LEVEL)
    found = planing(speed, AXIS, FITTED, 0.95)
    assert all("shows no threshold" in each.untestable for each in found)


def test_range_is_usable_fuel_times_economy() -> None:
    economy = table("economy", POINTS, log_parabola(speeds(), 19.3), runs=0.01)
    found = range_table(economy, 180.0, 0.02)
    assert_allclose(found.values, 180 * economy.values)
    assert_allclose(found.run_variance / found.values**2, 1e-4)
    assert_allclose(found.level_variance, 4e-4)
    assert found.quantity == "range"
    assert found.unit == "nmi"


def test_duty_adds_up_and_a_leg_out_of_reach_is_refused() -> None:
    flow = table("fuel_flow", POINTS, 1e-6 * POINTS**2 * LEVEL)
    held = {"speed": table("speed", POINTS, 0.006 * POINTS + 0 * LEVEL), "fuel_flow": flow}
    legs = [(Target(12.0, "12 kn", 12.0), 2.0), (Target(21.0, "21 kn", 21.0), 0.5)]
    trip, year = duty_tables(held, FITTED, legs, 100)
    expected = LEVEL[:, 0] * (2 * 4.0 + 0.5 * 12.25)
    assert_allclose(trip.values[:, 0], expected, rtol=2e-3)
    assert_allclose(year.values, 100 * trip.values)
    assert year.scale == "difference"
    far = [(Target(40.0, "40 kn", 40.0), 1.0)]
    assert "not every session reached 40 kn" in duty_tables(held, FITTED, far, None)[0].untestable


def test_a_rise_within_one_gap_is_not_placed() -> None:
    """Where speed jumps between two set points, any place between them does as well."""
    points = np.linspace(1500.0, 4500.0, 11)
    speed = 11 / (1 + np.exp(-(points - 2550) / 40)) + points / 300
    level = np.array([1.0, 1.002, 0.998, 1.001])[:, None]
    found = planing(table("speed", points, speed * level), AXIS, FITTED, 0.95)
    assert found
    for each in found:
        assert "almost all at once between 2400 rpm and 2700 rpm" in each.untestable
