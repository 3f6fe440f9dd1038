"""Taking the current out, against published weights and currents that must cancel.

Sources: E. C. Tupper, *Introduction to Naval Architecture*, pp. 243-245 (four runs on a quadratic
tide: 8V = V1 + 3V2 + 3V3 + V4). Everything else here is exact algebra on a stated current, so
only the rounding of doubles is allowed for (EXACT), unless figures are printed.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.quantities.derived import Fitted, derived
from slackwater.analysis.quantities.making import SweepAxis, measured
from slackwater.analysis.reduction.current import binomial_weights, mean_of_means, tide_fit
from slackwater.analysis.reduction.reduction import reduce_runs
from slackwater.protocol.catalogue.measures import MEASURES

EXACT = 1e-11
V = 20.0  # [kn]


def frame(speed, sign, minutes, set_point=None, **more):
    """Runs of one session as the intake gives them; a double run is two runs in their order."""
    n = len(speed)
    point = np.full(n, 2000.0) if set_point is None else np.asarray(set_point, float)
    seen: dict[float, int] = {}
    number = []
    for value in point:
        seen[value] = seen.get(value, 0) + 1
        number.append((seen[value] + 1) // 2)
    start = [datetime(2026, 5, 4) + timedelta(minutes=float(m)) for m in minutes]
    return pd.DataFrame(
        {
            "row": range(2, n + 2),
            "session": "S1",
            "configuration": "bare",
            "set_point": point,
            "double_run": number,
            "direction": ["out" if s > 0 else "back" for s in sign],
            "heading": np.nan,
            "start": pd.Series(start, dtype="datetime64[ns]"),
            "duration": 0.0,
            "speed_over_ground": np.asarray(speed, float),
            "set_aside": "",
            "note": "",
            **more,
        }
    )


def alternating(n):
    return np.where(np.arange(n) % 2 == 0, 1.0, -1.0)


def by_method(method, speed, sign, minutes=None):
    minutes = np.arange(len(speed)) if minutes is None else minutes
    reduction = reduce_runs(frame(speed, sign, minutes), method=method, one_way=False)
    assert reduction.method == method
    return reduction.speed.value[0]


# n, weights, divisor, sum of squares as printed, residual of the first term that survives
WEIGHTS = [
    (2, [1, 1], 2, 0.5000, -0.5),
    (3, [1, 2, 1], 4, 0.3750, 0.5),
    (4, [1, 3, 3, 1], 8, 0.3125, -0.75),
    (5, [1, 4, 6, 4, 1], 16, 0.27344, 1.5),
    (6, [1, 5, 10, 10, 5, 1], 32, 0.24609, -3.75),
]


@pytest.mark.parametrize(("n", "weights", "divisor", "square", "residual"), WEIGHTS)
def test_weights_and_what_survives_them(n, weights, divisor, square, residual):
    found = binomial_weights(n)
    assert_allclose(found * divisor, weights, rtol=0, atol=EXACT)
    assert (found**2).sum() == pytest.approx(square, abs=5e-6)
    k, sign = np.arange(n), alternating(n)
    for degree in range(n - 1):
        assert mean_of_means(V + sign * 0.7 * k**degree) == pytest.approx(V, abs=EXACT)
    left = mean_of_means(V + sign * k ** (n - 1.0)) - V
    assert left == pytest.approx(residual, abs=EXACT)


def test_tupper_four_runs_on_a_quadratic_tide():
    runs = np.array([20.5, 19.3, 20.7, 19.5])  # current 0.5 + 0.3k - 0.1k^2
    assert mean_of_means(runs) == pytest.approx((runs @ [1, 3, 3, 1]) / 8, abs=EXACT)
    assert mean_of_means(runs) == pytest.approx(20.0, abs=EXACT)


@pytest.mark.parametrize(("n", "printed"), [(2, 19.900), (3, 19.950), (4, 20.000), (6, 20.000)])
def test_quadratic_current(n, printed):
    runs = [20.5, 19.3, 20.7, 19.5, 20.1, 20.5]
    assert mean_of_means(runs[:n]) == pytest.approx(printed, abs=5e-4)


@pytest.mark.parametrize(
    ("n", "plain", "weighted"), [(2, 19.9, 19.9), (3, 20.4, 20.0), (4, 19.9, 20.0), (6, 19.9, 20.0)]
)
def test_linear_current(n, plain, weighted):
    runs = [21.0, 18.8, 21.4, 18.4, 21.8, 18.0]
    assert np.mean(runs[:n]) == pytest.approx(plain, abs=EXACT)
    assert mean_of_means(runs[:n]) == pytest.approx(weighted, abs=EXACT)
    if n % 2 == 0:
        assert by_method("mean_of_means", runs[:n], alternating(n)) == pytest.approx(
            weighted, abs=EXACT
        )
        assert by_method("double_run", runs[:n], alternating(n)) == pytest.approx(plain, abs=EXACT)


def tide(hours):
    return 1.5 * np.sin(2 * np.pi * np.asarray(hours) / 12.42)


# start [h], interval [min], n, plain error, mean-of-means error; None where none is printed
SINE = [
    (0.0, 20, 2, -0.126, None),
    (0.0, 20, 4, -0.121, 0.0009),
    (0.0, 20, 6, -0.111, -0.00001),
    (3.105, 20, 2, 0.011, None),
    (3.105, 20, 3, 0.479, -0.0105),
    (3.105, 20, 4, None, -0.0002),
    (0.0, 30, 2, -0.188, None),
    (0.0, 30, 4, None, 0.0028),
]


@pytest.mark.parametrize(("start", "interval", "n", "plain", "weighted"), SINE)
def test_sinusoidal_tide(start, interval, n, plain, weighted):
    sign = alternating(n)
    runs = V + sign * tide(start + interval / 60 * np.arange(n))
    if plain is not None:
        assert runs.mean() - V == pytest.approx(plain, abs=5e-4)
    if weighted is not None:
        digits = len(str(f"{weighted:.5f}".rstrip("0").split(".")[1]))
        assert mean_of_means(runs) - V == pytest.approx(weighted, abs=0.5 * 10**-digits)


ABBA = np.array([1.0, -1.0, -1.0, 1.0])
EIGHT = np.array([1.0, -1.0, -1.0, 1.0, -1.0, 1.0, 1.0, -1.0])


def test_order_out_back_back_out():
    """Removes constant and linear drift, leaves +1.0 a2; out, back, out, back leaves -0.5 a1."""
    k = np.arange(4.0)
    for degree, left in ((0, 0.0), (1, 0.0), (2, 1.0)):
        got = by_method("double_run", V + ABBA * k**degree, ABBA)
        assert got - V == pytest.approx(left, abs=EXACT)
    got = by_method("double_run", V + alternating(4) * k, alternating(4))
    assert got - V == pytest.approx(-0.5, abs=EXACT)


def test_eight_runs_that_remove_a_quadratic_drift():
    k = np.arange(8.0)
    for degree, left in ((0, 0.0), (1, 0.0), (2, 0.0), (3, -48 / 8)):
        got = by_method("double_run", V + EIGHT * k**degree, EIGHT)
        assert got - V == pytest.approx(left, abs=EXACT)


def test_variance_factors_as_printed():
    """sigma 0.1 kn: standard error 0.0559 for four runs by mean of means, 1/n when averaged."""
    runs = V + 0.1 * np.arange(4)
    found = reduce_runs(
        frame(runs, alternating(4), np.arange(4)), method="mean_of_means", one_way=False
    )
    assert 0.1 * np.sqrt(found.speed.factor[0]) == pytest.approx(0.0559, abs=5e-5)
    found = reduce_runs(frame(runs, ABBA, np.arange(4)), method="double_run", one_way=False)
    assert found.speed.factor[0] == pytest.approx(1 / 4, abs=EXACT)


def sweep(start, rng=None, first_fixed=True, points=8, doubles=2):
    """A sweep of set points on a sine tide, runs 2.5 min apart; true speeds 8, 10, ... kn."""
    order = np.repeat(np.arange(points), 2 * doubles)
    sign = np.tile(alternating(2 * doubles) if first_fixed else ABBA, points)[: order.size]
    minutes = 2.5 * np.arange(order.size)
    speed = 8 + 2 * order + sign * tide(start + minutes / 60)
    if rng is not None:
        speed = speed + rng.normal(0, 0.1, speed.size)
    return frame(speed, sign, minutes, 1000.0 + 100 * order)


@pytest.mark.parametrize("start", [0.0, 1.5, 3.105, 4.5])
def test_tide_fit_follows_a_sine_tide_through_a_sweep(start):
    """Without noise both leave less than a thousandth of a knot; a double run leaves 0.015."""
    truth = 8 + 2 * np.arange(8)
    for method in ("tide_fit", "mean_of_means"):
        found = reduce_runs(sweep(start), method=method, one_way=False)
        assert np.abs(found.speed.value - truth).max() < 1e-3
    plain = reduce_runs(sweep(0.0), method="double_run", one_way=False)
    assert np.abs(plain.speed.value - truth).max() > 0.014


def test_tide_fit_is_no_worse_than_mean_of_means_when_runs_are_noisy():
    """Root mean square error over 200 seeded sweeps with 0.1 kn of run noise and 1.5 kn of tide."""
    rng = np.random.default_rng(20260504)
    truth = 8 + 2 * np.arange(8)
    square = {"tide_fit": 0.0, "mean_of_means": 0.0, "double_run": 0.0}
    for _ in range(200):
        runs = sweep(rng.uniform(0, 12.42), rng)
        for method in square:
            found = reduce_runs(runs, method=method, one_way=False)
            square[method] += ((found.speed.value - truth) ** 2).mean() / 200
    error = {method: np.sqrt(value) for method, value in square.items()}
    assert error["tide_fit"] < error["mean_of_means"]
    # Mean of means of four runs: 0.1 * sqrt(0.3125) = 0.0559 as printed; 1600 values give it to
    # 2 % (one standard error of a standard deviation), three of those.
    assert error["mean_of_means"] == pytest.approx(0.0559, rel=0.06)
    # A current known exactly would leave 0.1 / sqrt(4) = 0.05.
    assert error["tide_fit"] == pytest.approx(0.05, rel=0.06)


def test_tide_fit_cancels_what_it_fits_exactly():
    """A current that is a polynomial of degree 3 in time drops out, and is itself recovered."""
    order = np.repeat(np.arange(6), 4)
    sign = np.tile(ABBA, 6)
    seconds = 150.0 * np.arange(order.size)
    hours = seconds / 3600
    current = 0.4 + 1.1 * hours - 0.8 * hours**2 + 0.3 * hours**3
    cells, curve, residuals = tide_fit(8 + 2 * order + sign * current, sign, seconds, order)
    # 1e-9: the exact fit is found through a pseudo-inverse of normal equations.
    assert_allclose(cells.value, 8 + 2 * np.arange(6), rtol=0, atol=1e-9)
    assert curve.degree >= 3
    assert_allclose(curve.at(seconds)[0], current, rtol=0, atol=1e-9)
    assert np.abs(residuals).max() < 1e-9


def test_average_speeds_not_times():
    """22 kn out, 18 kn back over a fixed distance: 20.0; distance over time says 19.8."""
    assert by_method("double_run", [22.0, 18.0], alternating(2)) == pytest.approx(20.0, abs=EXACT)
    assert pytest.approx(19.8, abs=0.05) == 2 / (1 / 22 + 1 / 18)


def test_fuel_per_distance_in_a_current():
    """8 kn through the water, 1 kn of current, 10 L/h: 10/8 = 1.2500 L/nmi. The legs over ground
    are 1.1111 and 1.4286, and their plain mean 1.2698."""
    runs = frame([9.0, 7.0], alternating(2), [0, 2], fuel_flow=10.0)
    reduction = reduce_runs(runs, method="double_run", one_way=False)
    axis = SweepAxis("engine_speed", "rpm")
    used = {name: MEASURES[name] for name in ("speed_over_ground", "fuel_flow")}
    tables = measured(reduction, used, {}, axis, ("S1",))
    economy = derived(tables, Fitted((None,), (None,)), axis)["economy"]
    assert 1 / economy.values[0, 0] == pytest.approx(1.2500, abs=5e-5)


def test_a_current_across_does_not_cancel():
    """V 6 kn, 1 kn across: both ways sqrt(36 - 1) = 5.916, and so their mean (check value 1.8)."""
    over_ground = np.sqrt(6.0**2 - 1.0**2)
    for method in ("double_run", "mean_of_means", "tide_fit"):
        got = by_method(
            method, [over_ground] * 4, ABBA if method == "double_run" else alternating(4)
        )
        assert got == pytest.approx(5.916, abs=5e-4)
