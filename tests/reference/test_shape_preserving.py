"""The curve between set points against scipy's PchipInterpolator, which follows the same rule."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.interpolate import PchipInterpolator

from slackwater.analysis.sweep.curves import curves

SOME = st.lists(st.integers(-40, 40), min_size=2, max_size=12)


@settings(max_examples=300, deadline=None)
@given(values=SOME, gaps=st.lists(st.integers(1, 9), min_size=12, max_size=12))
def test_the_same_curve_as_scipys(values: list[int], gaps: list[int]) -> None:
    x = np.cumsum(gaps[: len(values)]).astype(float)
    y = np.array(values, dtype=float)
    curve, scipys = curves(x, y), PchipInterpolator(x, y)
    between = np.linspace(x[0], x[-1], 57)
    scale = max(1.0, float(np.abs(y).max()))
    assert_allclose(curve.at(between), scipys(between), atol=1e-11 * scale)
    assert_allclose(curve.slope, scipys.derivative()(x), atol=1e-11 * scale)


def test_over_a_missing_set_point() -> None:
    x = np.array([1.0, 2.0, 3.5, 4.0, 6.0])
    y = np.array([2.0, np.nan, 3.0, 8.0, 7.0])
    known = np.isfinite(y)
    between = np.linspace(1.0, 6.0, 41)
    scipys = PchipInterpolator(x[known], y[known])
    assert_allclose(curves(x, y).at(between), scipys(between), atol=1e-12)


@pytest.mark.parametrize("position", [0.9, 6.1])
def test_nothing_beyond_the_ends(position: float) -> None:
    x = np.array([1.0, 2.0, 6.0])
    assert np.isnan(curves(x, x**2).at([position]))[0]
