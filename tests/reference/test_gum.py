"""Uncertainty against the Guide: JCGM 100:2008, examples H.1 and H.5, tables G.2 and E.1.

Inputs of H.1: as documented by the GTC and metRology libraries. Day means of H.5 and table E.1:
from memory, their arithmetic checked. Tolerances are half the last printed digit.
"""

from __future__ import annotations

from functools import reduce

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis.reduction.current import by_single_runs
from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.crossed import between_groups
from slackwater.analysis.statistics.noise import NoiseEstimate, estimate_noise
from slackwater.analysis.statistics.simultaneous import critical_values

# p [%]: degrees of freedom and t as printed
G2 = {
    68.27: {1: 1.84, 2: 1.32, 3: 1.20, 4: 1.14, 5: 1.11},
    95.0: {
        1: 12.71,
        2: 4.30,
        3: 3.18,
        4: 2.78,
        5: 2.57,
        6: 2.45,
        7: 2.36,
        8: 2.31,
        9: 2.26,
        10: 2.23,
        15: 2.13,
        20: 2.09,
        50: 2.01,
    },
    95.45: {1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65},
    99.0: {1: 63.66, 2: 9.92, 3: 5.84, 4: 4.60, 5: 4.03},
}


@pytest.mark.parametrize("p", G2)
def test_table_g2(p):
    for df, printed in G2[p].items():
        table = critical_values(float(df), 0.0, 1, p / 100)
        assert table.values(1.0, 1.0).item() == pytest.approx(printed, abs=0.005)


def joined(first, second):
    """Two standard uncertainties with their degrees of freedom, joined as noise estimates are:
    one as what sessions add, the other as what set points add beyond their share."""
    (u1, df1), (u2, df2) = first, second
    unit = np.array([0.5 * u2**2])
    noise = NoiseEstimate(
        shared=np.array(u1**2 - unit[0]),
        specific=u2**2 + unit,
        runs=np.zeros(1),
        ratio=np.array(u1**2 / unit[0]),
        share=(u2**2 + unit) / unit,
        shared_df=df1,
        specific_df=df2,
    )
    return float(np.sqrt(noise.total[0])), float(noise.effective_df()[0])


def test_welch_satterthwaite_by_hand():
    """s 2 of 4 and s 1 of 10 readings: (1 + 0.1)^2 / (1/3 + 0.01/9) = 3.618."""
    u, df = joined((1.0, 3.0), (np.sqrt(0.1), 9.0))
    assert u == pytest.approx(np.sqrt(1.1), abs=1e-12)
    assert df == pytest.approx(3.618, abs=5e-4)


def test_h1_comparison_of_the_gauges():
    """5.8 (24 degrees of freedom), 3.9 (5), 6.7 (8): 9.7 nm with 25.6, printed 25."""
    u, df = reduce(joined, [(5.8, 24.0), (3.9, 5.0), (6.7, 8.0)])
    assert u == pytest.approx(9.7, abs=0.05)
    assert df == pytest.approx(25.4, abs=0.05)


def test_h1_effective_degrees_of_freedom():
    """Standard 25 nm (18), the comparison's three parts, expansion 2.9 (50), temperature 16.6 (2).

    Printed: u 32 nm (31.67 unrounded), 16.76 cut to 16, t 2.92, U 93 nm.
    """
    comparison = [(5.8, 24.0), (3.9, 5.0), (6.7, 8.0)]
    u, df = reduce(joined, [(25.0, 18.0), *comparison, (2.9, 50.0), (16.6, 2.0)])
    assert u == pytest.approx(31.67, abs=0.01)  # from parts printed to two digits
    assert df == pytest.approx(16.75, abs=0.015)  # 16.76 or, by GTC, 16.75, from the same parts
    factor = critical_values(float(int(df)), 0.0, 1, 0.99).values(1.0, 1.0).item()
    assert factor == pytest.approx(2.92, abs=0.005)
    assert factor * 32 == pytest.approx(93, abs=0.5)  # the Guide goes on with the rounded 32


DAY_MEANS = np.array([172, 116, 13, 144, 106, 31, 60, 125, 163, 41.0])  # V - 10 [uV]
DAY_SPREADS = np.array([60, 77, 111, 101, 67, 93, 80, 73, 88, 86.0])
READINGS = 5


@pytest.fixture(scope="module")
def voltages():
    """Five readings a day with exactly the printed mean and standard deviation of the day."""
    pattern = np.array([-2, -1, 0, 1, 2]) / np.sqrt(2.5)  # mean 0, standard deviation 1
    readings = DAY_MEANS[:, None] + DAY_SPREADS[:, None] * pattern
    return by_single_runs(readings.ravel(), np.repeat(np.arange(10), READINGS))


def test_h5_within_and_between_days(voltages):
    """A day is a session. Printed: 57 (days), s_a 128, s_b 85, F 2.25 (2.26 unrounded), 18."""
    within = voltages.scatter.sum() / voltages.df.sum()
    layout = contrasts(["as is"] * 10, "as is", "as is", np.ones((10, 1), bool))
    noise = estimate_noise(voltages.value[:, None], np.array([within / READINGS]), layout)
    assert voltages.df.sum() == 40
    assert noise.shared_df == 9
    assert np.sqrt(within) == pytest.approx(85, abs=0.5)
    days = float(noise.total[0])
    assert np.sqrt(days) == pytest.approx(57, abs=0.5)
    assert np.sqrt(READINGS * days) == pytest.approx(128, abs=0.5)
    assert READINGS * days / within == pytest.approx(2.26, abs=0.005)
    assert np.sqrt(days / 10) == pytest.approx(18, abs=0.5)
    assert np.sqrt(days - noise.runs[0]) == pytest.approx(43, abs=0.5)
    # What pooling all fifty readings would have given: too small, as the example says.
    pooled = (voltages.scatter.sum() + READINGS * (DAY_MEANS.var() * 10)) / 49
    assert np.sqrt(pooled / 50) == pytest.approx(13, abs=0.5)


def test_h5_days_as_groups_in_one_block():
    """The way that crews are set against each other: 43 between days, 85 within, F 2.26."""
    pattern = np.array([-2, -1, 0, 1, 2]) / np.sqrt(2.5)
    readings = DAY_MEANS[:, None] + DAY_SPREADS[:, None] * pattern
    days = [str(day) for day in range(10) for _ in range(READINGS)]
    found = between_groups(readings.ravel().tolist(), ["lab"] * 50, days)
    assert (found.df, found.rest_df) == (9, 40)
    assert found.value == pytest.approx(43, abs=0.5)
    assert found.rest == pytest.approx(85, abs=0.5)
    assert found.p_value == pytest.approx(stats.f.sf(2.26, 9, 40), abs=0.001)


def test_h5_readings_laid_out_as_set_points(voltages, monkeypatch):
    """The same mean squares from the two-part model: a reading as a set point of the day.

    Each day's spread is dealt to its readings so that no reading differs from another over the
    days (a rotated pattern, days in two rounds); F is the ratio that the look-up is entered with.
    """
    monkeypatch.setattr(
        "slackwater.analysis.statistics.noise.POOLING_DF", 1e12
    )  # readings are all alike
    pattern = np.array([-2, -1, 0, 1, 2]) / np.sqrt(2.5)
    turned = np.array([np.roll(pattern, day) for day in range(10)])
    values = DAY_MEANS[:, None] + DAY_SPREADS[:, None] * turned
    layout = contrasts(["as is"] * 10, "as is", "as is", np.ones((10, 5), bool))
    noise = estimate_noise(values, np.zeros(5), layout)
    # Taking out the readings' own means costs 4 of the 40 degrees of freedom within.
    left = values - values.mean(axis=0) - DAY_MEANS[:, None] + DAY_MEANS.mean()
    within = (left**2).sum() / 36
    assert_allclose(noise.specific, within, rtol=2e-6)  # found by halving, see test_nist_anova
    assert float(noise.ratio) == pytest.approx(5 * DAY_MEANS.var(ddof=1) / within, rel=4e-6)


def test_expanded_uncertainty_of_instruments_is_joined_in_quadrature():
    """G.4 and 5.1: one effect known well (k = 1.96), one from few sessions (Student's t)."""
    values = np.array([[10.0], [10.2], [9.9], [10.6], [10.3], [10.8]])
    layout = contrasts(["a"] * 3 + ["b"] * 3, "a", "b", np.ones((6, 1), bool))
    plain = compare(values, np.zeros(1), layout)
    joined_ = compare(values, np.zeros(1), layout, known=[0.04])
    expected = np.hypot(plain.half_width, stats.norm.ppf(0.975) * 0.2)
    assert_allclose(joined_.half_width, expected, rtol=1e-12)
    assert joined_.difference == plain.difference


@pytest.mark.parametrize(
    ("n", "percent"), [(2, 76), (3, 52), (4, 42), (5, 36), (10, 24), (20, 16), (30, 13), (50, 10)]
)
def test_how_badly_few_sessions_tell_the_noise(n, percent):
    """Table E.1: relative standard deviation of s from n readings, here of the noise estimate."""
    rng = np.random.default_rng(n)
    trials = 20_000
    layout = contrasts(["a"] * n, "a", "a", np.ones((n, 1), bool))
    noise = estimate_noise(rng.normal(size=(trials, n, 1)), np.zeros(1), layout)
    spread = np.sqrt(noise.total[:, 0])
    found = 100 * spread.std() / spread.mean()
    # Simulated: a relative standard deviation from 20 000 values is itself good to 0.5 to 1 %
    # of itself (one standard error); three of the larger, and half the last printed digit.
    assert found == pytest.approx(percent, abs=0.5 + 0.03 * percent)
