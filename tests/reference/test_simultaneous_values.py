"""Critical values for a whole sweep, against limits that scipy computes and plain simulation.

Where one of the two kinds of noise dominates or both are known well, the value must be the quantile
of the largest |t| of an equicorrelated multivariate t or normal distribution. Between these limits
it is checked against the definition itself, drawn at random: differences whose two variances have
their fiducial distributions; and against the promise behind it, the error rate of a sweep.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, stats

from slackwater.analysis.statistics.largest import log_tail
from slackwater.analysis.statistics.simultaneous import CriticalValues, critical_values

CONFIDENCE = 0.95


def largest_t(points, correlation, df):
    """Quantile of max |t| over equicorrelated set points, by scipy's own integration."""
    shape = np.full((points, points), correlation) + (1 - correlation) * np.eye(points)
    rng = np.random.default_rng(1)

    def cover(limit):
        box = np.full(points, limit)
        if np.isinf(df):
            return stats.multivariate_normal(cov=shape, seed=1).cdf(box, lower_limit=-box)
        found = stats.multivariate_t(shape=shape, df=df, seed=1)
        return found.cdf(box, lower_limit=-box, maxpts=40_000, random_state=rng)

    return optimize.brentq(lambda limit: cover(limit) - CONFIDENCE, 1.5, 8.0, xtol=1e-3)


@pytest.mark.parametrize("df", [2, 4, 10])
@pytest.mark.parametrize("points", [2, 8])
def test_sessions_dominate(df, points):
    """All set points move together: Student's t of the sessions, for a family of any size.

    At a ratio of 8100, the end of the table, a family of 8 still has a correlation of 0.999 only.
    With the own noise known from 100 degrees of freedom the value lies between Student's t
    (correlation 1) and the multivariate t in which that noise is as badly known as the sessions'.
    """
    ratio = np.exp(9.0)
    value = critical_values(float(df), 100.0, points, CONFIDENCE).values(ratio, points).item()
    correlation = (ratio - 1) / (ratio - 1 + points)
    # 0.3 % for a table of 45 values over seven e-folds, read by straight lines.
    assert stats.t.ppf(0.975, df) * 0.997 < value
    assert value < largest_t(points, correlation, df) * 1.003
    assert value < stats.t.ppf(0.975, df) * 1.03


@pytest.mark.parametrize("points", [3, 6])
@pytest.mark.parametrize("correlation", [0.2, 0.5, 0.8])
def test_both_kinds_known_well(points, correlation):
    """With many degrees of freedom: the largest of equicorrelated normal deviates.

    0.6 %: the table is read by straight lines between points a factor 1.65 apart in ratio.
    """
    shared_over_own = correlation / (1 - correlation)
    ratio = 1 + points * shared_over_own  # the mean squares' ratio that gives this correlation
    value = CriticalValues(4000.0, 4000.0, points, CONFIDENCE).values(ratio, points).item()
    assert value == pytest.approx(largest_t(points, correlation, np.inf), rel=0.006)


@pytest.mark.parametrize("points", [2, 4, 8])
def test_dunnett_like_correlation_of_one_half(points):
    """Shared and own noise alike: the correlation of comparisons with one control (Dunnett 1955).

    Printed for many degrees of freedom, two-sided 5 %: 2.21 for two, 2.44 for four, 2.65 for
    eight comparisons (from memory, and computed here by scipy).
    """
    printed = {2: 2.21, 4: 2.44, 8: 2.65}[points]
    assert largest_t(points, 0.5, np.inf) == pytest.approx(printed, abs=0.006)  # brentq to 0.001
    table = CriticalValues(4000.0, 4000.0, points, CONFIDENCE)
    assert table.values(1.0 + points, points).item() == pytest.approx(printed, rel=0.005)


@pytest.mark.parametrize(("df", "points"), [(8, 3), (20, 6)])
def test_only_the_set_points_own_noise(df, points):
    """Many sessions that agree: the largest |t| of independent set points with a common estimate.

    With infinitely many degrees of freedom between sessions a ratio of 1 says that there is no
    shared noise at all. The level is raised in that corner of the table (the error rate there is
    below the declared one otherwise), so the level that the table uses is read from it first.
    """
    table = CriticalValues(1e6, float(df), points, CONFIDENCE)
    value = table.values(1.0, points).item()
    shape = np.eye(points)
    box = np.full(points, value)
    cover = stats.multivariate_t(shape=shape, df=df, seed=1).cdf(
        box, lower_limit=-box, maxpts=40_000, random_state=np.random.default_rng(1)
    )
    nominal = 1 - CONFIDENCE
    assert nominal * 0.9 < 1 - cover < nominal * 1.6


def draw(rng, n, ratio, share, df, df_own, points):
    """Differences over their standard errors as the definition has them: |N| with fiducial variances."""
    mean_square = ratio * df / rng.chisquare(df, n)
    own = df_own / rng.chisquare(df_own, n)
    shared = np.maximum(mean_square - own, 0.0)
    z = rng.normal(size=(n, points))
    common = rng.normal(size=(n, 1))
    error = np.sqrt(max(ratio - 1, 0.0) + share)
    return np.abs(np.sqrt(share * own)[:, None] * z + np.sqrt(shared)[:, None] * common) / error


@pytest.mark.parametrize(("ratio", "share"), [(0.3, 8.0), (2.0, 8.0), (6.0, 4.0), (40.0, 8.0)])
@pytest.mark.parametrize(("df", "df_own"), [(2.0, 8.0), (4.0, 20.0)])
def test_p_values_are_fiducial_tails_raised_where_sessions_agree(ratio, share, df, df_own):
    """One rise at and below the declared level, never a cut; none where the ratio is large."""
    rng = np.random.default_rng(7)
    n = 400_000
    drawn = draw(rng, n, ratio, share, df, df_own, 1)[:, 0]
    table = critical_values(df, df_own, 8, CONFIDENCE)
    limit = table.values(ratio, share, 1).item()
    rise = (drawn > limit).mean() / 0.05
    assert 0.97 < rise < (1.08 if ratio >= 40 else 2.6)
    for value in (limit * 1.2, limit * 2):
        p = table.p_values(value, ratio, share, 1).item()
        seen = (drawn > value).mean()
        # Three standard errors of the simulation; and 15 % of a small p-value, as comes of 2 %
        # of a critical value, for a table read by straight lines.
        assert seen == pytest.approx(p * rise, abs=3 * np.sqrt(seen / n) + 0.15 * p)


@pytest.mark.parametrize("sides", ["both", "one", "margins"])
@pytest.mark.parametrize("family", [1, 3, 8])
def test_p_values_and_critical_values_are_one_table(sides, family):
    rng = np.random.default_rng(6)
    ratio, share = np.exp(rng.uniform(-3, 7, 500)), np.exp(rng.uniform(0.1, 5, 500))
    table = critical_values(4.0, 20.0, 8, CONFIDENCE, sides)
    limit = table.values(ratio, share, family)
    for factor, above in ((1 + 1e-9, False), (1 - 1e-9, True)):
        p = table.p_values(limit * factor, ratio, share, family)
        assert ((p > 0.05) == above).all()
    sizes = np.linspace(0.0, 12.0, 200)[:, None]
    falling = np.diff(table.p_values(sizes, ratio, share, family), axis=0)
    assert (falling <= 1e-12).all()


def test_margins_lie_between_one_side_and_both():
    """The least favourable mixture of signs: no less than one sign, no more than either."""
    limits = [
        CriticalValues(4000.0, 4000.0, 6, CONFIDENCE, sides).values(7.0, 6.0).item()
        for sides in ("one", "margins", "both")
    ]
    assert limits[0] < limits[1] < limits[2]
    alone = CriticalValues(4000.0, 4000.0, 1, CONFIDENCE, "margins").values(7.0, 6.0).item()
    assert alone == pytest.approx(stats.norm.ppf(0.95), rel=0.006)


@pytest.mark.parametrize(("ratio", "share"), [(0.3, 8.0), (2.0, 8.0), (6.0, 8.0), (40.0, 8.0)])
def test_the_value_of_a_family_is_the_fiducial_quantile_at_its_level(ratio, share):
    """Where the ratio is large the level is the declared one; where small it is raised, never cut."""
    rng = np.random.default_rng(8)
    table = critical_values(4.0, 20.0, 8, CONFIDENCE)
    drawn = draw(rng, 200_000, ratio, share, 4.0, 20.0, 8).max(axis=1)
    level = (drawn > table.values(ratio, share).item()).mean()
    assert level > 0.05 * 0.97  # 200 000 draws: 0.05 to 0.0005, and as much for the table
    if ratio >= 40:
        assert level < 0.06


@pytest.mark.parametrize("df", [2.0, 4.0])
def test_error_rate_of_a_sweep(df):
    """The promise: over all true ratios of the two variances, at most 5 % of sweeps where nothing
    changed have any difference above its critical value; and near 5 % in the least favourable."""
    points, df_own, n = 8, 20.0, 100_000
    table = critical_values(df, df_own, points, CONFIDENCE)
    rng = np.random.default_rng(9)
    rates = []
    for truth in (1.0, 1.5, 3.0, 8.0, 25.0, 100.0, 1000.0):  # true ratio of the mean squares
        own = rng.chisquare(df_own, n) / df_own
        ratio = truth * rng.chisquare(df, n) / df / own
        error = np.sqrt(own * (np.maximum(ratio - 1, 0) + points))
        common = np.sqrt(truth - 1) * rng.normal(size=(n, 1))
        difference = np.sqrt(points) * rng.normal(size=(n, points)) + common
        limit = table.values(ratio, points)
        rates.append((np.abs(difference) > (limit * error)[:, None]).any(axis=1).mean())
    slack = 3 * np.sqrt(0.05 * 0.95 / n)
    assert max(rates) < 0.05 + slack
    assert max(rates) > 0.045


def test_one_comparison_is_students():
    table = critical_values(4.0, 0.0, 1, CONFIDENCE)
    assert table.values(3.0, 1.0).item() == pytest.approx(stats.t.ppf(0.975, 4), rel=1e-12)
    p = table.p_values(2.0, 1.0, 0.0, 1).item()
    assert p == pytest.approx(2 * stats.t.sf(2.0, 4), rel=1e-12)


@pytest.mark.parametrize("k", [2, 3, 5, 8])
def test_half_at_either_margin_is_the_least_favourable(k):
    """True differences at two margins, in every mixture, by plain simulation."""
    rng = np.random.default_rng(k)
    n, own = 200_000, 0.5
    z = np.sqrt(1 - own**2) * rng.normal(size=(n, 1)) + own * rng.normal(size=(n, k))
    told = float(np.exp(log_tail(k, "margins")[20, 10]))  # beyond 2 standard deviations, own 0.5
    seen = []
    for other in range(k // 2 + 1):
        sign = np.where(np.arange(k) < other, -1.0, 1.0)
        seen.append(((z * sign).max(axis=1) > 2.0).mean())
    error = np.sqrt(told * (1 - told) / n)
    assert max(seen) == pytest.approx(told, abs=4 * error)
    assert int(np.argmax(seen)) >= k // 2 - 1
