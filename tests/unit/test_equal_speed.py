"""Reading sweeps at one speed: exact where the curves are, refused where a sweep does not reach."""

from __future__ import annotations

import dataclasses
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from sweep_tables import table

from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.quantities.session_values import LEAST_PART
from slackwater.analysis.sweep.curves import spread
from slackwater.analysis.sweep.equal_speed import (
    Target,
    equal_speed_tables,
    reach,
    round_speeds,
)
from slackwater.analysis.verdict.judgement import judge_sweep
from slackwater.analysis.verdict.terms import Terms

AXIS = SweepAxis("engine_speed", "rpm")
POINTS = np.array([1000.0, 1500.0, 2000.0, 2500.0, 3000.0])
FITTED = ["A", "B", "B", "A"]
# Powers of the engine speed are straight lines to the curves, so that they are read exactly.
SPEED = 6e-4 * POINTS**1.3
FLOW = 1e-7 * POINTS**2.6
LEVEL = np.array([1.0, 1.002, 0.998, 1.001])[:, None]
TARGETS = [Target(v, f"{v:g} kn", v) for v in (8.0, 12.0, 15.0)]
BASELINE = np.array([name == "A" for name in FITTED])


def spread_of(values: np.ndarray) -> np.ndarray:
    """What the curve through values is off by in the middle of each gap."""
    x = np.log(POINTS)
    return spread(x, values).at((x[1:] + x[:-1]) / 2)


def tables(speed: np.ndarray | None = None) -> dict:
    return {
        "speed": table("speed", POINTS, SPEED * LEVEL if speed is None else speed, runs=0.002),
        "fuel_flow": table("fuel_flow", POINTS, FLOW * LEVEL**2, runs=0.003),
    }


def test_powers_are_read_exactly() -> None:
    found = equal_speed_tables(tables(), AXIS, FITTED, TARGETS)
    engine = (np.array([8.0, 12.0, 15.0]) / (6e-4 * LEVEL)) ** (1 / 1.3)
    assert_allclose(found["engine_speed at equal speed"].values, engine, rtol=1e-9)
    flow = 1e-7 * engine**2.6 * LEVEL**2
    assert_allclose(found["fuel_flow at equal speed"].values, flow, rtol=1e-9)
    economy = found["economy at equal speed"]
    assert_allclose(economy.values, np.array([8.0, 12.0, 15.0]) / flow, rtol=1e-9)
    assert economy.unit == "nmi/L"
    assert economy.labels == ("8 kn", "12 kn", "15 kn")
    assert_allclose(economy.curve_variance, 0.0, atol=1e-12)


def test_noise_of_the_speed_counts_along_the_slope() -> None:
    """Fuel flow goes with the square of speed here: a speed 0.2 % off is a flow 0.4 % off."""
    found = equal_speed_tables(tables(), AXIS, FITTED, [Target(s, "", s) for s in SPEED[1:3]])
    flow = found["fuel_flow at equal speed"]
    relative = flow.run_variance[0] / flow.values[0] ** 2
    assert_allclose(relative, 0.003**2 + (2 * 0.002) ** 2, rtol=1e-3)


def test_a_sweep_that_does_not_reach_is_untestable_and_says_what_would_do() -> None:
    speed = SPEED * LEVEL
    speed[2, 4] = np.nan  # one session was never run at the top
    found = equal_speed_tables(tables(speed), AXIS, FITTED, [*TARGETS, Target(18.0, "18 kn", 18.0)])
    rows = judge_sweep(found["economy at equal speed"], FITTED, "A", "B", Terms()).rows
    assert [row.verdict for row in rows] == ["within noise"] * 2 + ["within noise", "untestable"]
    assert rows[3].change is None
    assert "18 kn is outside the speeds that every session reached" in rows[3].reason
    assert "set points that take every session past 18 kn would do" in rows[3].reason


def test_sessions_that_reach_by_chance_do_not_stand_for_all() -> None:
    speed = SPEED * LEVEL
    top = speed.max()
    found = equal_speed_tables(tables(), AXIS, FITTED, [Target(top, "top", top * 0.9999)])
    row = judge_sweep(found["economy at equal speed"], FITTED, "A", "B", Terms()).rows[0]
    assert row.verdict == "untestable"


def test_two_set_points_are_no_curve() -> None:
    short = {
        name: replace(
            each,
            positions=each.positions[:2],
            labels=each.labels[:2],
            values=each.values[:, :2],
            run_variance=each.run_variance[:, :2],
            double_runs=each.double_runs[:, :2],
            instrument_variance=each.instrument_variance[:2],
        )
        for name, each in tables().items()
    }
    found = equal_speed_tables(short, AXIS, FITTED, [Target(6.0, "6 kn", 6.0)])
    assert "run at least 3" in found["economy at equal speed"].untestable


def test_held_speeds_are_compared_at_equal_speed_already() -> None:
    assert equal_speed_tables(tables(), SweepAxis("speed", "kn"), FITTED, TARGETS) == {}


@pytest.mark.parametrize(("factor", "step"), [(1.0, 2.0), (0.5, 1.0), (3.0, 10.0)])
def test_round_speeds_lie_within_the_reach_of_all(factor: float, step: float) -> None:
    speed = table("speed", POINTS, factor * SPEED * LEVEL)
    low, high = reach(speed)
    found = [target.speed for target in round_speeds(speed, BASELINE)]
    assert 2 <= len(found) <= 8
    assert low <= found[0] < low + 1.2 * step
    assert high - 1.2 * step < found[-1] <= high
    assert_allclose(np.diff(found), step)


def test_a_session_that_breaks_off_moves_no_speed() -> None:
    """It leaves the fast speeds without a verdict, and brings no slow ones in."""
    planned = table("speed", POINTS, SPEED * LEVEL)
    whole = [target.label for target in round_speeds(planned, BASELINE)]
    for session in range(4):
        cut = SPEED * LEVEL
        cut[session, 2:] = np.nan
        speed = table("speed", POINTS, cut)
        assert [target.label for target in round_speeds(speed, BASELINE)] == whole
        found = equal_speed_tables(tables(cut), AXIS, FITTED, round_speeds(speed, BASELINE))
        economy = found["economy at equal speed"]
        rows = judge_sweep(economy, FITTED, "A", "B", Terms()).rows
        assert [row.at for row in rows] == whole
        lost = [row for row in rows if row.position > SPEED[1] * 1.01]
        assert {row.verdict for row in lost} == {"untestable"}
        assert all("every session reached" in row.reason for row in lost)


def test_curves_that_bend_alike_are_off_alike() -> None:
    """A wavy speed and a flow with the same waves: read off each other they are nearly straight."""
    wave = 1 + 0.05 * np.sin(np.arange(5))
    given = {
        "speed": table("speed", POINTS, SPEED * wave * LEVEL),
        "fuel_flow": table("fuel_flow", POINTS, FLOW * wave**2 * LEVEL**2),
    }
    flow = equal_speed_tables(given, AXIS, FITTED, TARGETS)["fuel_flow at equal speed"]
    alone = given["fuel_flow"].on_scale()[0]
    assert np.nanmax(flow.curve_variance) < 0.1 * np.nanmax(spread_of(alone)) ** 2


def test_what_curves_share_cancels_in_their_difference_but_not_whole() -> None:
    bent = SPEED * (1 + 0.1 * np.array([0, 1, 0, 1, 0]))
    given = tables(bent * LEVEL)
    flow = equal_speed_tables(given, AXIS, FITTED, TARGETS)["fuel_flow at equal speed"]
    assert flow.curve_errors is not None
    a = np.array(FITTED) == "A"
    apart = flow.curve_variance_of(a) + flow.curve_variance_of(~a)
    together = flow.curve_errors.of_difference(a, ~a)
    assert_allclose(together, LEAST_PART**2 * apart, rtol=0.05)
    # Where one of them is read between other set points, nothing cancels.
    moved = dataclasses.replace(flow.curve_errors, gap=flow.curve_errors.gap + a[:, None])
    assert_allclose(moved.of_difference(a, ~a), apart, rtol=1e-9)
