"""The table of session values: its scale, its run noise, and what curves in it may be off by."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from invented_runs import table
from numpy.testing import assert_allclose

from slackwater.analysis.quantities.session_values import CurveErrors, errors_common

NAN = np.nan
LEAST_PART = 0.75  # as chosen by simulation, see the module
ONE, OTHER = np.array([True, True, False, False]), np.array([False, False, True, True])


def curves(
    signed: list[list[float]], gaps: tuple[int, int] = (3, 3), rest: object = None
) -> CurveErrors:
    """Two sessions a side, one position; what each side's curve is off by."""
    rows = np.array([signed[0], signed[0], signed[1], signed[1]])[:, None, :]
    gap = np.array([gaps[0], gaps[0], gaps[1], gaps[1]])[:, None]
    return CurveErrors(
        gap, rows, np.zeros((4, 1)) if rest is None else np.array(rest, float)[:, None]
    )


def test_alike_curves_are_off_by_their_difference_and_at_least_a_part_of_each() -> None:
    """Off by 3 and 7 on the same side: 4, and no less than the part of both, 9 + 49."""
    found = curves([[3.0, 0.0], [7.0, 0.0]]).of_difference(ONE, OTHER)
    assert_allclose(found, [LEAST_PART**2 * 58])
    # On opposite sides 10 is more than that part.
    assert_allclose(curves([[3.0, 0], [-7.0, 0]]).of_difference(ONE, OTHER), [100.0])
    # The largest of the neighbours counts, of the difference as of each.
    assert_allclose(curves([[3.0, 1.0], [-7.0, -20.0]]).of_difference(ONE, OTHER), [441.0])


def test_curves_read_between_other_set_points_are_off_apart() -> None:
    found = curves([[3.0, 0.0], [-7.0, 0.0]], gaps=(3, 4)).of_difference(ONE, OTHER)
    assert_allclose(found, [58.0])


def test_what_does_not_cancel_is_added_of_both_sides() -> None:
    found = curves([[0.0, 0.0], [0.0, 0.0]], rest=[1.0, 4.0, 2.0, NAN]).of_difference(ONE, OTHER)
    assert_allclose(found, [4.0 + 2.0])


def test_a_session_that_does_not_reach_takes_nothing_away() -> None:
    plain = curves([[3.0, 0.0], [-7.0, 0.0]])
    signed, gap = plain.signed.copy(), plain.gap.copy()
    signed[[0, 2]], gap[[0, 2]] = NAN, 9
    assert_allclose(replace(plain, signed=signed, gap=gap).of_difference(ONE, OTHER), [100.0])
    signed[1] = NAN  # nothing is known of the one side
    assert_allclose(replace(plain, signed=signed).of_difference(ONE, OTHER), [49.0])


def test_some_positions_alone() -> None:
    whole = CurveErrors(
        np.arange(6).reshape(2, 3), np.arange(12.0).reshape(2, 3, 2), np.ones((2, 3))
    )
    found = whole.at_positions(np.array([2, 0]))
    assert found.gap.tolist() == [[2, 0], [5, 3]]
    assert found.signed[:, :, 0].tolist() == [[4.0, 0.0], [10.0, 6.0]]
    assert found.rest.shape == (2, 2)


def test_a_table_is_known_by_where_it_was_read() -> None:
    speed = table([[1.0]], labels=("top speed",))
    assert speed.key == "speed"
    assert replace(speed, kind="equal speed").key == "speed at equal speed"
    assert replace(speed, kind="whole sweep").key == "speed by top speed"


def test_ratios_are_compared_by_their_logarithms() -> None:
    found = table([[np.e, 0.0], [-1.0, 1.0]])
    assert_allclose(found.on_scale(), [[1.0, NAN], [NAN, 0.0]])
    assert_allclose(replace(found, scale="difference").on_scale(), found.values)


def test_the_run_noise_of_a_position_is_the_mean_over_the_sessions_that_have_it() -> None:
    found = table([[2.0, 5.0], [4.0, NAN]], run_variance=np.array([[1.0, NAN], [8.0, 3.0]]))
    assert_allclose(found.run_variance_on_scale(), [(1 / 4 + 8 / 16) / 2, 0.0])
    plain = replace(found, scale="difference")
    assert_allclose(plain.run_variance_on_scale(), [4.5, 0.0])


def test_curves_add_to_a_mean_what_cancels_in_a_difference() -> None:
    curve = np.array([[1.0, 2.0], [3.0, NAN], [9.0, 9.0]])
    found = table(np.ones((3, 2)), curve_variance=curve, level_variance=10 * curve)
    mine = np.array([True, True, False])
    assert_allclose(found.curve_variance_of(mine), [3.0, 2.0])
    assert_allclose(found.curve_variance_of(mine, level=True), [33.0, 22.0])
    assert_allclose(found.curve_variance_of(~mine & mine), [0.0, 0.0])
    assert_allclose(table(np.ones((3, 2))).curve_variance_of(mine, level=True), [0.0, 0.0])
    only_level = table(np.ones((3, 2)), level_variance=curve)
    assert_allclose(only_level.curve_variance_of(mine, level=True), [3.0, 2.0])
    assert_allclose(only_level.curve_variance_of(mine), [0.0, 0.0])


def test_of_a_table_that_says_no_more_nothing_else_is_so() -> None:
    plain = table([[1.0]])
    assert (plain.common_errors, plain.untestable, plain.kind, plain.beyond) == (
        False,
        "",
        "set points",
        (),
    )


def test_errors_are_common_where_all_that_carry_any_say_so() -> None:
    carries = table([[1.0]], instrument_variance=np.array([1e-4]), common_errors=True)
    apart, none = replace(carries, common_errors=False), table([[1.0]])
    assert errors_common(carries, none) is True
    assert errors_common(carries, apart) is False
    assert errors_common(apart) is errors_common(none) is errors_common() is False
