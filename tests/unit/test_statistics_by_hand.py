"""Tries, charts, laboratories, panels, blinding and components of variance on numbers that are plain.

What these are as a whole is held against published tables and other libraries in tests/reference; here stand
the ends of their ranges, their defaults and what they say where there is nothing to tell.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics.agreement import (
    complete,
    intraclass,
    kendall_w,
    krippendorff_alpha,
)
from slackwater.analysis.statistics.blinding import bang_index, james_index, mean_bang_low
from slackwater.analysis.statistics.control_chart import (
    D2,
    D4,
    E2,
    ChartError,
    control_chart,
    cumulative_sums,
)
from slackwater.analysis.statistics.crossed import between_groups, connected
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
    agree,
    least_agreed,
    panel_of,
    ranks_within,
    shared_excess,
)
from slackwater.analysis.statistics.sequential import (
    boundary_constant,
    boundary_limits,
    crossing_probability,
    look_confidences,
)
from slackwater.analysis.statistics.t_power import t_power, t_power_unequal, t_sample_size
from slackwater.analysis.statistics.tries import levels_of, standings, trend_of
from slackwater.analysis.statistics.two_outliers import chance_of_two, grubbs_two
from slackwater.analysis.statistics.variance import (
    component_interval,
    difference_interval,
    mean_square_interval,
)

NAN = np.nan

# --- tries ---------------------------------------------------------------------------------------


def test_levels_of_tries_with_all_that_stands_behind_them() -> None:
    values = np.array([1.0, 3.0, 10.0, 4.0, 8.0, 20.0])
    session, way = np.array([0, 0, 0, 1, 1, 2]), np.array([0, 0, 1, 0, 0, 1])
    found = levels_of(values, session, way, 3, 2)
    assert found.counts.tolist() == [[2, 1], [2, 0], [0, 1]]
    assert_allclose(found.means, [[2.0, 10.0], [6.0, NAN], [NAN, 20.0]])
    assert_allclose(found.values, [6.0, NAN, NAN])
    # Squares 2 and 8 on two freedoms: six tries less the four cells that hold any.
    assert (found.scatter, found.df) == (5.0, 2.0)
    assert_allclose(found.variance, [5 * (1 / 2 + 1) / 4, NAN, NAN])
    single = levels_of(np.array([1.0, 5.0]), np.array([0, 0]), np.array([0, 1]), 1, 2)
    assert (single.scatter, single.df, single.values.tolist(), single.variance.tolist()) == (
        0.0,
        0.0,
        [3.0],
        [0.0],
    )
    three = levels_of(np.array([1.0, 2, 6]), np.zeros(3, int), np.arange(3), 1, 3)
    assert three.values.tolist() == [3.0]


def test_a_trend_takes_tries_enough() -> None:
    cell, order = np.array([0, 0, 0]), np.arange(3.0)
    slope, error, df = trend_of(np.array([0.0, 2.0, 1.0]), cell, order)
    known = stats.linregress(order, [0.0, 2.0, 1.0])
    assert (slope, error, df) == pytest.approx((known.slope, known.stderr, 1.0))
    more = trend_of(np.array([0.0, 2.0, 1.0, 5.0]), np.zeros(4, int), np.arange(4.0))
    theirs = stats.linregress(np.arange(4.0), [0.0, 2.0, 1.0, 5.0])
    assert more == pytest.approx((theirs.slope, theirs.stderr, 2.0))
    few = trend_of(np.array([0.0, 2.0]), cell[:2], order[:2])
    assert np.isnan(few[:2]).all()
    assert few[2] == 0.0
    alike = trend_of(np.array([0.0, 2.0, 1.0, 5.0]), np.zeros(4, int), np.ones(4))
    assert np.isnan(alike[:2]).all()
    assert alike[2] == 0.0


def test_a_try_stands_so_many_deviations_from_the_middle_of_its_like() -> None:
    """Off by -1, 0, 2 and -4, 0, 1: the middle of 0, 0, 1, 1, 2, 4 is 1, which is 1.4826 over the deviation."""
    found = standings(np.array([9.0, 10, 12, 96, 100, 101]), np.array([0, 0, 0, 1, 1, 1]))
    assert_allclose(found, np.array([-1, 0, 2, -4, 0, 1]) / 1.4826)
    small = standings(np.array([9.0, 10, 12, 96, 100, 101]) / 100, np.array([0, 0, 0, 1, 1, 1]))
    assert_allclose(small, found)
    assert standings(np.array([1.0, 1, 1, 9]), np.zeros(4, int)).tolist() == [0.0] * 4


# --- charts --------------------------------------------------------------------------------------

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


# --- laboratories --------------------------------------------------------------------------------


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


# --- agreement -----------------------------------------------------------------------------------


def test_coefficients_where_there_is_nothing_to_agree_on() -> None:
    for scores in (np.ones((1, 3)), np.ones((3, 1)), np.ones((3, 3))):
        assert np.isnan([each.value for each in intraclass(scores)]).all()
        assert np.isnan(kendall_w(scores)).any()
    assert krippendorff_alpha(np.array([[1.0, NAN], [NAN, 2.0]])) != krippendorff_alpha(
        np.ones((2, 2))
    )
    assert np.isnan(krippendorff_alpha(np.ones((2, 2))))
    assert np.isnan(krippendorff_alpha(np.array([[1.0, NAN], [NAN, 2.0]])))
    gaps = np.array([[1.0, NAN], [NAN, NAN], [2.0, 3.0]])
    assert complete(gaps).tolist() == [[1.0], [2.0]]


def test_raters_who_agree_wholly() -> None:
    scores = np.array([[1.0, 1.0], [2.0, 2.0], [4.0, 4.0]])
    single, mean = intraclass(scores)
    assert (single.value, single.low, single.high) == pytest.approx((1.0, 1.0, 1.0))
    assert (mean.value, mean.low, mean.high) == pytest.approx((1.0, 1.0, 1.0))
    assert kendall_w(scores)[0] == pytest.approx(1.0)
    assert kendall_w(np.array([[1.0, 1.0], [2.0, 2.0], [4.0, 4.0], [5.0, 5.0]]))[1] == 0.0
    for metric in ("nominal", "ordinal", "interval"):
        assert krippendorff_alpha(scores, metric) == pytest.approx(1.0)  # type: ignore[arg-type]
    # With two targets and two raters the approximation has no freedom.
    two = kendall_w(np.array([[1.0, 1.0], [2.0, 2.0]]))
    assert two[0] == pytest.approx(1.0)
    assert np.isnan(two[1])


def test_concordance_is_friedmans_with_ties_and_has_the_p_of_f() -> None:
    scores = np.array([[1.0, 2, 1], [2, 2, 3], [3, 3, 2], [4, 5, 4], [5, 4, 4]])
    w, p = kendall_w(scores)
    assert w == pytest.approx(stats.friedmanchisquare(*scores).statistic / (3 * 4))
    free = 4 - 2 / 3
    assert p == pytest.approx(stats.f.sf(2 * w / (1 - w), free, 2 * free))


def test_alpha_of_four_pairs() -> None:
    """1-1, 1-2, 2-2, 1-2: four scores of each. Apart in half the pairs; by chance in 4 / 7."""
    scores = np.array([[1.0, 1.0], [1.0, 2.0], [2.0, 2.0], [1.0, 2.0]])
    for metric in ("nominal", "interval", "ordinal"):
        assert krippendorff_alpha(scores, metric) == pytest.approx(1 - 0.5 / (4 / 7))  # type: ignore[arg-type]
    # A score that stands alone tells nothing.
    more = np.vstack([scores, [9.0, NAN]])
    assert krippendorff_alpha(more) == pytest.approx(1 - 0.5 / (4 / 7))


def test_an_average_of_raters_by_spearman_and_brown() -> None:
    scores = np.array([[9.0, 7, 8], [6, 5, 6], [8, 8, 7], [2, 4, 3]])
    single, mean = intraclass(scores, 0.9)
    for one, many in ((single.value, mean.value), (single.low, mean.low), (single.high, mean.high)):
        assert many == pytest.approx(3 * one / (1 + 2 * one))
    narrow = intraclass(scores, 0.5)[0]
    assert single.low < narrow.low < single.value < narrow.high < single.high
    # Raters who contradict each other: the mean has no coefficient above nought.
    # (0 - 2) over 0 + 2 + 2 / 3 of what raters have less than is left: -2 / (2 - 4 / 3).
    against = intraclass(np.array([[1.0, 3.0], [2.0, 2.0], [3.0, 1.0]]))[0]
    assert against.value == pytest.approx(-2 / (2 - 4 / 3))


# --- panels --------------------------------------------------------------------------------------


def test_a_panel_without_scores_or_links() -> None:
    empty = panel_of(np.full((2, 2), NAN))
    assert np.isnan(empty.values).all()
    assert (empty.residual_variance, empty.residual_df, empty.connected) == (0.0, 0.0, False)
    assert np.isnan(empty.agreement_p)
    apart = panel_of(np.array([[1.0, NAN], [2.0, NAN], [NAN, 3.0], [NAN, 5.0]]))
    assert not apart.connected
    linked = panel_of(np.array([[1.0, NAN], [2.0, 2.5], [NAN, 3.0]]))
    assert linked.connected
    # The second rater gives half a point more: means of both are 1.25, 2.25 and 2.75.
    assert_allclose(linked.values, [1.25, 2.25, 2.75])
    assert linked.residual_df == 0.0
    assert np.isnan(linked.agreement_p)


def test_raters_agree_by_f_or_plainly() -> None:
    alike = panel_of(np.array([[1.0, 2.0], [2.0, 3.0], [4.0, 5.0]]))
    assert (alike.agreement_p, alike.residual_df) == (0.0, 2.0)
    assert panel_of(np.array([[1.0, 2.0], [1.0, 2.0], [1.0, 2.0]])).agreement_p == 1.0
    assert np.isnan(panel_of(np.array([[1.0], [2.0], [4.0]])).agreement_p)
    scores = np.array([[1.0, 2.5], [2.0, 2.0], [4.0, 5.0], [NAN, NAN]])
    found = panel_of(scores)
    rows = scores[:3] - scores[:3].mean(axis=0) + scores[:3].mean()
    between = 2 * ((rows.mean(axis=1) - rows.mean()) ** 2).sum() / 2
    rest = ((rows - rows.mean(axis=1, keepdims=True)) ** 2).sum() / 2
    assert found.agreement_p == pytest.approx(stats.f.sf(between / rest, 2, 2))
    assert found.residual_variance == pytest.approx(rest)
    assert_allclose(found.values, [1.75, 2.0, 4.5, NAN])
    assert_allclose(found.covariance[:3, :3], np.eye(3) / 2, atol=1e-12)
    assert found.covariance[3].tolist() == [0.0] * 4


def test_levels_of_raters_cancel_where_all_scored_all() -> None:
    scores = np.array([[1.0, 2.5], [2.0, 2.0], [4.0, 5.0], [3.0, 3.5]])
    groups = np.array([[True, False, False, True], [False, True, True, False]])
    assert_allclose(shared_excess(panel_of(scores), groups), [0.0, 0.0], atol=1e-12)
    scores[0, 1] = NAN
    scores[2, 0] = NAN
    panel = panel_of(scores)
    found = shared_excess(panel, groups)
    for mine, excess in zip(groups, found, strict=True):
        weight = mine / 2 - 1 / 4
        of_errors = (
            weight @ panel.covariance @ weight - (weight**2 * np.diag(panel.covariance)).sum()
        )
        assert excess == pytest.approx(2 * max(of_errors, 0.0) * panel.residual_variance)
    assert (found > 0).any()
    assert shared_excess(panel, np.zeros((1, 4), bool)).tolist() == [0.0]
    assert shared_excess(panel_of(np.full((4, 2), NAN)), groups).tolist() == [0.0, 0.0]


def test_agreement_of_levels_is_the_f_of_their_scores() -> None:
    """Levels of a whole panel of three: agreed at the confidence that the F of all scores just has."""
    rng = np.random.default_rng(2)
    scores = rng.normal(0, 1, (5, 3)) + rng.normal(0, 1, (5, 1))
    panel = panel_of(scores)
    runs = panel.residual_variance / 3
    for confidence, agreed in (
        (1 - panel.agreement_p - 1e-6, True),
        (1 - panel.agreement_p + 1e-6, False),
    ):
        assert bool(agree(panel.values, np.array(runs), 3, confidence)) is agreed
        both = agree(np.stack([panel.values, 0 * panel.values]), np.full(2, runs), 3, confidence)
        assert both.tolist() == [agreed, False]
    assert not agree(panel.values, np.array(1e-9), 1, 0.95)
    assert not agree(panel.values[:1], np.array(1e-9), 3, 0.95)
    assert agree(panel.values[:2], np.array(0.0), 2, 0.95)


def test_so_far_apart_that_raters_just_agree() -> None:
    """Moving the one side by what is lacking brings F to its bound; nought where it is beyond already."""
    rng = np.random.default_rng(3)
    sides = np.array([[1, 0, 0, 1, 0], [0, 1, 1, 0, 0]], bool)
    values, runs = rng.normal(0, 0.1, (2, 5)), np.array([0.5, 0.4])
    found = least_agreed(values, runs, sides, 4, 0.95)
    moved = values - np.mean(values[:, sides[1]], axis=1, keepdims=True) * sides[1]
    moved += (np.mean(values[:, sides[0]], axis=1) + found)[:, None] * sides[1]
    # The fifth session and the middle of the two stay where they are in relation to each other.
    middle = (values[:, sides[0]].mean(axis=1) + values[:, sides[1]].mean(axis=1)) / 2
    now = (moved[:, sides[0]].mean(axis=1) + moved[:, sides[1]].mean(axis=1)) / 2
    moved[:, :4] += (middle - now)[:, None]
    squares = ((moved - moved.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
    assert_allclose(squares / 4 / runs, stats.f.ppf(0.95, 4, 12))
    assert least_agreed(values, runs / 1e6, sides, 4, 0.95).tolist() == [0.0, 0.0]
    assert least_agreed(values, runs, sides, 1, 0.95).tolist() == [np.inf, np.inf]
    assert least_agreed(values[:, :1], runs, sides[:, :1] | True, 4, 0.95).tolist() == [
        np.inf,
        np.inf,
    ]


def test_a_rater_who_scored_nobody_is_nobody() -> None:
    scores = np.array([[1.0, NAN, 2.5], [2.0, NAN, 2.0], [4.0, NAN, 5.0]])
    found, alone = panel_of(scores), panel_of(scores[:, [0, 2]])
    assert_allclose(found.values, alone.values)
    assert (found.residual_df, found.connected) == (alone.residual_df, True)
    assert found.agreement_p == pytest.approx(alone.agreement_p)
    assert panel_of(np.zeros((3, 2))).agreement_p == 1.0
    # A group that nobody scored stands between two that somebody did.
    groups = np.array([[True, False, False], [False] * 3, [False, True, False]])
    gaps = panel_of(np.array([[1.0, 2.5], [2.0, NAN], [NAN, 5.0]]))
    excess = shared_excess(gaps, groups)
    assert excess[1] == 0.0
    assert excess[2] == shared_excess(gaps, groups[[2]])[0]


def test_ranks_lie_about_nought() -> None:
    found = ranks_within(np.array([[1.0, NAN], [5.0, NAN], [5.0, 2.0], [NAN, NAN]]))
    assert_allclose(found, [[-2 / 3, NAN], [1 / 3, NAN], [1 / 3, 0.0], [NAN, NAN]])


# --- blinding ------------------------------------------------------------------------------------


def test_an_index_of_guesses_by_hand() -> None:
    """6 right, 2 wrong of 10: 0.4, with a variance of (0.8 - 0.16) / 10."""
    found = bang_index(6, 2, 2)
    half = stats.norm.ppf(0.975) * np.sqrt(0.064)
    assert (found.value, found.low, found.high) == pytest.approx((0.4, 0.4 - half, 0.4 + half))
    one = bang_index(6, 2, 2, 0.9, sides=1)
    assert one.high - one.value == pytest.approx(stats.norm.ppf(0.9) * np.sqrt(0.064))
    assert bang_index(9, 1, 0).high == 1.0
    assert bang_index(1, 9, 0).low == -1.0
    assert np.isnan(bang_index(0, 0, 0).value)
    counts = np.array([[6.0, 2.0, 2.0], [3.0, 5.0, 2.0]])
    error = np.sqrt(0.064 + (0.8 - 0.04) / 10) / 2
    assert mean_bang_low(counts) == pytest.approx(0.3 - stats.norm.ppf(0.95) * error)
    assert mean_bang_low(counts, 0.8) == pytest.approx(0.3 - stats.norm.ppf(0.8) * error)
    assert np.isnan(mean_bang_low(np.array([[1.0, 0, 0], [0, 0, 0]])))


def test_james_index_by_hand() -> None:
    """Of 20 guesses 4 unsure; of the 16, 5 wrong where chance gives half: (1 + 0.2 + 0.8 * -0.375) / 2."""
    counts = np.array([[6.0, 2.0, 2.0], [3.0, 5.0, 2.0]])
    sure, chance = 16, (8 * 7 + 8 * 9) / 16**2
    expected = (1 + 0.2 + 0.8 * (5 / sure - chance) / chance) / 2
    found = james_index(counts)
    assert found.value == pytest.approx(expected)
    wider = james_index(counts, 0.99)
    scale = stats.norm.ppf(0.995) / stats.norm.ppf(0.975)
    assert wider.value - wider.low == pytest.approx(scale * (found.value - found.low), rel=1e-6)
    assert np.isnan(james_index(np.zeros((2, 3))).value)
    assert wider.high - wider.value == pytest.approx(wider.value - wider.low)
    assert james_index(np.array([[0.0, 0, 9], [0, 0, 3]])).value == 1.0
    assert james_index(np.array([[3.0, 0, 1], [0, 0, 0]])).value == pytest.approx((1 + 0.25) / 2)
    clear = james_index(np.array([[9.0, 1.0, 0.0], [1.0, 9.0, 0.0]]))
    assert clear.low == 0.0
    assert james_index(np.array([[1.0, 1, 30], [1, 1, 30]])).high <= 1.0


# --- components ----------------------------------------------------------------------------------


def test_intervals_of_mean_squares_where_there_is_no_freedom() -> None:
    assert mean_square_interval(2.0, 0) is None
    low, high = mean_square_interval(2.0, 5, 0.9) or (0, 0)
    assert (low, high) == pytest.approx(
        (10 / stats.chi2.ppf(0.95, 5), 10 / stats.chi2.ppf(0.05, 5))
    )
    assert difference_interval(2.0, 0, 1.0, 5) is None
    for second, df in ((0.0, 5), (1.0, 0)):
        assert difference_interval(2.0, 5, second, df) == mean_square_interval(2.0, 5)
    ends = difference_interval(2.0, 5, 1.0, 8)
    assert ends is not None
    assert 0 <= ends[0] < 1.0 < ends[1]
    # Where chance made the first smaller, the upper end is as if both were alike.
    small, level = component_interval(0.5, 5, 1.0, 8), difference_interval(1.0, 5, 1.0, 8)
    assert small is not None
    assert level is not None
    assert small == (0.0, level[1])
    assert component_interval(2.0, 0, 1.0, 5) is None


@pytest.mark.parametrize(("df", "other", "confidence"), [(5, 8, 0.95), (3, 30, 0.9), (40, 2, 0.8)])
def test_the_difference_of_two_variances_where_its_interval_is_exact(
    df: float, other: float, confidence: float
) -> None:
    """Ting and others (1990): its ends pass nought just where Fisher's F does, and where one variance is as
    good as known they are those of the other."""
    tail = (1 - confidence) / 2
    for quantile, end in ((stats.f.isf(tail, df, other), 0), (stats.f.ppf(tail, df, other), 1)):
        at, beyond = (
            difference_interval(2 * quantile * more, df, 2.0, other, confidence)
            for more in (1, 1.001)
        )
        assert at is not None
        assert beyond is not None
        assert at[end] == pytest.approx(0.0, abs=1e-9)
        assert 0 < beyond[end] < 0.1 * quantile
    assert difference_interval(1e-9, df, 2.0, other, confidence) == (0.0, 0.0)
    first, second = (
        mean_square_interval(9.0, df, confidence),
        mean_square_interval(1.0, other, confidence),
    )
    assert first is not None
    assert second is not None
    known = difference_interval(9.0, df, 1.0, 1e9, confidence)
    assert known == pytest.approx((first[0] - 1, first[1] - 1), rel=1e-3)
    sure = difference_interval(90.0, 1e9, 1.0, other, confidence)
    assert sure == pytest.approx((90 - second[1], 90 - second[0]), rel=1e-3)
    one, ten = (difference_interval(8 * k, df, 3 * k, other, confidence) for k in (1.0, 10.0))
    assert one is not None
    assert ten == pytest.approx((10 * one[0], 10 * one[1]))


def test_groups_in_blocks_by_the_analysis_of_variance() -> None:
    """Two blocks, two groups, two values each: the mean squares and p of statsmodels."""
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    values = np.array([1.0, 2.0, 4.5, 5.0, 11.0, 12.5, 14.0, 15.0])
    blocks, groups = list("xxxxyyyy"), list("aabbaabb")
    frame = pd.DataFrame({"y": values, "b": blocks, "g": groups})
    theirs = anova_lm(smf.ols("y ~ C(b) + C(g)", frame).fit())
    found = between_groups(values.tolist(), blocks, groups)
    square, rest = theirs.loc["C(g)", "mean_sq"], theirs.loc["Residual", "mean_sq"]
    assert (found.df, found.rest_df) == (1.0, 5.0)
    assert found.rest == pytest.approx(np.sqrt(rest))
    assert found.p_value == pytest.approx(theirs.loc["C(g)", "PR(>F)"])
    assert found.value == pytest.approx(np.sqrt((square - rest) / 4))  # four values a group
    ends = component_interval(square, 1, rest, 5)
    assert ends is not None
    assert (found.low, found.high) == pytest.approx(tuple(np.sqrt(np.array(ends) / 4)))


def test_groups_that_nothing_tells_apart() -> None:
    alone = between_groups([1.0, 2.0, 5.0, 6.5], list("xxyy"), list("aabb"))
    assert (alone.value, alone.p_value, alone.df, alone.rest_df) == (None, None, 0.0, 2.0)
    assert alone.rest == pytest.approx(np.sqrt((0.5 + 1.125) / 2))
    full = between_groups([1.0, 2.0], list("xx"), list("ab"))
    assert (full.value, full.rest, full.df, full.rest_df) == (None, None, 1.0, 0.0)
    exact = between_groups([1.0, 1.0, 2.0, 2.0], list("xxxx"), list("aabb"))
    assert exact.value == pytest.approx(np.sqrt(0.5))
    assert exact.rest == pytest.approx(0.0, abs=1e-9)
    alike = between_groups([1.0, 3.0, 2.0, 2.0], list("xxxx"), list("aabb"))
    assert (alike.value, alike.p_value) == (0.0, pytest.approx(1.0))
    none = between_groups([], [], [])
    assert (none.df, none.rest_df, none.rest) == (0.0, 0.0, None)


def test_chains_of_blocks_connect_groups() -> None:
    parts = connected(list("xxyzzw"), list("abbcdd"))
    assert parts == [({"x", "y"}, {"a", "b"}), ({"z", "w"}, {"c", "d"})]
    joined = connected(list("xyzz"), list("abab"))
    assert joined == [({"x", "y", "z"}, {"a", "b"})]
    assert connected([], []) == []


# --- power and looks -----------------------------------------------------------------------------


@pytest.mark.parametrize("effect", [0.0, 0.7, -3.0])
def test_power_is_that_of_the_noncentral_t(effect: float) -> None:
    for sizes, df in (((2, 2), 2), ((3, 8), 9), ((2,), 1), ((9,), 8)):
        shift = abs(effect) / np.sqrt(sum(1 / n for n in sizes))
        two = stats.t.isf(0.05, df)
        expected = stats.nct.sf(two, df, shift) + (
            stats.nct.cdf(-two, df, shift) if effect else 0.05
        )
        assert t_power_unequal(effect, sizes, confidence=0.9) == pytest.approx(expected, abs=1e-7)
        one = stats.nct.sf(stats.t.isf(0.1, df), df, shift)
        assert t_power_unequal(effect, sizes, confidence=0.9, sides=1) == pytest.approx(
            one, abs=1e-7
        )
    assert np.isnan(t_power_unequal(effect, (1, 1)))
    assert np.isnan(t_power(effect, 1, groups=1))
    assert t_power(effect, 5) == t_power_unequal(effect, (5, 5), confidence=0.95)
    assert t_power(effect, 5, groups=1, sides=1) == t_power_unequal(effect, (5,), sides=1)


@pytest.mark.parametrize(("effect", "power"), [(5.0, 0.6), (-5.0, 0.6), (0.9, 0.8), (0.05, 0.99)])
def test_a_sample_size_is_the_one_that_has_the_power(effect: float, power: float) -> None:
    for more in ({}, {"groups": 1}, {"sides": 1, "confidence": 0.8}):
        size = t_sample_size(effect, power, **more)  # type: ignore[arg-type]
        assert t_power(effect, size, **more) == pytest.approx(power, abs=1e-6)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="zero"):
        t_sample_size(0.0, power)


def test_the_chance_of_passing_a_limit_at_any_look() -> None:
    """One look is the normal tail; two are that and the corner of a normal of two, which scipy has."""
    assert crossing_probability([1.7], [1.0]) == pytest.approx([2 * stats.norm.sf(1.7)])
    assert crossing_probability([1.7], [0.3]) == pytest.approx([2 * stats.norm.sf(1.7)])
    limits, fractions = [2.5, 2.0], [0.4, 1.0]
    walk = stats.multivariate_normal(cov=[[1.0, np.sqrt(0.4)], [np.sqrt(0.4), 1.0]])
    stays = walk.cdf(limits, lower_limit=[-2.5, -2.0])
    assert_allclose(
        crossing_probability(limits, fractions), [2 * stats.norm.sf(2.5), 1 - stays], rtol=1e-4
    )


def test_boundaries_err_at_the_level_in_all() -> None:
    assert boundary_constant((1.0,), "pocock") == pytest.approx(stats.norm.ppf(0.975))
    fractions = (0.25, 0.5, 1.0)
    for boundary in ("pocock", "obrien_fleming"):
        limits = boundary_limits(fractions, boundary, 0.02)
        assert crossing_probability(limits, fractions)[-1] == pytest.approx(0.02, rel=1e-7)
    flat, falling = (boundary_limits(fractions, b) for b in ("pocock", "obrien_fleming"))
    assert np.ptp(flat) == 0
    assert_allclose(falling, falling[-1] / np.sqrt(fractions))
    with pytest.raises(ValueError, match="'flat' is none of obrien_fleming, pocock"):
        boundary_constant((1.0,), "flat")
    assert_allclose(look_confidences(fractions, "pocock"), 1 - 2 * stats.norm.sf(flat))
    each = boundary_limits(fractions, "pocock", 1 - 0.9 ** (1 / 3))
    assert_allclose(
        look_confidences(fractions, "pocock", 0.9, 3), (1 - 2 * stats.norm.sf(each)) ** 3
    )
