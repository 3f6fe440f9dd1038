"""Control charts and tables of laboratories on numbers that are plain.

What these are as a whole is held against published tables and other libraries in tests/reference; here stand
the ends of their ranges, their defaults and what they say where there is nothing to tell.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics.agreement import (
    intraclass,
)
from slackwater.analysis.statistics.control_chart import (
    D2,
    D4,
    E2,
    ChartError,
    control_chart,
    cumulative_sums,
)
from slackwater.analysis.statistics.crossed import between_groups
from slackwater.analysis.statistics.interlaboratory import (
    LIMIT,
    TableError,
    cochran,
    critical_h,
    critical_k,
    grubbs,
    interlaboratory,
    reproducibility_variance,
)
from slackwater.analysis.statistics.panel import (
    panel_of,
)
from slackwater.analysis.statistics.tries import standings
from slackwater.analysis.statistics.two_outliers import chance_of_two, grubbs_two

NAN = np.nan


# --- charts ----------------------------------------------------------------------------------------


STEADY = [10.0, 11.0] * 5  # mean 10.5, every moving range 1


def test_a_chart_of_what_is_told() -> None:
    found = control_chart([*STEADY, 10.5, 14.0, 10.0, 7.0])
    assert found.reference == 10  # ten at least
    assert (found.centre, found.deviation) == pytest.approx((10.5, 1 / D2))
    assert (found.low, found.high) == pytest.approx((10.5 - E2, 10.5 + E2))
    assert found.range_limit == pytest.approx(D4)
    assert found.beyond == (11, 13)
    assert found.wide == (11, 12)  # 3.5 and 4; 3 is none
    assert found.ranges[-4:].tolist() == [0.5, 3.5, 4.0, 3.0]
    # Sums begin at nought after the state in control: 3.5, -0.5 and -3.5 from the centre.
    assert found.upper[:11].tolist() == [0.0] * 11
    off = np.array([3.5, -0.5, -3.5]) * D2
    assert_allclose(found.upper[11:], [off[0] - 0.5, off[0] + off[1] - 1, 0.0])
    assert_allclose(found.lower[11:], [0, -off[1] - 0.5, -off[1] - off[2] - 1])
    assert control_chart(STEADY * 6).reference == 20  # a third of sixty
    assert control_chart(STEADY[:6]).reference == 6
    assert control_chart(STEADY, reference=5).reference == 5


def test_the_state_in_control_alone_tells_the_limits() -> None:
    """Ranges of 2, 1, 4 and 3 of the first five values; that to the sixth is none of theirs."""
    found = control_chart([1.0, 3.0, 2.0, 6.0, 3.0, 90.0], reference=5)
    assert (found.centre, found.deviation) == pytest.approx((3.0, 2.5 / D2))
    assert (found.low, found.high) == pytest.approx((3.0 - E2 * 2.5, 3.0 + E2 * 2.5))
    assert found.range_limit == pytest.approx(D4 * 2.5)


def test_a_moving_average_is_held_within_its_own_limits() -> None:
    found = control_chart([*STEADY, 20.0])
    average, last = [], 10.5
    for value in [*STEADY, 20.0]:
        last = 0.2 * value + 0.8 * last
        average.append(last)
    assert_allclose(found.average, average)
    steps = 1 - 0.8 ** (2 * np.arange(1, 12))
    half = 2.86 / D2 * np.sqrt(0.2 / 1.8 * steps)
    assert_allclose(found.average_high, 10.5 + half)
    assert_allclose(found.average_low, 10.5 - half)
    assert found.average_beyond == (10,)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_shift_begins_after_the_sum_last_stood_at_nought(sign: float) -> None:
    values = np.array([*STEADY, 10.5, 12.5, 12.4, 12.6, 12.5])
    found = control_chart(sign * values).shift
    assert found is not None
    # 2 above are 2.26 deviations, 1.76 beyond the slack: 5.1 after the third.
    assert (found.told_at, found.begins_at) == (13, 11)
    assert found.size == pytest.approx(sign * (12.5 - values[:11].mean()))
    known = stats.ttest_ind(sign * values[11:], sign * values[:11]).confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((known.low, known.high))
    assert control_chart([*STEADY, 10.5, 11.0]).shift is None


def test_a_shift_of_one_value_has_a_size_and_no_interval() -> None:
    found = control_chart([*STEADY, 20.0]).shift
    assert found is not None
    assert (found.told_at, found.begins_at) == (10, 10)
    assert found.size == pytest.approx(9.5)
    assert np.isnan([found.low, found.high]).all()
    two = control_chart([*STEADY, 20.0, 20.5]).shift
    assert two is not None
    assert np.isfinite([two.low, two.high]).all()


def test_what_no_chart_can_be_made_of() -> None:
    assert control_chart(STEADY[:5]).reference == 5
    for values, reference, told in (
        (STEADY[:4], None, "4 values, 4 of them"), (STEADY, 4, "10 values, 4 of them"),
        (STEADY, 11, "10 values, 11 of them"), ([*STEADY, NAN], None, "a value is missing"),
        ([1.0] * 5 + STEADY, 5, "all the same"),
    ):  # fmt: skip
        with pytest.raises(ChartError, match=told):
            control_chart(values, reference)
    upper, lower = cumulative_sums(np.array([1.0, 2.0, -4.0]), slack=0.25)
    assert (upper.tolist(), lower.tolist()) == ([0.75, 2.5, 0.0], [0.0, 0.0, 3.75])


# --- laboratories ----------------------------------------------------------------------------------


def test_a_table_of_two_laboratories() -> None:
    """1, 3 and 7, 9: variance of 2 within; of the means 18, less 1 that comes from within."""
    found = interlaboratory([[1.0, 3.0], [7.0, 9.0]])
    assert (found.mean, found.repeatability**2) == pytest.approx((5.0, 2.0))
    assert found.laboratory_deviation**2 == pytest.approx(18.0)
    assert found.reproducibility**2 == pytest.approx(17.0 + 2.0)
    assert_allclose(found.h, np.array([-1, 1]) / np.sqrt(2))
    assert_allclose(found.k, [1.0, 1.0])
    assert found.repeatability_limit == pytest.approx(LIMIT * np.sqrt(2))
    assert found.reproducibility_limit == pytest.approx(LIMIT * np.sqrt(19))
    assert pytest.approx(stats.norm.ppf(0.975) * np.sqrt(2)) == LIMIT
    uneven = interlaboratory([[1.0, 3.0, 5.0], [9.0], [2.0, 2.0]])
    assert uneven.mean == pytest.approx(22 / 6)
    assert_allclose(uneven.k, [2 / np.sqrt(8 / 3), NAN, 0.0])
    same = interlaboratory([[1.0, 3.0], [3.0, 1.0]])
    assert same.h.tolist() == [0.0, 0.0]
    assert same.reproducibility**2 == pytest.approx(2.0)  # never below what one result has
    assert interlaboratory([[1.0, 1.0], [2.0, 2.0]]).k.tolist() == [0.0, 0.0]
    assert reproducibility_variance(3.0, 4.0, 2.0) == 5.0
    assert reproducibility_variance(1.0, 4.0, 2.0) == 4.0


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ([[1.0, 2.0]], "a table of 1 laboratories with 2 results at most"),
        ([[1.0], [2.0]], "2 laboratories with 1 results"),
        ([], "a table of 0 laboratories with 0 results"),
        ([[[1.0, 2.0]], [[2.0, 1.0]]], "two results of one, are needed"),
        ([[1.0, 2.0], []], "a result is missing"),
        ([[1.0, 2.0], [NAN]], "a result is missing"),
    ],
)
def test_what_is_no_table_of_laboratories(table: list, told: str) -> None:  # type: ignore[type-arg]
    with pytest.raises(TableError, match=told):
        interlaboratory(table)


def test_critical_values_are_those_of_student_and_fisher() -> None:
    """ASTM E691, table of critical values at 0.5 %: h 2.15 for 8 laboratories, k 2.06 of 3 results each."""
    assert critical_h(8) == pytest.approx(2.15, abs=0.005)
    assert critical_k(8, 3) == pytest.approx(2.06, abs=0.005)
    assert critical_h(8, 0.05) < critical_h(8)
    # k as often passed as it says: its square over p is a beta variable.
    k = critical_k(6, 4, 0.02)
    assert stats.beta.sf(k**2 / 6, 3 / 2, 5 * 3 / 2) == pytest.approx(0.02)
    h = critical_h(6, 0.02)
    assert 2 * stats.t.sf(h * np.sqrt(6 * 4 / (5**2 - 6 * h**2)), 4) == pytest.approx(0.02)


def test_cochran_and_grubbs_by_hand() -> None:
    part, p = cochran([2.0, 6.0, 2.0], 4)
    assert part == pytest.approx(0.6)
    assert p == pytest.approx(3 * stats.f.sf(2 * 0.6 / 0.4, 4, 8))
    assert cochran([1.0, 1.0, 1.0], 4)[1] == 1.0
    for nothing in (([1.0], 4), ([0.0, 0.0], 4), ([1.0, 2.0], 0)):
        assert np.isnan(cochran(*nothing)[0])
        assert cochran(*nothing)[1] == 1.0
    assert cochran([1.0, 0.0], 4) == (1.0, 0.0)
    values = np.array([1.0, 2.0, 3.0, 4.0, 11.0])
    size, index, p = grubbs(values)
    assert (size, index) == (pytest.approx(6.8 / values.std(ddof=1)), 4)
    t = size * np.sqrt(3 / (16 / 5 - size**2))
    assert p == pytest.approx(min(10 * stats.t.sf(t, 3), 1))
    assert grubbs(-values)[1:] == (4, pytest.approx(p))
    assert grubbs([1.0, 2.0]) == grubbs([3.0, 3.0, 3.0]) == (0.0, 0, 1.0)
    assert grubbs([1.0, 2.0, 4.0])[0] > 1


@pytest.mark.parametrize("count", [4, 7, 25])
def test_some_pair_is_always_the_largest(count: int) -> None:
    """However much of the squares two may leave, two are the largest: a chance of one."""
    assert chance_of_two(1.0, count) == pytest.approx(1.0, abs=2e-4)
    assert chance_of_two(0.0, count) == 0.0
    assert chance_of_two(2.0, count) == chance_of_two(1.0, count)
    assert chance_of_two(-1.0, count) == 0.0


@pytest.mark.parametrize("unit", [1e-4, 1e4])
def test_another_unit_changes_no_chance(unit: float) -> None:
    values = np.array([0.0, 0.1, 5.0, 5.5, 6.0, 7.0])
    two, known = grubbs_two(unit * values), grubbs_two(values)
    assert (two[0], two[2]) == pytest.approx((known[0], known[2]))
    assert two[1] == known[1]
    assert grubbs(unit * values) == pytest.approx(grubbs(values))
    assert cochran(unit * values, 4) == pytest.approx(cochran(values, 4))
    table = [[4.1, 4.3, 4.0], [4.6, 4.4], [3.9, 4.0, 4.1, 4.3]]
    one, other = interlaboratory(table), interlaboratory([unit * np.array(each) for each in table])
    assert_allclose(other.h, one.h)
    assert (other.reproducibility / unit, other.mean / unit) == pytest.approx(
        (one.reproducibility, one.mean)
    )
    assert_allclose(other.k, one.k)
    steady = control_chart([*STEADY, 10.5, 12.5, 12.4, 12.6, 12.5])
    chart = control_chart(unit * steady.values)
    assert (chart.beyond, chart.wide, chart.average_beyond) == (
        steady.beyond,
        steady.wide,
        steady.average_beyond,
    )
    assert chart.shift is not None
    assert steady.shift is not None
    assert (chart.shift.begins_at, chart.shift.size / unit) == pytest.approx(
        (steady.shift.begins_at, steady.shift.size)
    )
    scores = np.array([[1.0, 2.5], [2.0, 2.0], [4.0, 5.0], [3.0, 3.5]])
    assert panel_of(unit * scores).agreement_p == pytest.approx(panel_of(scores).agreement_p)
    assert intraclass(unit * scores)[0].low == pytest.approx(intraclass(scores)[0].low)
    assert standings(unit * values, np.zeros(6, int)) == pytest.approx(
        standings(values, np.zeros(6, int))
    )
    groups = list("aabbcc"), list("xyxyxy")
    crew, again = (
        between_groups(values.tolist(), *groups),
        between_groups((unit * values).tolist(), *groups),
    )
    assert again.p_value == pytest.approx(crew.p_value)
    assert again.rest == pytest.approx(unit * crew.rest)


def test_two_outliers_on_the_side_that_leaves_less() -> None:
    values = np.array([0.0, 0.1, 5.0, 5.5, 6.0, 7.0])
    ratio, two, p = grubbs_two(values)
    assert set(two) == {0, 1}
    assert ratio == pytest.approx(values[2:].var() * 4 / (values.var() * 6))
    assert p == pytest.approx(2 * chance_of_two(ratio, 6))
    assert grubbs_two([1.0, 2.0, 5.0, 9.0])[0] < 1  # four are enough
    assert grubbs_two([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0])[2] == 1.0
