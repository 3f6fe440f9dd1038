"""Taking the current out: the four methods on made-up runs."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.reduction.current import (
    CurrentCurve,
    ReductionError,
    by_double_runs,
    by_mean_of_means,
    by_single_runs,
    mean_of_means,
    tide_fit,
)


def test_mean_of_means_wants_two_runs() -> None:
    with pytest.raises(ReductionError, match="1 run has no mean of means; it takes at least 2"):
        mean_of_means([8.0])


def test_mean_of_means_names_the_run_without_a_speed() -> None:
    with pytest.raises(ReductionError, match="run 3 of 4 has no speed; leave out its double run"):
        mean_of_means([8.0, 7.0, np.nan, 7.2])


def test_single_runs_by_hand() -> None:
    cells = by_single_runs(np.array([1.0, 3.0, 10.0, 5.0]), np.array([0, 0, 1, 0]))
    assert_allclose(cells.value, [3.0, 10.0])
    assert_allclose(cells.factor, [1 / 3, 1.0])
    assert_allclose(cells.scatter, [8.0, 0.0])
    assert_allclose(cells.df, [2.0, 0.0])


def test_double_runs_by_hand() -> None:
    """Means 6 and 8: cell 7; the scatter of the means counts double, as that of a run."""
    cells = by_double_runs(
        np.array([5.0, 7.0, 9.0, 7.0]), np.array([0, 0, 1, 1]), np.array([0, 0, 0, 0])
    )
    assert_allclose(cells.value, [7.0])
    assert_allclose(cells.factor, [1 / 4])
    assert_allclose(cells.scatter, [2 * 2.0])
    assert_allclose(cells.df, [1.0])


def noisy(seed: int, cells: int = 400, doubles: int = 3) -> tuple[np.ndarray, ...]:
    """Many cells on a steady current with run noise of 0.1 kn."""
    cell = np.repeat(np.arange(cells), 2 * doubles)
    sign = np.tile([1.0, -1.0], cells * doubles)
    pair = np.repeat(np.arange(cells * doubles), 2)
    seconds = 150.0 * np.arange(cell.size)
    rng = np.random.default_rng(seed)
    return 10 + 0.7 * sign + rng.normal(0, 0.1, cell.size), sign, seconds, pair, cell


@pytest.mark.parametrize("method", ["double_run", "mean_of_means", "tide_fit"])
def test_factor_and_scatter_tell_the_noise(method: str) -> None:
    """The spread of the cells is what factor and scatter say it is, whatever the method."""
    speed, sign, seconds, pair, cell = noisy(3)
    if method == "double_run":
        cells = by_double_runs(speed, pair, cell)
    elif method == "mean_of_means":
        cells, plain = by_mean_of_means(speed, sign, seconds, pair, cell)
        assert plain == []
    else:
        cells, _, _ = tide_fit(speed, sign, seconds, cell)
    of_a_run = cells.scatter.sum() / cells.df.sum()
    # 800 degrees of freedom or more: 5 % of a variance is one standard error; three of them.
    assert of_a_run == pytest.approx(0.01, rel=0.15)
    assert cells.value.var() == pytest.approx(float(cells.factor.mean()) * 0.01, rel=0.22)


def test_runs_that_do_not_alternate_have_no_mean_of_means() -> None:
    sign = np.array([1.0, -1.0, -1.0, 1.0, 1.0, -1.0, 1.0, -1.0])
    cell = np.repeat([0, 1], 4)
    pair = np.repeat(np.arange(4), 2)
    cells, plain = by_mean_of_means(8 + sign, sign, 60.0 * np.arange(8), pair, cell)
    assert plain == [0]
    assert_allclose(cells.value, [8.0, 8.0])
    assert_allclose(cells.factor, [1 / 4, 0.3125])


def test_the_order_of_time_counts_not_that_of_the_table() -> None:
    sign = np.array([1.0, -1.0, 1.0, -1.0])
    speed = 20 + sign * np.array([1.0, 1.2, 1.4, 1.6])
    shuffle = np.array([2, 0, 3, 1])
    cells, _ = by_mean_of_means(
        speed[shuffle],
        sign[shuffle],
        (60.0 * np.arange(4))[shuffle],
        np.array([0, 0, 1, 1])[shuffle],
        np.zeros(4, dtype=int),
    )
    assert cells.value[0] == pytest.approx(20.0, abs=1e-12)


def test_a_tide_cannot_be_told_from_one_direction() -> None:
    with pytest.raises(ReductionError, match="one direction only"):
        tide_fit(
            np.array([8.0, 7.0, 9.0]),
            np.array([1.0, -1.0, 1.0]),
            np.arange(3.0),
            np.array([0, 0, 1]),
        )


def test_tide_fit_is_ordinary_least_squares() -> None:
    """Cells, factors and the curve's covariance against the whole design solved at once."""
    speed, sign, seconds, _, cell = noisy(5, cells=5)
    speed = speed + sign * 0.4 * np.sin(seconds / 2000)
    cells, curve, residuals = tide_fit(speed, sign, seconds, cell)
    time = 2 * (seconds - seconds.min()) / np.ptp(seconds) - 1
    legendre = sign[:, None] * np.polynomial.legendre.legvander(time, curve.degree)
    design = np.hstack([np.eye(5)[cell], legendre])
    solved, square, *_ = np.linalg.lstsq(design, speed, rcond=None)
    assert_allclose(cells.value, solved[:5], atol=1e-9)
    assert_allclose(curve.coefficients, solved[5:], atol=1e-9)
    df = speed.size - design.shape[1]
    inverse = np.linalg.inv(design.T @ design)
    assert_allclose(cells.factor, np.diag(inverse)[:5], atol=1e-9)
    assert_allclose(curve.covariance, inverse[5:, 5:] * square[0] / df, atol=1e-9)
    assert curve.residual_df == df
    assert cells.df.sum() == pytest.approx(df)
    assert cells.scatter.sum() == pytest.approx(float(residuals @ residuals))


def test_the_degree_is_what_the_runs_call_for() -> None:
    steady = []
    for seed in range(60):
        speed, sign, seconds, _, cell = noisy(seed, cells=8)
        steady.append(tide_fit(speed, sign, seconds, cell)[1].degree)
    # The criterion is a forecaster's: it takes a needless degree now and then, seldom two.
    assert np.mean(np.array(steady) == 0) > 0.7
    assert np.mean(np.array(steady) <= 1) > 0.85
    turning = speed + sign * 1.5 * np.sin(2 * np.pi * seconds / (12.42 * 3600) + 1)
    assert tide_fit(turning, sign, seconds, cell)[1].degree >= 1
    few = tide_fit(speed[:2], sign[:2], seconds[:2], cell[:2])[1]
    assert few.degree == 0
    assert few.residual_df == 0


def test_the_curve_tells_its_uncertainty() -> None:
    """Four fifths of 200 curves are within their 80 % interval at mid-outing."""
    inside = 0
    for seed in range(200):
        speed, sign, seconds, _, cell = noisy(1000 + seed, cells=6)
        value, error = tide_fit(speed, sign, seconds, cell)[1].at([seconds.mean()])
        inside += abs(value[0] - 0.7) < 1.2816 * error[0]
    # 160 expected; binomial standard error 5.7, three of them.
    assert 143 <= inside <= 177


def test_rounding_below_nought_leaves_a_current_that_is_certain_and_no_hole() -> None:
    curve = CurrentCurve(0.0, 600.0, np.array([0.4]), np.array([[-1e-20]]), 3.0)
    current, error = curve.at([0.0, 300.0, 600.0])
    assert_allclose(current, 0.4)
    assert_allclose(error, 0.0, atol=0.0)
