"""Step-down adjusted p-values against other libraries' multivariate distributions.

With many degrees of freedom the noise is known, and the p-value of a family is the chance that the
largest of equally correlated normal deviates is as large: scipy's multivariate normal. Where one
mean square serves all set points it is a multivariate t, which scipy and statsmodels integrate.
The constants of a family of 8, 4 and 2 at a correlation of one half are Dunnett's (1955), which the
step-down procedure for comparisons with a control uses in turn (C. W. Dunnett and A. C. Tamhane,
"Step-down multiple tests for comparing treatments with a control in unbalanced one-way layouts",
Statistics in Medicine 10 (1991), 939-947); both from memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from slackwater.analysis.statistics.multiplicity import decide, step_down
from slackwater.analysis.statistics.simultaneous import CriticalValues

SIZES = np.array([3.4, 0.8, 2.9, 2.35, 2.0])


def largest(size, points, correlation, df=np.inf):
    """P(max |deviate| > size) over equally correlated deviates, by scipy."""
    shape = np.full((points, points), correlation) + (1 - correlation) * np.eye(points)
    box = np.full(points, size)
    if np.isinf(df):
        return 1 - stats.multivariate_normal(cov=shape, seed=1).cdf(box, lower_limit=-box)
    found = stats.multivariate_t(shape=shape, df=df, seed=1)
    rng = np.random.default_rng(1)
    return 1 - found.cdf(box, lower_limit=-box, maxpts=60_000, random_state=rng)


def by_hand(sizes, p_of):
    """The definition: from the largest on, each over those not larger, never falling."""
    out, before = np.empty(len(sizes)), 0.0
    for rank, at in enumerate(np.argsort(-sizes)):
        before = max(before, p_of(sizes[at], len(sizes) - rank))
        out[at] = before
    return out


def of_table(table, sizes, ratio, points):
    given = np.ones(len(sizes), dtype=bool)
    return step_down(
        lambda family: table.p_values(sizes, ratio, points, family[..., None]), given, sizes.shape
    )


@pytest.mark.parametrize("correlation", [0.3, 0.5, 0.8])
def test_known_noise(correlation):
    points = len(SIZES)
    table = CriticalValues(4000.0, 4000.0, points, 0.95)
    ratio = 1 + points * correlation / (1 - correlation)
    found = of_table(table, SIZES, ratio, points)
    expected = by_hand(SIZES, lambda size, family: largest(size, family, correlation))
    # The tables are read by straight lines; critical values hold to 0.6 %, p-values to 4 %.
    assert found == pytest.approx(expected, rel=0.04, abs=2e-4)


@pytest.mark.parametrize("df", [8.0, 20.0])
def test_independent_set_points_with_one_estimate(df):
    """A multivariate t without correlation; the level is raised at that corner of the table."""
    points = len(SIZES)
    table = CriticalValues(1e6, df, points, 0.95)
    found = of_table(table, SIZES, 1.0, points)
    expected = by_hand(SIZES, lambda size, family: largest(size, family, 0.0, df))
    below = expected < 0.05
    assert (found <= expected * 1.03).all()  # raised, never cut
    assert found[below] == pytest.approx(expected[below] * (found[0] / expected[0]), rel=0.05)


def test_a_multivariate_t_drawn_by_statsmodels():
    """Its integral needs an older scipy; its draws do not. The level is raised in that corner."""
    from statsmodels.sandbox.distributions.multivariate import multivariate_t_rvs

    points, df, size, draws = 5, 20, 3.0, 100_000
    np.random.seed(5)
    drawn = multivariate_t_rvs(np.zeros(points), np.eye(points), df, draws)
    seen = (np.abs(drawn).max(axis=1) > size).mean()
    error = np.sqrt(seen * (1 - seen) / draws)
    assert seen == pytest.approx(largest(size, points, 0.0, df), abs=3 * error + 5e-4)
    p = CriticalValues(1e6, float(df), points, 0.95).p_values(size, 1.0, points).item()
    assert seen / 1.6 < p < seen * 1.03


def test_one_large_value_lowers_what_is_asked_of_the_next():
    """2.65, 2.44 and 2.21 are asked of families of 8, 4 and 2 at a correlation of one half."""
    table = CriticalValues(4000.0, 4000.0, 8, 0.95)

    class Known:
        def widths(self, family):
            return np.asarray(table.values(9.0, 8.0, np.broadcast_to(family[..., None], (8,))))

        def p_values(self, distance, family):
            return table.p_values(distance, 9.0, 8.0, family[..., None])

    sizes = np.array([5.0, 5.0, 5.0, 5.0, 2.5, 2.5, 2.3, 1.0])
    found = decide(sizes, Known(), np.ones(8, dtype=bool))
    assert found.established.tolist() == [True] * 7 + [False]
    asked = found.bound
    assert asked[0] == pytest.approx(2.65, abs=0.015)
    assert asked[4] == pytest.approx(2.44, abs=0.015)
    assert asked[6] == pytest.approx(2.21, abs=0.015)
    assert asked[7] == pytest.approx(1.96, abs=0.015)


def test_a_published_step_down_comparison_with_a_control():
    """Cholesterol reduction by dose, ten patients each, against the first dose.

    P. H. Westfall, R. D. Tobias, D. Rom, R. D. Wolfinger, Y. Hochberg, *Multiple Comparisons and
    Multiple Tests Using the SAS System* (1999), p. 153, as data set `cholesterol` of R's multcomp;
    by multcomp 1.4-22:

        g <- glht(aov(response ~ trt, cholesterol), linfct = mcp(trt = "Dunnett"))
        summary(g)$test$tstat
        summary(g, test = adjusted("free", abseps = 1e-7, maxpts = 1e6))$test$pvalues
    """
    sizes = np.array([2.3853793, 4.5676306, 6.6366613])
    largest_of_all = 10.5069963
    given = np.ones(4, dtype=bool)
    size = np.array([*sizes, largest_of_all])

    def p_of(family):
        return np.array([largest(s, int(n), 0.5, 45) for s, n in zip(size, family, strict=True)])

    found = step_down(lambda family: p_of(np.broadcast_to(family, (4,))), given, size.shape)
    # scipy integrates to about 1e-5.
    assert found == pytest.approx([2.1332783e-02, 7.5415551e-05, 4.51e-08, 0.0], abs=2e-5)
