"""Figures as text: digits that follow the uncertainty, decimal rounding, signs."""

from __future__ import annotations

import pytest

from slackwater.analysis.wording.numbers import (
    MISSING,
    change_scale,
    common_decimals,
    decimals_for,
    decimals_to_match,
    fixed,
    range_text,
    round_uncertainty,
    row_decimals,
    uncertainty_text,
    value_scale,
)


# JCGM 100:2008 (GUM), 7.2.6: 10.47 mΩ is rounded up, 28.05 kHz down, and the value 10.057 62 Ω with
# 27 mΩ is given as 10.058 Ω.
@pytest.mark.parametrize(("given", "rounded"), [(10.47, "11"), (28.05, "28"), (27.0, "27")])
def test_uncertainty_as_in_the_guide(given: float, rounded: str) -> None:
    assert str(round_uncertainty(given)) == rounded


def test_value_to_match_its_uncertainty_as_in_the_guide() -> None:
    assert fixed(10.05762, decimals_to_match(0.027)) == "10.058"


# ASTM E29: a half goes to the even digit; a binary float would give 2.67 for 2.675 (decimal
# arithmetic, checked by hand).
@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(2.665, 2, "2.66"), (2.675, 2, "2.68"), (0.125, 2, "0.12"), (2.5, 0, "2"), (3.5, 0, "4")],
)
def test_half_to_even_in_decimal(value: float, decimals: int, text: str) -> None:
    assert fixed(value, decimals) == text


@pytest.mark.parametrize(
    ("value", "decimals", "signed", "text"),
    [
        (3.14, 1, True, "+3.1"),
        (-3.14, 1, True, "−3.1"),
        (-0.04, 1, True, "−0.04"),
        (-0.04, 1, False, "−0.04"),
        (3.4, -3, True, "+3"),
        (0.0501, 1, True, "+0.1"),
        (-3e-15, 1, False, "0.0"),
        (0.0, 1, True, "0.0"),
        (1234.5, -1, False, "1230"),
        (1234567.0, None, False, "1235000"),
        (float("nan"), 1, True, MISSING),
        (float("inf"), 1, True, MISSING),
        (None, 1, True, MISSING),
    ],
)
def test_fixed(value: float | None, decimals: int | None, signed: bool, text: str) -> None:
    assert fixed(value, decimals, signed=signed) == text


@pytest.mark.parametrize(
    ("half_width", "plain", "lean"),
    [(0.95, 2, 1), (0.34, 2, 2), (0.36, 2, 1), (120.0, -1, -1), (0.0996, 2, 2), (4.2, 1, 0)],
)
def test_decimals_follow_the_half_width(half_width: float, plain: int, lean: int) -> None:
    assert decimals_for(half_width) == plain
    assert decimals_for(half_width, lean=True) == lean


@pytest.mark.parametrize("nothing", [None, 0.0, float("nan"), float("inf"), -1.0])
def test_no_decimals_without_a_half_width(nothing: float | None) -> None:
    assert decimals_for(nothing) is None


def test_column_takes_the_median_and_a_row_its_own_where_that_would_not_suit() -> None:
    column = common_decimals([0.11, 1.2, 1.4, None])
    assert column == 1
    assert row_decimals(1.4, column) == 1
    assert row_decimals(0.11, column) == 1  # one digit of 0.11 is left: enough
    assert row_decimals(0.011, column) == 3
    assert row_decimals(140.0, column) == -1
    assert row_decimals(None, column) == 1


@pytest.mark.parametrize(
    ("value", "text"),
    [(1.04, "1.1"), (0.0113, "0.012"), (120.4, "120"), (0.0, "0"), (None, MISSING)],
)
def test_noise_floor_is_not_flattered(value: float | None, text: str) -> None:
    assert uncertainty_text(value) == text


def test_scales() -> None:
    assert change_scale("ratio", "kn").of(0.031) == 3.1
    assert change_scale("difference", "1").unit == "percentage points"
    assert change_scale("difference", "degC").unit == "°C"
    assert value_scale("1").of(0.123) == 12.3
    assert value_scale("L/h").of(12.0) == 12.0
    assert change_scale("ratio", "kn").width(0.02, 0.04) == 1.0


def test_range() -> None:
    assert range_text(2.04, 3.96, 1) == "+2.0 to +4.0"
    assert range_text(2.04, 2.01, 1) == "+2.0"


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_uncertainty_has_to_be_positive(bad: float) -> None:
    with pytest.raises(ValueError, match="positive and finite"):
        round_uncertainty(bad)
