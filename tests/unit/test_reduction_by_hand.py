"""Runs to cells, figure by figure: what is set aside, in which order, and how the current comes out."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from invented_runs import START, runs
from numpy.testing import assert_allclose

from slackwater.analysis.reduction import current as currents
from slackwater.analysis.reduction.current import (
    CurrentCurve,
    ReductionError,
    binomial_weights,
    by_double_runs,
    by_mean_of_means,
    by_single_runs,
    mean_of_means,
    tide_fit,
)
from slackwater.analysis.reduction.reduction import (
    OUTING_GAP,
    Reduction,
    _spread,
    by_another_method,
    reduce_measure,
    reduce_runs,
    split_outings,
)
from slackwater.analysis.reduction.set_aside import _direction_word, _not_whole, directions, select

NAN = np.nan


def double(session: str = "S1", point: int = 1000, number: int = 1, minute: float | None = 0, speed: float = 10.0, current: float = 0.5) -> list[tuple[Any, ...]]:  # fmt: skip
    """A double run of ten minutes on a steady current."""
    back = None if minute is None else minute + 5
    return [
        (session, point, number, "out", minute, speed + current),
        (session, point, number, "back", back, speed - current),
    ]


# --- which runs are used -------------------------------------------------------------------------


def test_a_run_is_where_its_middle_is_and_which_way_it_went() -> None:
    frame = runs(*double(), duration=[60.0, NAN])
    used, aside = select(frame, paired=True, reciprocal_within=15.0)
    epoch = (pd.Timestamp(START) - pd.Timestamp("1970-01-01")).total_seconds()
    assert used["middle"].tolist() == [epoch + 30.0, epoch + 300.0]  # no duration: at its start
    assert used["sign"].tolist() == [1.0, -1.0]
    assert used["direction"].tolist() == ["out", "back"]
    assert aside == []
    assert list(used.columns).count("index") == 0
    unknown = runs(*double(minute=None), direction=["out", ""])
    free, _ = select(unknown, paired=False, reciprocal_within=15.0)
    assert free["direction"].tolist() == ["out", ""]
    assert np.isnan(free["middle"]).all()


def test_cells_and_pairs_are_numbered_in_order_of_appearance() -> None:
    rows = [
        *double("S2", 2000, 7),
        *double("S1", 1000, 1),
        *double("S2", 2000, 3),
        *double("S2", 1000, 7),
    ]
    used, _ = select(runs(*rows), paired=True, reciprocal_within=15.0)
    assert used["cell"].tolist() == [0, 0, 1, 1, 0, 0, 2, 2]
    assert used["pair"].tolist() == [0, 0, 1, 1, 2, 2, 3, 3]
    assert used.index.tolist() == list(range(8))


def test_what_is_set_aside_is_told_run_by_run() -> None:
    rows = [*double(number=1), *double(number=2)[:1], *double(number=3), *double(number=4)]
    frame = runs(*rows, set_aside=["", "", "", "a wake", "", "", ""])
    used, aside = select(frame, paired=True, reciprocal_within=15.0)
    assert used["row"].tolist() == [2, 3, 7, 8]
    assert [(one.row, one.double_run, one.direction) for one in aside] == [
        (4, 2, "out"), (5, 3, "out"), (6, 3, "back"),
    ]  # fmt: skip
    assert [one.reason for one in aside] == [
        "half a double run: double run 2 has no run back", "a wake",
        "half a double run: double run 3 has no run out",
    ]  # fmt: skip
    assert (aside[0].session, aside[0].set_point) == ("S1", 1000.0)
    plain, left = select(frame, paired=False, reciprocal_within=15.0)
    assert len(plain) == 6
    assert [one.reason for one in left] == ["a wake"]
    unnumbered = runs(*double(), set_aside=["x", ""], double_run=[NAN, NAN], direction=["", "out"])
    _, without = select(unnumbered, paired=False, reciprocal_within=15.0)
    assert (without[0].double_run, without[0].direction) == (None, "")


@pytest.mark.parametrize(
    ("sign", "heading", "told"),
    [
        ([1, -1], [NAN, NAN], ""),
        ([1, NAN], [NAN, NAN], "double run 7 has a run without direction or heading"),
        ([1], [NAN], "half a double run: double run 7 has no run back"),
        ([-1], [NAN], "half a double run: double run 7 has no run out"),
        ([1, 1], [NAN, NAN], "half a double run: every run of double run 7 went out"),
        ([-1, -1, -1], [NAN] * 3, "half a double run: every run of double run 7 went back"),
        ([1, -1, 1], [NAN] * 3, "double run 7 has 3 runs; a double run is one out and one back"),
        ([1, -1], [10.0, 205.0], ""),  # 15 off: the limit itself
        ([1, -1], [205.0, 10.0], ""),
        ([1, -1], [355.0, 190.0], ""),
        (
            [1, -1],
            [10.0, 206.0],
            "headings 10 and 206 deg are 16 deg off opposite; the limit is 15 deg",
        ),
        (
            [1, -1],
            [10.0, 174.0],
            "headings 10 and 174 deg are 16 deg off opposite; the limit is 15 deg",
        ),
        ([1, -1], [10.0, NAN], ""),
    ],
)
def test_why_runs_are_no_double_run(sign: list[float], heading: list[float], told: str) -> None:
    assert _not_whole(np.array(sign, float), np.array(heading), "7", 15.0) == told


@pytest.mark.parametrize("axis", [0.0, 40.0, 100.0, 200.0, 300.0])
def test_a_heading_tells_the_way_on_the_course_line(axis: float) -> None:
    """Out is the way the first run went; 89 degrees off it is still out, 91 is back."""
    way = axis + np.array([0.0, 180.0, 5.0, 175.0, -5.0, 185.0])
    frame = pd.DataFrame({"direction": [""] * 6, "heading": way % 360})
    assert directions(frame).tolist() == [1.0, -1.0, 1.0, -1.0, 1.0, -1.0]
    worded = pd.DataFrame({"direction": ["", "back", ""], "heading": [axis, axis, NAN]})
    assert directions(worded)[:2].tolist() == [1.0, -1.0]
    assert np.isnan(directions(worded)[2])
    assert [_direction_word(each) for each in (1.0, -1.0, NAN)] == ["out", "back", ""]


# --- cells ---------------------------------------------------------------------------------------


def test_plain_means_keep_the_digits_of_large_values() -> None:
    """A billion and tenths: sums of squares of the values themselves would have lost them."""
    values = 1e9 + np.array([0.1, 0.3, 7.0, 0.2])
    cells = by_single_runs(values, np.array([0, 0, 1, 0]))
    assert_allclose(cells.value - 1e9, [0.2, 7.0], atol=1e-6)
    assert_allclose(cells.scatter, [0.02, 0.0], atol=1e-6)


def test_double_runs_in_two_cells() -> None:
    """Means 6 and 8 in one, 20 in the other."""
    pair, cell = np.array([0, 1, 0, 1, 2, 2]), np.array([0, 0, 0, 0, 1, 1])
    found = by_double_runs(np.array([5.0, 9, 7, 7, 21, 19]), pair, cell)
    assert_allclose(found.value, [7.0, 20.0])
    assert_allclose(found.factor, [1 / 4, 1 / 2])
    assert_allclose(found.scatter, [4.0, 0.0])
    assert_allclose(found.df, [1.0, 0.0])


def test_the_mean_of_means_weighs_by_the_binomials_in_order_of_time() -> None:
    """1, 3, 3 and 1 eighths; a factor of 20 / 64. Where runs do not alternate the plain mean stands."""
    assert_allclose(binomial_weights(4), np.array([1, 3, 3, 1]) / 8)
    assert mean_of_means([8.0, 16.0]) == 12.0
    speed = np.array([1.0, 5.0, 3.0, 9.0] * 2)
    sign = np.array([1.0, 1, -1, -1, 1, 1, -1, -1])
    seconds = np.array([0.0, 2, 1, 3, 0, 1, 2, 3])
    pair = np.array([0, 1, 0, 1, 2, 3, 2, 3])
    cells, plain = by_mean_of_means(speed, sign, seconds, pair, np.repeat([0, 1], 4))
    assert plain == [1]
    assert_allclose(cells.value, [(1 + 3 * 3 + 3 * 5 + 9) / 8, 4.5])
    assert_allclose(cells.factor, [20 / 64, 1 / 4])
    assert_allclose(cells.scatter, [2 * 2 * 2.5**2] * 2)  # means of double runs 2 and 7
    with pytest.raises(ReductionError, match="1 run"):
        mean_of_means([1.0])


def test_a_tide_fit_by_least_squares_written_out() -> None:
    """Speeds and a straight current together: two cells, eight runs."""
    rng = np.random.default_rng(4)
    sign, seconds = np.tile([1.0, -1.0], 4), np.arange(8) * 100.0
    cell = np.repeat([0, 1], 4)
    speed = (
        np.array([10.0, 14.0])[cell] + sign * (0.3 + 0.4 * seconds / 700) + rng.normal(0, 0.02, 8)
    )
    cells, curve, residuals = tide_fit(speed, sign, seconds, cell)
    degree = curve.degree
    scaled = 2 * seconds / 700 - 1
    design = np.column_stack([cell == 0, cell == 1, *(sign * scaled**k for k in range(degree + 1))])
    fit, *_ = np.linalg.lstsq(design, speed, rcond=None)
    left = speed - design @ fit
    df = 8 - 2 - degree - 1
    assert_allclose(cells.value, fit[:2])
    assert_allclose(residuals, left, atol=1e-9)
    inverse = np.linalg.inv(design.T @ design)
    assert_allclose(cells.factor, np.diag(inverse)[:2])
    assert curve.residual_df == df
    assert_allclose(cells.scatter, [(left[cell == c] ** 2).sum() for c in (0, 1)])
    hat = np.einsum("ni,ij,nj->n", design, inverse, design)
    assert_allclose(cells.df, [(1 - hat[cell == c]).sum() for c in (0, 1)])
    assert cells.df.sum() == pytest.approx(df)
    assert (curve.start, curve.end) == (0.0, 700.0)
    at, error = curve.at([0.0, 350.0])
    powers = np.array(
        [[(-1.0) ** k for k in range(degree + 1)], [0.0**k for k in range(degree + 1)]]
    )
    assert_allclose(at, powers @ fit[2:])
    covariance = inverse[2:, 2:] * (left @ left) / df
    assert_allclose(error, np.sqrt(np.einsum("ni,ij,nj->n", powers, covariance, powers)))


def test_runs_at_one_moment_have_a_span_of_a_second() -> None:
    curve = CurrentCurve(100.0, 100.0, np.array([0.5, 1.0]), np.zeros((2, 2)), 1.0)
    assert_allclose(curve.at([100.0, 100.5, 101.0])[0], [-0.5, 0.5, 1.5])
    whole = CurrentCurve(100.0, 102.0, np.array([0.5, 1.0]), np.zeros((2, 2)), 1.0)
    assert_allclose(whole.at([100.0, 101.0, 102.0])[0], [-0.5, 0.5, 1.5])


@pytest.mark.parametrize("true", [0, 1, 2, 3])
def test_the_degree_is_the_one_with_the_least_criterion(true: int) -> None:
    """Hurvich and Tsai's, n log(s) + 2 p n / (n - p - 1), over the freedom left by the cells."""
    rng = np.random.default_rng(10 + true)
    n_cells, n = 4, 24
    sign, seconds, cell = np.tile([1.0, -1.0], 12), np.arange(24.0), np.repeat(np.arange(4), 6)
    scaled = 2 * seconds / 23 - 1
    speed = 10 + cell + sign * scaled**true + rng.normal(0, 0.05, n)
    indicators = (cell[:, None] == np.arange(4)).astype(float)
    criteria = []
    for degree in range(7):
        design = np.column_stack([indicators, *(sign * scaled**k for k in range(degree + 1))])
        left = speed - design @ np.linalg.lstsq(design, speed, rcond=None)[0]
        free, p = n - n_cells, degree + 2
        criteria.append(free * np.log(left @ left / free) + 2 * p * free / (free - p - 1))
    _, curve, _ = tide_fit(speed, sign, seconds, cell)
    assert curve.degree == int(np.argmin(criteria))
    assert curve.degree >= true


def test_no_more_is_fitted_than_the_runs_can_carry() -> None:
    """Four runs in one cell: three free, so a level alone, whatever the current does."""
    sign, seconds, cell = np.tile([1.0, -1.0], 2), np.arange(4.0), np.zeros(4, int)
    _, curve, _ = tide_fit(10 + sign * seconds**2, sign, seconds, cell)
    assert curve.degree == 0
    assert curve.residual_df == 2.0
    # Without a degree of freedom left nothing is known of the error.
    two, level, _ = tide_fit(np.array([10.5, 9.5]), sign[:2], seconds[:2], cell[:2])
    assert (level.degree, level.residual_df, level.covariance.tolist()) == (0, 0.0, [[0.0]])
    assert_allclose(two.value, [10.0])
    assert_allclose(level.coefficients, [0.5])
    # A current that is fitted exactly is not looked at more closely than rounding allows.
    many = np.tile([1.0, -1.0], 12)
    _, exact, _ = tide_fit(10 + 0.5 * many, many, np.arange(24.0), np.zeros(24, int))
    assert exact.degree == 0
    with pytest.raises(ReductionError, match="one direction only"):
        tide_fit(np.ones(4), np.array([1.0, -1, 1, 1]), seconds, np.array([0, 0, 1, 1]))
    assert currents.MAX_DEGREE == 6


# --- a trial's runs ------------------------------------------------------------------------------


def reduced(
    *rows: Any, method: str = "double_run", one_way: bool = False, **more: Any
) -> Reduction:
    return reduce_runs(runs(*rows, **more), method=method, one_way=one_way)


def test_without_a_speed_or_without_runs_there_is_no_current() -> None:
    frame = runs(*double(), *double(point=2000), fuel_flow=7.0)
    none = reduce_runs(frame.drop(columns="speed_over_ground"), method="double_run", one_way=False)
    assert none.speed is None
    assert none.cells == (("S1", 1000.0), ("S1", 2000.0))
    assert np.isnan(none.current_of_run).all()
    half = reduced(*double()[:1])
    assert (half.speed, half.cells, len(half.set_aside)) == (None, (), 1)
    assert by_another_method(none) is None
    gone = reduced(*double(), speed_over_ground=[NAN, 1.0])
    assert gone.speed is None
    assert gone.notes == (
        "runs without a speed over ground were left out of the speed, with their partners",
    )


def test_each_method_names_itself_and_the_current_it_found() -> None:
    rows = [each for n in range(1, 5) for each in double(number=n, minute=10 * n)]
    for method in ("double_run", "mean_of_means", "tide_fit"):
        found = reduced(*rows, method=method)
        assert found.method == method
        assert found.speed is not None
        assert_allclose(found.speed.value, [10.0])
        assert_allclose(found.current_of_run, 0.5)
        assert found.notes == ()
        assert len(found.outings) == (method == "tide_fit")
    plain = reduced(*rows, method="none")
    assert plain.speed is not None
    assert_allclose(plain.speed.value, [10.0])
    assert np.isnan(plain.current_of_run).all()
    assert_allclose(plain.speed.df, [7.0])
    assert reduced(*rows, method="none", one_way=True).method == "none"
    way = reduced(*rows[::2], method="tide_fit", one_way=True)
    assert (way.method, way.speed, way.set_aside) == ("one_way", None, ())


def test_another_method_is_the_one_that_assumes_less_or_more() -> None:
    rows = [each for n in range(1, 5) for each in double(number=n, minute=10 * n)]
    for method, other in (
        ("tide_fit", "double_run"),
        ("mean_of_means", "double_run"),
        ("double_run", "tide_fit"),
    ):
        found = by_another_method(reduced(*rows, method=method))
        assert found is not None
        assert found.method == other
        assert found.notes == ()
    assert by_another_method(reduced(*rows, method="none")) is None
    # A tide fit wants the start of every run, and cannot be tried without.
    undated = [each for n in range(1, 5) for each in double(number=n, minute=None)]
    assert by_another_method(reduced(*undated)) is None


def test_missing_starts_are_counted() -> None:
    rows = [*double(), *double(number=2, minute=None), *double(number=3, minute=60)]
    found = reduced(*rows, method="tide_fit")
    assert found.method == "double_run"
    assert "it is missing on 2 of 6 runs" in found.notes[0]
    assert reduced(*rows, method="double_run").notes == ()


@pytest.mark.parametrize(("cells", "more"), [(6, ""), (8, " and 2 more")])
def test_cells_that_do_not_alternate_are_named_up_to_six(cells: int, more: str) -> None:
    rows = []
    for c in range(cells):
        (a, b), (d, e) = double(point=1000 + c, number=1), double(point=1000 + c, number=2)
        for minute, run in enumerate((a, d, b, e)):
            rows.append((*run[:4], 40 * c + minute, run[5]))
    found = reduced(*rows, method="mean_of_means")
    named = ", ".join(f"S1 at {1000 + c}" for c in range(6))
    assert found.notes[0].endswith(f"stands for the mean of means: {named}{more}")


def test_cells_found_among_some_are_laid_out_over_all() -> None:
    found = by_single_runs(np.array([4.0, 6.0, 9.0]), np.array([0, 0, 1]))
    wide = _spread(found, np.array([1, 1, 3]), 5)
    assert_allclose(wide.value, [NAN, 5.0, NAN, 9.0, NAN])
    assert_allclose(wide.factor, [NAN, 0.5, NAN, 1.0, NAN])
    assert wide.scatter.tolist() == [0.0, 2.0, 0.0, 0.0, 0.0]
    assert wide.df.tolist() == [0.0, 1.0, 0.0, 0.0, 0.0]


def test_an_outing_ends_where_more_than_two_hours_pass() -> None:
    seconds = np.array([OUTING_GAP + 100.0, 0.0, 2 * OUTING_GAP + 100.1, 100.0])
    assert [part.tolist() for part in split_outings(seconds)] == [[0, 1, 3], [2]]
    assert OUTING_GAP == 7200.0


def test_a_measure_without_current_is_the_mean_of_its_double_runs() -> None:
    rows = [*double(number=1), *double(number=2, minute=20), *double(point=2000, minute=40)]
    flow = [4.0, 6.0, 9.0, 9.0, NAN, 20.0]
    found = reduce_measure(reduced(*rows, fuel_flow=flow), "fuel_flow")
    assert_allclose(found.value, [7.0, NAN])
    assert_allclose(found.factor, [1 / 4, NAN])
    assert found.scatter.tolist() == [16.0, 0.0]
    plain = reduce_measure(reduced(*rows, fuel_flow=flow, method="none"), "fuel_flow")
    assert_allclose(plain.value, [7.0, 20.0])
    assert_allclose(plain.factor, [1 / 4, 1.0])
    assert_allclose(plain.scatter, [9.0 + 1 + 4 + 4, 0.0])
    none = reduce_measure(reduced(*rows, fuel_flow=NAN), "fuel_flow")
    assert np.isnan(none.value).all()
    assert none.df.tolist() == [0.0, 0.0]
