"""Shape-preserving curves: through the values, no further than them, and honest in between."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.interpolate import PchipInterpolator

from slackwater.analysis.sweep.curves import curves, left_out, spread

X = np.array([1000.0, 1500.0, 1800.0, 2600.0, 3200.0])
Y = np.array([5.0, 6.5, 9.0, 21.0, 24.0])


def test_is_scipys_curve() -> None:
    fine = np.linspace(1000, 3200, 57)
    ours = curves(X, np.stack([Y, Y[::-1]]))
    assert_allclose(ours.at(fine)[0], PchipInterpolator(X, Y)(fine), rtol=1e-12)
    assert_allclose(ours.slope_at(fine)[1], PchipInterpolator(X, Y[::-1]).derivative()(fine))


def test_never_beyond_the_measured_ends() -> None:
    found = curves(X, Y).at([999.0, 1000.0, 3200.0, 3201.0])
    assert np.isnan(found[[0, 3]]).all()
    assert_allclose(found[1:3], [5.0, 24.0])


def test_a_session_with_gaps_passes_over_them_and_ends_where_it_ends() -> None:
    y = np.array([Y, Y])
    y[1, [2, 4]] = np.nan
    found = curves(X, y)
    known = PchipInterpolator(X[[0, 1, 3]], Y[[0, 1, 3]])
    at = [1200.0, 1800.0, 2300.0, 2600.0, 2700.0]
    assert_allclose(found.at(at)[1, :4], known(at[:4]), rtol=1e-12)
    assert np.isnan(found.at(at)[1, 4])
    assert np.isfinite(found.at(at)[0]).all()


def test_crossing_is_the_inverse_and_the_first_of_several() -> None:
    level = np.array([4.9, 5.0, 7.7, 21.0, 24.0, 24.1])
    where = curves(X, Y).crossing(level)
    assert np.isnan(where[[0, 5]]).all()
    assert_allclose(curves(X, Y).at(where[1:5]), level[1:5], rtol=1e-12)
    humped = curves(X, np.array([5.0, 9.0, 7.0, 9.0, 12.0]))
    assert 1000 < humped.crossing([8.0])[0] < 1500


@given(st.lists(st.floats(0.1, 50), min_size=3, max_size=9))
def test_makes_no_hump_of_its_own(values: list[float]) -> None:
    x = np.arange(float(len(values)))
    y = np.array(values)
    fine = np.linspace(0, len(values) - 1, 97)
    found = curves(x, y).at(fine)
    left = np.minimum(fine.astype(int), len(values) - 2)
    assert (found >= np.minimum(y[left], y[left + 1]) - 1e-9).all()
    assert (found <= np.maximum(y[left], y[left + 1]) + 1e-9).all()


def test_a_straight_line_leaves_nothing_out() -> None:
    off = left_out(X, 3 * X - 100)
    assert np.isnan(off[[0, 4]]).all()
    assert_allclose(off[1:4], 0.0, atol=1e-9)
    assert_allclose(spread(X, 3 * X - 100).at(np.linspace(1000, 3200, 9)), 0.0, atol=1e-9)


def test_uncertainty_is_none_at_set_points_and_most_between() -> None:
    told = spread(X, Y)
    assert_allclose(told.at(X), 0.0, atol=1e-12)
    middle = told.at((X[1:] + X[:-1]) / 2)
    assert (middle > 0).all()
    assert (told.at(X[:-1] + 0.1 * np.diff(X)) < middle).all()


def test_two_set_points_tell_nothing() -> None:
    assert np.isnan(spread([1.0, 2.0], np.array([3.0, 4.0])).at([1.5])).all()


@pytest.mark.parametrize("points", [5, 9, 17])
def test_closer_set_points_are_off_by_less(points: int) -> None:
    def speed(rpm: np.ndarray) -> np.ndarray:
        return 4 + 22 / (1 + np.exp(-(rpm - 2350) / 420))

    x = np.linspace(1000, 3500, points)
    told = spread(x, speed(x)).at(np.linspace(1000, 3500, 999)).max()
    finer = np.linspace(1000, 3500, 2 * points - 1)
    assert spread(finer, speed(finer)).at(np.linspace(1000, 3500, 999)).max() < told
