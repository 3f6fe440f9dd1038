"""Pairs, equivalence, ratios and many comparisons, against published examples and libraries.

Sources stand at each check. What the package computes here always takes the one path: session
values, contrasts, compare.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from slackwater.analysis import analyse
from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.multiplicity import step_down

# Student, "The probable error of a mean", Biometrika 6 (1908), p. 20: sleep gained by ten patients
# with two drugs [h].
DRUG_1 = np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0])
DRUG_2 = np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])


def two_groups(baseline, modified, *, confidence=0.95, paired=False):
    """Compare two groups of session values at one set point, in pairs (day blocks) or not."""
    values = np.concatenate([baseline, modified])[:, None]
    names = ["a"] * len(baseline) + ["b"] * len(modified)
    blocks = [f"d{i}" for i in (*range(len(baseline)), *range(len(modified)))] if paired else None
    layout = contrasts(names, "a", "b", np.ones(values.shape, bool), blocks)
    return compare(values, np.zeros(1), layout, confidence=confidence)


def limits(found):
    return [found.low[0], found.high[0]]


def test_student_1908_as_day_blocks():
    """Mean difference 1.58, t 4.0621, 9 degrees of freedom, p 0.002833, 0.7001 to 2.4599."""
    found = two_groups(DRUG_1, DRUG_2, paired=True)
    assert found.difference[0] == pytest.approx(1.58, abs=0.005)
    assert found.difference[0] / found.standard_error[0] == pytest.approx(4.0621, abs=5e-5)
    assert found.df == pytest.approx(9, abs=1e-9)
    assert found.p_values()[0] == pytest.approx(0.002833, abs=5e-7)
    assert_allclose(limits(found), [0.7001, 2.4599], rtol=0, atol=5e-5)
    assert found.established[0]


def test_student_1908_with_the_pairing_thrown_away():
    """Pooled p 0.07919: the same figures show nothing."""
    found = two_groups(DRUG_1, DRUG_2)
    assert found.df == pytest.approx(18, abs=1e-9)
    assert found.p_values()[0] == pytest.approx(0.07919, abs=5e-6)
    assert not found.established[0]


def test_shoes_of_ten_boys_through_the_main_job(measured, write_trial):
    """BOXSHOES (Box, Hunter & Hunter 1978, pp. 97-101): a boy is a day, a shoe a session.

    Paired t 3.349, 9 degrees of freedom, p 0.0085; the same numbers unpaired p 0.72.
    """
    table = np.loadtxt(measured("nist-inference/BOXSHOES.DAT"), skiprows=25)
    verdicts = {}
    for block in ("day", "none"):
        sessions = "\n".join(
            f"  - {{id: B{int(boy)}M{int(material)}, configuration: m{int(material)}, "
            f"date: 1978-01-{int(boy):02d}}}"
            for _, material, boy in table
        )
        trial = f"""
trial: shoes
protocol:
  protocol: a-shoe-of-each-material
  runs:
    set_points: {{of: wear_test, values: ["1"]}}
    directions: one_way
    double_runs: 1
  sessions: {{per_configuration: 10, block: {block}}}
  measures: {{wear_test: {{unit: "1"}}, wear: {{unit: "1", scale: difference, better: less}}}}
  analysis: {{current: none}}
configurations: {{m1: {{title: Material A}}, m2: {{title: Material B}}}}
sessions:
{sessions}
"""
        heading = ("session", "set_point [1]", "double_run", "direction", "wear [1]")
        rows = [(f"B{int(b)}M{int(m)}", 1, 1, "out", wear) for wear, m, b in table]
        (verdicts[block],) = analyse(write_trial(trial, heading, rows)).records("comparisons")
    by_boy, apart = verdicts["day"], verdicts["none"]
    assert by_boy["verdict"] == "loss"
    assert by_boy["change"] == pytest.approx(0.41, abs=1e-9)
    assert by_boy["degrees_of_freedom"] == pytest.approx(9, abs=1e-9)
    assert by_boy["p_value"] == pytest.approx(0.0085, abs=5e-5)
    t = stats.t.ppf(0.975, 9)
    assert by_boy["noise_floor"] == pytest.approx(t * 0.41 / 3.349, abs=1.5e-4)  # t to 4 digits
    assert apart["verdict"] == "within noise"
    assert apart["p_value"] == pytest.approx(0.72, abs=0.005)
    assert apart["change"] == pytest.approx(by_boy["change"], abs=1e-9)


def test_three_readings_only():
    """Mercury, Analyst 108 (1983) 64, as in Boost.Math: mean 37.8, s 0.964365, 35.404 to 40.196.

    The second group holds one value and so tells nothing of the noise; the interval of the
    difference is the first group's t with sqrt(1/3 + 1) for sqrt(1/3).
    """
    readings = np.array([38.9, 37.4, 37.1])
    found = two_groups(readings, np.array([38.9]))
    half = (40.196 - 35.404) / 2 * np.sqrt(3 * (1 / 3 + 1))
    assert found.df == pytest.approx(2, abs=1e-9)
    assert np.sqrt(found.noise.total[0]) == pytest.approx(0.964365, abs=5e-7)
    assert found.half_width[0] == pytest.approx(half, abs=0.0005 * 2)  # as printed, times 2


def of_size(mean, spread, n, seed):
    """Values with exactly this mean and standard deviation."""
    raw = np.random.default_rng(seed).normal(size=n)
    return mean + spread * (raw - raw.mean()) / raw.std(ddof=1)


def test_two_sample_t_of_the_handbook():
    """NIST/SEMATECH car mileage, unequal numbers: T 12.94627, 136.8750 degrees of freedom (Welch).

    Pooled: T 12.62059, 326 degrees of freedom, sd 6.3426; the pooled noise is what is reported.
    """
    found = two_groups(of_size(20.14458, 6.41470, 249, 1), of_size(30.48101, 6.10771, 79, 2))
    assert found.noise.shared_df == pytest.approx(326, abs=1e-6)
    assert np.sqrt(found.noise.total[0]) == pytest.approx(6.3426, abs=5e-5)
    # The means and spreads are printed to seven digits, 1e-7 of them each.
    assert found.difference[0] / found.standard_error[0] == pytest.approx(12.94627, rel=1e-6)
    assert found.df == pytest.approx(136.8750, abs=5e-4)


@pytest.mark.parametrize("seed", range(4))
def test_unequal_numbers_are_welch_s_test_of_scipy(seed):
    rng = np.random.default_rng(seed)
    baseline, modified = rng.normal(10, 2.0, 3), rng.normal(10.5, 0.4, 7)
    found = two_groups(baseline, modified)
    known = stats.ttest_ind(modified, baseline, equal_var=False)
    assert found.p_values()[0] == pytest.approx(known.pvalue, rel=1e-9)
    assert found.df == pytest.approx(known.df, rel=1e-9)
    ends = known.confidence_interval()
    assert_allclose(limits(found), [ends.low, ends.high], rtol=1e-9)


# --- equivalence: two one-sided tests ------------------------------------------------------------


def test_equivalence_published_from_summaries():
    """Moery & Calin-Jageman, 5.25 and 5.22, sd 0.95 and 0.83, n 95 and 89, limits +-0.429.

    Published t -3.03 and p 0.001; 90 % interval -0.188 to 0.248. With one variance for both t is
    -3.025 with 182 degrees of freedom; by Welch, as unequal numbers ask for, -3.039.
    """
    modified, baseline = of_size(5.25, 0.95, 95, 3), of_size(5.22, 0.83, 89, 4)
    found = two_groups(baseline, modified, confidence=0.90)
    assert found.noise.shared_df == pytest.approx(182, abs=1e-9)
    pooled = np.sqrt(found.noise.total[0] * (1 / 95 + 1 / 89))
    assert (found.difference[0] - 0.429) / pooled == pytest.approx(-3.025, abs=5e-4)
    known = stats.ttest_ind_from_stats(5.25, 0.95, 95, 5.22 + 0.429, 0.83, 89, equal_var=False)
    p = found.inside(-0.429, 0.429).p_values[0]
    assert p == pytest.approx(known.pvalue / 2, rel=1e-6)
    assert p == pytest.approx(0.001, abs=5e-4)
    assert_allclose(limits(found), [-0.188, 0.248], rtol=0, atol=1.5e-3)


def clinic():
    module = pytest.importorskip("statsmodels.stats.tests.test_tost")
    return module.clinic


@pytest.mark.parametrize(("column", "p"), [(2, 0.0031669), (3, 0.4412034)])
def test_equivalence_on_the_clinic_data(column, p):
    """The figures of R's package equivalence, as statsmodels' own tests carry them."""
    data = clinic()
    first, second = data[:15, column], data[15:, column]
    found = two_groups(second, first, paired=True)
    assert found.inside(-0.6, 0.6).p_values[0] == pytest.approx(p, abs=5e-8)


@pytest.mark.parametrize("paired", [True, False])
@pytest.mark.parametrize("seed", range(4))
def test_equivalence_against_statsmodels_and_pingouin(paired, seed):
    import pingouin
    from statsmodels.stats.weightstats import ttost_ind, ttost_paired

    rng = np.random.default_rng(seed)
    baseline, modified = rng.normal(10, 0.5, 9), rng.normal(10.1, 0.5, 9)
    found = two_groups(baseline, modified, paired=paired)
    p = found.inside(-0.7, 0.7).p_values[0]
    known = (ttost_paired if paired else ttost_ind)(modified, baseline, -0.7, 0.7)[0]
    assert p == pytest.approx(known, rel=1e-9)
    row = pingouin.tost(modified, baseline, bound=0.7, paired=paired, correction=False)
    column = next(name for name in row.columns if name.lower().startswith("p"))
    assert p == pytest.approx(float(row[column].iloc[0]), rel=1e-9)


# --- many comparisons ----------------------------------------------------------------------------

# Benjamini & Hochberg (1995), as in the documentation of scipy.stats.false_discovery_control.
P_VALUES = [
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344),
    *(0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.000),
]


def holm(p_values):
    """The steps of the package, with the sum of the tails as the p-value of a family."""
    p = np.asarray(p_values, dtype=float)
    return step_down(lambda size: size[..., None] * p, np.isfinite(p), p.shape)


def test_holm_published():
    """Holm-adjusted 0.0015, 0.0056, 0.0247, 0.1140, 0.2211; three below 0.05."""
    adjusted = holm(P_VALUES)
    assert_allclose(adjusted[:5], [0.0015, 0.0056, 0.0247, 0.1140, 0.2211], rtol=0, atol=5e-5)
    assert (adjusted < 0.05).sum() == 3
    assert_allclose(holm([0.01, 0.04, 0.03, 0.005]), [0.03, 0.06, 0.06, 0.02], rtol=0, atol=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_holm_against_statsmodels_and_pingouin(seed):
    import pingouin
    from statsmodels.stats.multitest import multipletests

    rng = np.random.default_rng(seed)
    p = np.concatenate([rng.uniform(size=6), rng.uniform(size=5) ** 4])
    assert_allclose(holm(p), multipletests(p, method="holm")[1], rtol=1e-12)
    assert_allclose(holm(p), pingouin.multicomp(p, method="holm")[1], rtol=1e-12)
    with_gap = np.insert(p, 3, np.nan)  # a comparison that cannot be made does not count
    assert_allclose(np.delete(holm(with_gap), 3), holm(p), rtol=1e-12)


# --- ratios --------------------------------------------------------------------------------------

# R package mratios: body weights of rats [g], dose and control.
DOSE = [465.0, 492.2, 466.3, 555.5, 528.1, 483.8, 502.8, 468.1, 519.2, 500.2]
CONTROL = [519.8, 535.7, 491.7, 508.7, 565.5, 485.8, 520.7, 507.5, 428.9, 466.0]


def fieller(modified, baseline, confidence):
    """Fieller's limits of a ratio of means, independent samples of equal variance."""
    n, m = len(modified), len(baseline)
    top, bottom = np.mean(modified), np.mean(baseline)
    df = n + m - 2
    pooled = ((n - 1) * np.var(modified, ddof=1) + (m - 1) * np.var(baseline, ddof=1)) / df
    t = stats.t.ppf(0.5 + confidence / 2, df)
    a = bottom**2 - t**2 * pooled / m
    c = top**2 - t**2 * pooled / n
    return np.sort(np.roots([a, -2 * top * bottom, c]).real)


@pytest.mark.parametrize(
    ("confidence", "printed"), [(0.95, [0.928932, 1.055551]), (0.90, [0.939373, 1.043831])]
)
def test_ratio_interval_against_fieller(confidence, printed):
    """The figures of check value 5.12, and the interval on the logarithmic scale beside them.

    The two take different means (arithmetic, geometric), which differ by half the squared
    coefficients of variation (0.068: 0.0023 each), here in a ratio by half their difference; and
    Fieller's interval is skewed by its half-width squared (0.063^2 = 0.004, a tenth of which is
    left against the skew that the logarithm brings). Together well below 0.005.
    """
    known = fieller(DOSE, CONTROL, confidence)
    assert_allclose(known, printed, rtol=0, atol=5e-7)
    found = two_groups(np.log(CONTROL), np.log(DOSE), confidence=confidence)
    assert_allclose(np.exp(limits(found)), known, rtol=0, atol=0.005)


def test_the_gap_to_fieller_is_of_second_order():
    """With a tenth of the scatter the two intervals agree a hundred times better."""
    gaps = []
    for shrink in (1.0, 0.1):
        dose, control = (np.mean(g) + shrink * (np.array(g) - np.mean(g)) for g in (DOSE, CONTROL))
        found = two_groups(np.log(control), np.log(dose))
        gaps.append(np.abs(np.exp(limits(found)) - fieller(dose, control, 0.95)).max())
    assert gaps[1] < gaps[0] / 70  # 100 in the limit; the first gap has higher orders in it too


def test_percentages_are_not_symmetric():
    """+5 % then -5 % is 0.9975; on the logarithmic scale swapping the two changes the sign only."""
    forth, back = two_groups([1.0, 1.01], [1.05, 1.06]), two_groups([1.05, 1.06], [1.0, 1.01])
    assert forth.difference == pytest.approx(-back.difference)
    assert pytest.approx(0.9975, abs=1e-12) == 1.05 * 0.95


# --- a mixed model on balanced data --------------------------------------------------------------


@pytest.mark.parametrize(("order", "points", "seed"), [("ABBAAB", 6, 3), ("ABBAABBA", 4, 8)])
def test_session_values_agree_with_a_mixed_model(order, points, seed, monkeypatch):
    """statsmodels MixedLM, a random level for each session, restricted maximum likelihood.

    On balanced data its estimates are those of the analysis of variance where these are positive:
    the same differences, the same components, the same standard errors. It takes set points to be
    equally noisy, so the package's own weighing of each set point is taken to that limit.
    """
    import statsmodels.formula.api as smf

    monkeypatch.setattr("slackwater.analysis.statistics.noise.POOLING_DF", 1e12)
    monkeypatch.setattr("slackwater.analysis.statistics.evenness.ALLOWED", 1e12)
    rng = np.random.default_rng(seed)
    n = len(order)
    values = rng.normal(0, 0.5, (n, 1)) + rng.normal(0, 0.3, (n, points))
    names = ["bare" if letter == "A" else "fitted" for letter in order]
    layout = contrasts(names, "bare", "fitted", np.ones(values.shape, bool))
    found = compare(values, np.zeros(points), layout)
    assert float(found.noise.shared) > 0

    s, p = np.indices(values.shape)
    data = pd.DataFrame({"y": values.ravel(), "s": s.ravel(), "p": p.ravel()})
    data["c"] = [float(names[i] == "fitted") for i in data["s"]]
    model = smf.mixedlm("y ~ 0 + C(p) + C(p):c", data, groups="s")
    fit = model.fit(reml=True, method="powell", ftol=1e-14)
    terms = [f"C(p)[{k}]:c" for k in range(points)]
    # The fit's optimiser stops where its likelihood no longer tells: 1e-4 of a component, half of
    # that in a standard error. Differences do not depend on it.
    assert_allclose(found.difference, fit.params[terms], rtol=0, atol=1e-9)
    assert_allclose(found.noise.specific, fit.scale, rtol=1e-4)
    assert float(found.noise.shared) == pytest.approx(float(fit.cov_re.iloc[0, 0]), rel=1e-4)
    assert_allclose(found.standard_error, fit.bse[terms], rtol=5e-5)


def test_unequal_sessions_agree_with_a_mixed_model_in_the_difference():
    """Four sessions against two, all set points there: generalised least squares is the same."""
    rng = np.random.default_rng(11)
    values = rng.normal(0, 0.5, (6, 1)) + rng.normal(0, 0.2, (6, 5))
    layout = contrasts(list("aaaabb"), "a", "b", np.ones(values.shape, bool))
    found = compare(values, np.zeros(5), layout)
    assert_allclose(found.difference, values[4:].mean(axis=0) - values[:4].mean(axis=0), atol=1e-12)
    assert_allclose(layout.spread, 1 / 4 + 1 / 2, rtol=1e-12)
