"""The tables of critical values, piece by piece: quadratures, tails, levels, how a table is read.

What the tables are good for as a whole is held against scipy and simulation in
tests/reference/test_simultaneous_values.py.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.statistics import simultaneous
from slackwater.analysis.statistics.largest import Spot, _power, log_tail, position, unit_nodes
from slackwater.analysis.statistics.simultaneous import (
    LEAST_P,
    CriticalValues,
    StudentValues,
    _levels,
    _mean_square_nodes,
    _raised,
    _tails,
    critical_values,
    crowded_nodes,
)

# --- quadratures ---------------------------------------------------------------------------------


@pytest.mark.parametrize("power", [0, 1, 4, 9])
def test_nodes_of_the_unit_interval(power: int) -> None:
    x, w = unit_nodes(5)
    assert (w * x**power).sum() == pytest.approx(1 / (power + 1), rel=1e-12)


@pytest.mark.parametrize("df", [3.0, 5.0, 5.5, 20.0])
@pytest.mark.parametrize("nodes", [crowded_nodes, _mean_square_nodes])
def test_nodes_of_a_mean_square_have_its_moments(nodes: Any, df: float) -> None:
    """A chi-square over its degrees of freedom: mean 1, variance 2 / df, mean of its inverse df / (df - 2)."""
    x, w = nodes(df, 24 if nodes is crowded_nodes else 6)
    assert w.sum() == pytest.approx(1.0, rel=1e-9)
    assert (w * x).sum() == pytest.approx(1.0, rel=2e-3)
    assert (w * x**2).sum() == pytest.approx(1 + 2 / df, rel=1.5e-2)
    if df > 6:
        assert (w / x).sum() == pytest.approx(df / (df - 2), rel=1e-2)


def test_gauss_nodes_are_exact_and_taken_where_the_freedom_is_enough() -> None:
    x, w = _mean_square_nodes(6.0, 4)
    assert len(x) == 4
    for power, moment in ((1, 1.0), (2, 1 + 2 / 6), (3, (1 + 2 / 6) * (1 + 4 / 6))):
        assert (w * x**power).sum() == pytest.approx(moment, rel=1e-10)
    assert len(_mean_square_nodes(5.0, 4)[0]) == 16


# --- the largest of several ----------------------------------------------------------------------

BOUND = np.linspace(0.0, 9.0, 91)
AT = [10, 20, 35]  # 1, 2 and 3.5 standard deviations


@pytest.mark.parametrize("k", [1, 2, 3, 6])
def test_independent_deviates(k: int) -> None:
    """All noise of its own (the last column): powers of the normal distribution."""
    alone = stats.norm.cdf(BOUND[AT])
    for sides, below in (("both", (2 * alone - 1) ** k), ("one", alone**k), ("margins", alone**k)):
        assert_allclose(np.exp(log_tail(k, sides)[AT, -1]), 1 - below, rtol=1e-6)  # type: ignore[arg-type]


@pytest.mark.parametrize(("k", "sides", "times"), [(1, "both", 2), (5, "both", 2), (1, "one", 1), (5, "one", 1), (1, "margins", 1), (5, "margins", 2)])  # fmt: skip
def test_one_deviate_for_all(k: int, sides: Any, times: int) -> None:
    assert_allclose(np.exp(log_tail(k, sides)[AT, 0]), times * stats.norm.sf(BOUND[AT]), rtol=1e-9)


@pytest.mark.parametrize("k", [2, 5])
def test_correlated_deviates_are_those_of_scipy(k: int) -> None:
    """Half of the noise's standard deviation of its own: a correlation of 0.75."""
    cov = np.full((k, k), 0.75) + 0.25 * np.eye(k)
    normal = stats.multivariate_normal(cov=cov, seed=1)
    both = 1 - normal.cdf(np.full(k, 2.0), lower_limit=np.full(k, -2.0))
    one = 1 - normal.cdf(np.full(k, 2.0))
    sign = np.where(np.arange(k) < k // 2, -1.0, 1.0)
    mixed = 1 - stats.multivariate_normal(cov=cov * np.outer(sign, sign), seed=1).cdf(
        np.full(k, 2.0)
    )
    told = [float(np.exp(log_tail(k, sides)[20, 10])) for sides in ("both", "one", "margins")]  # type: ignore[arg-type]
    assert_allclose(told, [both, one, mixed], rtol=2e-3)


def test_a_spot_is_read_by_straight_lines_of_the_logarithm() -> None:
    table = log_tail(3, "both")
    spot = Spot(np.array([2.0, 2.05, 2.0, 99.0]), np.array([0.5, 0.5, 0.525, 0.5]))
    expected = [
        table[20, 10], (table[20, 10] + table[21, 10]) / 2, (table[20, 10] + table[20, 11]) / 2,
        table[90, 10],
    ]  # fmt: skip
    assert_allclose(np.log(spot.tail(3)), expected)
    corner = Spot(np.array([2.075]), np.array([0.5125]))
    low = 0.75 * table[20, 10] + 0.25 * table[20, 11]
    high = 0.75 * table[21, 10] + 0.25 * table[21, 11]
    assert_allclose(np.log(corner.tail(3)), 0.25 * low + 0.75 * high)


def test_positions_are_held_at_the_ends() -> None:
    axis = np.array([2.0, 4.0, 6.0])
    assert position(np.array([1.0, 2.0, 3.0, 5.5, 6.0, 9.0]), axis).tolist() == [
        0,
        0,
        0.5,
        1.75,
        2,
        2,
    ]


@pytest.mark.parametrize("k", [0, 1, 2, 3, 6, 7, 12])
def test_whole_powers(k: int) -> None:
    base = np.array([0.3, 0.9, 1.1])
    assert_allclose(_power(base, k), base**k)


# --- fiducial tails ------------------------------------------------------------------------------


def by_quantiles(
    df: float, df_own: float, ratio: float, share: float, value: float, sides: int
) -> float:
    """The tail of one difference over its error, both variances at 600 quantiles of their distributions."""
    at = (np.arange(600) + 0.5) / 600
    square = ratio * df / stats.chi2.ppf(at, df)[:, None]
    own = df_own / stats.chi2.ppf(at, df_own)
    whole = np.maximum(square - own, 0.0) + share * own
    error = np.sqrt(max(ratio - 1, 0.0) + share)
    return float(sides * stats.norm.sf(value * error / np.sqrt(whole)).mean())


@pytest.mark.parametrize(("df", "df_own"), [(3.0, 12.0), (10.0, 4.0)])
@pytest.mark.parametrize(("ratio", "share"), [(5, 3), (12, 4), (20, 1)])
def test_a_tail_is_that_of_the_definition(df: float, df_own: float, ratio: int, share: int) -> None:
    values = np.exp(simultaneous._LOG_VALUE)
    at = int(np.searchsorted(values, 2.2))
    size = float(np.exp(simultaneous._LOG_RATIO[ratio]))
    part = float(np.exp(simultaneous._LOG_SHARE[share]))
    for sides, doubled in (("both", 2), ("one", 1)):
        told = float(np.exp(_tails(df, df_own, 1, sides, ratio, share)[at]))  # type: ignore[arg-type]
        expected = by_quantiles(df, df_own, size, part, float(values[at]), doubled)
        assert told == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize(("df", "df_own", "sizes"), [(9.0, 20.0, [0.12, 0.4, 1.0, 2.0, 4.0, 7.0]), (1.0, 9.0, [0.2, 3.0, 30.0, 300.0, 2000.0])])  # fmt: skip
def test_p_values_are_those_of_the_definition_from_small_sizes_to_large(
    df: float, df_own: float, sizes: list[float]
) -> None:
    """Where sessions differ much, so that no level is raised: by sums over 600 quantiles of each variance."""
    ratio, share = float(np.exp(5.0)), float(np.exp(simultaneous._LOG_SHARE[1]))
    table = critical_values(df, df_own, 1, 0.95)
    for size in sizes:
        expected = by_quantiles(df, df_own, ratio, share, size, 2)
        if expected > 2e-3:  # as far as so many quantiles tell
            assert float(table.p_values(size, ratio, share)) == pytest.approx(expected, rel=0.03)
        else:
            student = 2 * stats.t.sf(size, df)  # hardly anything but sessions
            assert float(table.p_values(size, ratio, share)) == pytest.approx(student, rel=0.15)


def test_levels_fall_from_nearly_one_through_the_declared_one_to_the_least() -> None:
    for level in (0.05, 0.3):
        logs, at = _levels(level)
        assert np.exp(logs[at]) == pytest.approx(level, rel=1e-12)
        assert np.exp(logs[0]) == pytest.approx(0.999)
        assert np.exp(logs[1]) == pytest.approx(0.98)
        assert np.exp(logs[-1]) == pytest.approx(LEAST_P, rel=1e-6, abs=0.0)
        assert (np.diff(logs) < 0).all()
        assert np.ptp(np.diff(logs[at:])) < 1e-9  # even steps of the logarithm below


def test_a_level_is_raised_where_sessions_agree() -> None:
    """By all of the rise where their ratio is small beside the share, by a fifth where it is the share."""
    ratio, share = np.exp(simultaneous._LOG_RATIO), np.exp(simultaneous._LOG_SHARE)
    for i, j in ((0, 7), (8, 0), (26, 3)):
        assert float(_raised((i, j), 2.0)) == pytest.approx(1 + 1 / (1 + 4 * ratio[i] / share[j]))
    assert float(_raised((8, 0), 1.0)) == 1.0  # no rise
    assert float(_raised((8, 0), 2.0)) == pytest.approx(1.2)  # ratio 1, share 1


def test_a_raise_runs_out_above_the_declared_level() -> None:
    table = CriticalValues(4.0, 20.0, 3, 0.95)
    p = np.array([1.0, 0.5, 0.05, 0.001])
    nominal = np.exp(table._nominal((8, 0), 2.0, np.log(p)))
    # 1.2 times at the level and below; above it, 1 less 0.94 / 0.95 of what is left of one.
    assert_allclose(nominal, [1.0, 1 - 0.5 * 0.94 / 0.95, 0.06, 0.0012])


# --- reading a table -----------------------------------------------------------------------------

TABLE = critical_values(4.0, 20.0, 4, 0.95)


def at(ratio: float, share: float) -> tuple[float, float]:
    """Ratio and share at so many steps along the axes."""
    logs = simultaneous._LOG_RATIO, simultaneous._LOG_SHARE
    return tuple(float(np.exp(np.interp(i, range(len(axis)), axis))) for i, axis in zip((ratio, share), logs, strict=True))  # type: ignore[return-value]  # fmt: skip


def test_a_table_is_read_by_straight_lines_of_logarithms() -> None:
    corners = {(i, j): float(TABLE.values(*at(i, j))) for i in (10, 11) for j in (2, 3)}
    middle = float(TABLE.values(*at(10.5, 2)))
    assert middle == pytest.approx(np.sqrt(corners[10, 2] * corners[11, 2]))
    across = float(TABLE.values(*at(10, 2.25)))
    assert across == pytest.approx(corners[10, 2] ** 0.75 * corners[10, 3] ** 0.25)
    both = float(TABLE.values(*at(10.25, 2.75)))
    low = corners[10, 2] ** 0.75 * corners[11, 2] ** 0.25
    high = corners[10, 3] ** 0.75 * corners[11, 3] ** 0.25
    assert both == pytest.approx(low**0.25 * high**0.75)
    # Held at the ends of both axes.
    assert float(TABLE.values(1e-9, 2.0)) == float(TABLE.values(at(0, 0)[0], 2.0))
    assert float(TABLE.values(1e9, 2.0)) == float(TABLE.values(at(26, 0)[0], 2.0))
    assert float(TABLE.values(3.0, 1e9)) == float(TABLE.values(3.0, at(0, 7)[1]))
    assert float(TABLE.values(0.0, 0.0)) == float(TABLE.values(at(0, 0)[0], 1.0))


def test_families_of_several_sizes_are_read_at_once() -> None:
    ratio, share, family = np.array([2.0, 5.0, 2.0]), np.array([4.0, 3.0, 4.0]), np.array([4, 1, 2])
    together = TABLE.values(ratio, share, family)
    alone = [float(TABLE.values(r, h, k)) for r, h, k in zip(ratio, share, family, strict=True)]
    assert_allclose(together, alone, rtol=1e-12)
    assert float(TABLE.values(2.0, 4.0)) == alone[0] > alone[2]


def test_a_p_value_lies_between_those_of_its_neighbours() -> None:
    logs, at_level = _levels(1 - 0.95)  # as the table has it
    read = TABLE._reader(2.0, 4.0, None)
    for step in (0, 7, at_level, at_level + 9, len(logs) - 1):
        size = np.exp(float(read(step)))
        assert float(TABLE.p_values(size * (1 + 1e-12), 2.0, 4.0)) == pytest.approx(np.exp(logs[step]), rel=1e-6)  # fmt: skip
    low, high = float(read(12)), float(read(13))
    between = float(TABLE.p_values(np.exp(0.25 * low + 0.75 * high), 2.0, 4.0))
    assert np.log(between) == pytest.approx(0.25 * logs[12] + 0.75 * logs[13])
    assert float(TABLE.p_values(0.0, 2.0, 4.0)) == 1.0
    assert float(TABLE.p_values(-3.0, 2.0, 4.0)) == 1.0
    assert float(TABLE.p_values(np.nan, 2.0, 4.0)) == 1.0
    assert float(TABLE.p_values(1e6, 2.0, 4.0)) == pytest.approx(LEAST_P, rel=1e-6, abs=0.0)
    assert TABLE.p_values([1.0, 2.0], 2.0, [[4.0], [5.0]]).shape == (2, 2)


# --- one kind of noise ---------------------------------------------------------------------------


@pytest.mark.parametrize(("sides", "tails"), [("both", 2), ("one", 1), ("margins", 1)])
def test_one_kind_of_noise_is_students(sides: Any, tails: int) -> None:
    """A part of the error for each comparison (Bonferroni), on one side or both."""
    found = critical_values(7.0, 0.0, 3, 0.9, sides)
    assert isinstance(found, StudentValues)
    assert float(found.values(1.0, 1.0)) == pytest.approx(stats.t.isf(0.1 / 3 / tails, 7))
    assert float(found.values(1.0, 1.0, 2)) == pytest.approx(stats.t.isf(0.1 / 2 / tails, 7))
    assert found.values(np.ones(2), np.ones((3, 1))).shape == (3, 2)
    width = found.half_widths(2.0, 3.0, None, 0.1)
    t, z = stats.t.isf(0.1 / 3 / tails, 7), stats.norm.isf(0.1 / 3 / tails)
    assert float(width) == pytest.approx(np.hypot(2 * t, 3 * z))
    p = found.p_values(np.array([3.0, -3.0, 0.0, 100.0]), 2.0, 0.0, 2)
    expected = np.minimum(2 * tails * stats.t.sf([1.5, -1.5, 0.0, 50.0], 7), 1.0)
    assert_allclose(p, expected)
    # With something known the half-width at the p-value is the distance.
    joined = found.p_values(np.array([9.0, -1.0, 0.0]), 2.0, 3.0, 2)
    assert float(found.half_widths(2.0, 3.0, 2, joined[0])) == pytest.approx(9.0, rel=1e-9)
    assert joined[1:].tolist() == [1.0, 1.0]


def test_two_kinds_of_noise_have_a_table() -> None:
    assert isinstance(critical_values(7.0, 0.5, 3, 0.9), CriticalValues)
    assert critical_values(7.0, 0.0, 3, 0.9).sides == "both"


@pytest.mark.parametrize(("at", "true_ratio"), [(0, 1.0), (4, np.exp(2.0)), (16, np.exp(8.0))])
def test_error_rates_are_those_of_drawn_families(at: int, true_ratio: float) -> None:
    """From sessions that differ by nothing but their set points upwards; 100,000 families drawn for each."""
    df, df_own, points, size = 3.0, 12.0, 8, 2.8
    share = int(np.searchsorted(simultaneous._LOG_SHARE, np.log(6.0)))
    own = float(np.exp(simultaneous._LOG_SHARE[share]))
    rng = np.random.default_rng(77)
    between = true_ratio * rng.chisquare(df, 100_000) / df
    within = rng.chisquare(df_own, 100_000) / df_own
    shared, each = rng.standard_normal((100_000, 1)), rng.standard_normal((100_000, points))
    largest = np.abs(np.sqrt(true_ratio - 1) * shared + np.sqrt(own) * each).max(axis=1)
    error = np.sqrt(np.maximum(between - within, 0.0) + own * within)
    drawn = float((largest > size * error).mean())
    table = CriticalValues(df, df_own, points, 0.95)
    told = table._error_rates(np.full(len(simultaneous._LOG_RATIO), np.log(size)), share)
    assert told[at] == pytest.approx(drawn, abs=4 * np.sqrt(drawn / 100_000), rel=0.02)


def test_beyond_the_tables_a_p_value_is_their_least() -> None:
    table = critical_values(4.0, 28.0, 7, 0.95)
    assert float(table.p_values(1e9, 2.0, 7.0)) == pytest.approx(LEAST_P, rel=1e-6, abs=0.0)


@pytest.mark.parametrize(("df", "df_own"), [(2.0, 8.0), (4.0, 20.0)])
def test_the_rise_brings_the_worst_error_rate_to_the_level(df: float, df_own: float) -> None:
    """Error rates by the table's own quadrature, at the values that a rise gives: at most the level."""
    table = CriticalValues(df, df_own, 8, 0.95)
    for share in (2, 4):
        rise = table._rise(share)
        assert 1.0 < rise < 4.0
        level = np.log(np.array([0.05]))
        values = np.array([table._solve(8, (i, share), rise, level)[0] for i in range(27)])
        worst = table._error_rates(values, share).max()
        assert 0.049 < worst < 0.0505  # rises are read by straight lines between six
        more = np.array([table._solve(8, (i, share), rise * 1.2, level)[0] for i in range(27)])
        assert table._error_rates(more, share).max() > 0.0505
