"""Control charts, Cochran's and Grubbs' tests, against the NIST handbook and published constants.

The NIST/SEMATECH e-Handbook's examples (6.3.2.2 individuals, 6.3.2.3 cumulative sums, 6.3.2.4 moving
averages, 1.3.5.17.1 Grubbs) are from memory; the pages could not be opened here. Their arithmetic hangs
together: each printed value follows from the one before.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics import control_chart as charts
from slackwater.analysis.statistics.control_chart import (
    ChartError,
    control_chart,
    cumulative_sums,
    moving_average,
)
from slackwater.analysis.statistics.interlaboratory import cochran, grubbs, interlaboratory
from slackwater.analysis.statistics.two_outliers import chance_of_two, grubbs_two


# Constants for two values: 1.128, 0.853, 2.660, 3.267, in the tables of the handbook and of ISO 7870-2.
def test_constants() -> None:
    assert_allclose([charts.D2, charts.D3], [1.128, 0.853], atol=0.0005)
    assert_allclose([charts.E2, charts.D4], [2.660, 3.267], atol=0.002)


# Handbook 6.3.2.2, flow rate: centre 50.81, limits 55.8041 and 45.8159 (with 1.128 for the constant).
def test_individuals() -> None:
    flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    found = control_chart(flow, reference=10)
    assert_allclose(found.centre, 50.81)
    assert_allclose(found.ranges.mean(), 1.8778, atol=0.00005)
    assert_allclose([found.high, found.low], [55.8041, 45.8159], atol=0.002)
    assert found.beyond == found.wide == ()
    # 3.267 times 1.8778 is 6.13: a step of 6.5 is too wide, and told at the value that made it.
    stepped = control_chart([*flow, 52.1, 45.6], reference=10)
    assert stepped.wide == (11,)


# Handbook 6.3.2.3: target 325, k 0.3175, decision 4.1959; the upper sum is told at values 14 to 20.
def test_cumulative_sums() -> None:
    values = np.array(
        [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
         324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]
    )  # fmt: skip
    upper, lower = cumulative_sums(values - 325, slack=0.3175)
    assert_allclose(upper[[4, 12, 13]], [0.03, 3.01, 4.94], atol=0.005)
    assert np.flatnonzero(upper > 4.1959).tolist() == list(range(13, 20))
    assert_allclose(lower[3], 325 - 324.35 - 0.3175)  # from zero, by hand
    assert not (lower > 4.1959).any()


def test_the_size_of_a_shift_is_a_comparison_of_two_means() -> None:
    """The interval is that of scipy's t-test of the values before and since."""
    rng = np.random.default_rng(4)
    values = np.concatenate([rng.normal(10, 0.1, 12), rng.normal(10.3, 0.1, 5)])
    shift = control_chart(values, reference=10).shift
    assert shift is not None
    begins = shift.begins_at
    assert begins in (11, 12, 13)
    known = stats.ttest_ind(values[begins:], values[:begins])
    assert_allclose(shift.size, values[begins:].mean() - values[:begins].mean())
    assert_allclose([shift.low, shift.high], known.confidence_interval(0.95))


# Handbook 6.3.2.4: weight 0.3, target 50, s 2.0539; averages 50.60, 49.52 ... 51.99; limits 52.5884, 47.4115.
def test_moving_average() -> None:
    values = np.array(
        [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
         49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    )  # fmt: skip
    average, half = moving_average(values, 50.0, 2.0539, weight=0.3, width=3.0)
    assert_allclose(
        average,
        [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
         50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99],
        atol=0.0051,
    )  # fmt: skip
    assert_allclose([50 + half[-1], 50 - half[-1]], [52.5884, 47.4115], atol=0.0005)


# Average run lengths of two-sided sums with k 0.5: 168 and 465 steady values for h 4 and 5, and 8.38
# and 10.4 after a shift by one standard deviation (Montgomery, "Introduction to Statistical Quality
# Control", table of the tabular cusum; from memory).
@pytest.mark.parametrize(
    ("shift", "decision", "expected"), [(0.0, 4.0, 168.0), (1.0, 4.0, 8.38), (1.0, 5.0, 10.4)]
)
def test_run_lengths(shift: float, decision: float, expected: float) -> None:
    rng = np.random.default_rng(7870)
    lengths = []
    for _ in range(500):
        upper, lower = cumulative_sums(shift + rng.standard_normal(1500 if shift == 0 else 100))
        lengths.append(int(np.argmax((upper > decision) | (lower > decision))) + 1)
    error = np.std(lengths) / np.sqrt(len(lengths))
    assert abs(np.mean(lengths) - expected) < 3.5 * error


# NIST's check standard for mass (MASS.DAT, handbook 2.3.5): shifted upwards after 1985, by 0.026 from all
# values before to all since (SOURCE.md of the data); the sums tell it in the summer of 1986.
def test_mass_check_standard(measured) -> None:  # type: ignore[no-untyped-def]
    rows = np.loadtxt(measured("nist-inference/MASS.DAT"), skiprows=25)
    dates, values = rows[:, 0], rows[:, 2]
    steady = int((dates < 85).sum())
    found = control_chart(values, reference=steady)
    assert found.shift is not None
    assert 85.0 <= dates[found.shift.begins_at] <= 87.0
    assert found.shift.low > 0.02
    assert_allclose(found.centre, -19.4785, atol=0.00005)


# Grubbs: Tietjen and Moore's eight uranium measurements, handbook 1.3.5.17.1: 245.57 stands out with
# 2.4687; the critical value of one side at 5 % is 2.032.
def test_grubbs() -> None:
    values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
    size, index, p = grubbs(values)
    assert_allclose(size, 2.468765, atol=0.00005)
    assert index == 7
    assert p < 1e-6


# Critical values of ISO 5725-2 (1994), tables 4 and 5, and of the handbook; from memory, and each reached
# by the published formula behind it.
@pytest.mark.parametrize(
    ("count", "level", "critical"), [(8, 0.10, 2.032), (10, 0.05, 2.290), (8, 0.05, 2.126)]
)
def test_grubbs_critical_values(count: int, level: float, critical: float) -> None:
    # Eight or ten values whose furthest lies just at the critical distance; two-sided level.
    rest = np.linspace(-1, 1, count - 1)
    low, high = 1.0, 100.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if grubbs([*rest, middle])[0] < critical else (low, middle)
    assert_allclose(grubbs([*rest, high])[2], level, rtol=0.01)


# ISO 5725-2 (1994), table 5, two largest or two smallest: lower 1 % and 5 % values for so many laboratories.
# From memory; each is reached to its last digit by the integral here, and the simulation below knows neither.
@pytest.mark.parametrize(
    ("labs", "one", "five"),
    [
        (5, 0.0018, 0.0090), (6, 0.0116, 0.0349), (7, 0.0308, 0.0708), (8, 0.0563, 0.1101),
        (9, 0.0851, 0.1492), (10, 0.1150, 0.1864), (12, 0.1738, 0.2537), (15, 0.2530, 0.3367),
        (20, 0.3585, 0.4391),
    ],
)  # fmt: skip
def test_critical_values_of_two(labs: int, one: float, five: float) -> None:
    for critical, level in ((one, 0.01), (five, 0.05)):
        ends = [2 * chance_of_two(critical + half, labs) for half in (-0.00005, 0.00005)]
        assert ends[0] - 2e-5 < level < ends[1] + 2e-5


@pytest.mark.parametrize("count", [4, 7, 25])
def test_two_outliers_of_simulated_values(count: int) -> None:
    trials = 20_000
    values = np.sort(np.random.default_rng(57254).standard_normal((trials, count)), axis=1)
    left = (count - 2) * values[:, :-2].var(axis=1) / (count * values.var(axis=1))
    for level in (0.005, 0.025, 0.1):
        found = chance_of_two(float(np.quantile(left, level)), count)
        assert abs(found - level) < 3 * np.sqrt(level * (1 - level) / trials)


def test_two_outliers_hide_each_other_from_a_test_for_one() -> None:
    values = [10.1, 9.9, 10.0, 10.2, 9.8, 10.1, 13.0, 13.2]
    assert grubbs(values)[2] > 0.05
    ratio, two, p = grubbs_two(values)
    rest = np.array(values[:6])
    whole = np.array(values)
    assert_allclose(ratio, ((rest - rest.mean()) ** 2).sum() / ((whole - whole.mean()) ** 2).sum())
    assert (set(two), p < 0.001) == ({6, 7}, True)
    assert grubbs_two([-v for v in values])[2] == pytest.approx(p)
    assert grubbs_two([1.0, 2.0, 3.0]) == (1.0, (0, 0), 1.0)
    assert grubbs_two([5.0] * 6)[2] == 1.0


@pytest.mark.parametrize(
    ("labs", "replicates", "level", "critical"),
    [(8, 3, 0.05, 0.516), (8, 3, 0.01, 0.615), (10, 2, 0.05, 0.602), (10, 2, 0.01, 0.718)],
)
def test_cochran_critical_values(labs: int, replicates: int, level: float, critical: float) -> None:
    rest = (1 - critical) / (labs - 1)
    part, p = cochran([critical, *[rest] * (labs - 1)], replicates - 1)
    assert_allclose(part, critical)
    assert_allclose(p, level, rtol=0.03)


def test_unequal_numbers_are_the_analysis_of_variance() -> None:
    # Against scipy's one-way analysis of variance: mean squares within and between.
    table = [[4.1, 4.3, 4.0], [4.6, 4.4], [3.9, 4.0, 4.1, 4.3]]
    found = interlaboratory(table)
    f = stats.f_oneway(*table).statistic
    n = np.array([3, 2, 4])
    behind = (9 - (n**2).sum() / 9) / 2
    within = found.repeatability**2
    between = max(f * within - within, 0.0) / behind
    assert_allclose(found.reproducibility**2, between + within)


def test_too_few_values() -> None:
    with pytest.raises(ChartError, match="5 are needed"):
        control_chart([1.0, 2.0, 3.0])
    with pytest.raises(ChartError, match="all the same"):
        control_chart(np.ones(12))
