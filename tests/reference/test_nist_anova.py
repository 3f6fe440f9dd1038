"""Certified analyses of variance, recovered through the package's own noise estimation.

Data: NIST Statistical Reference Datasets, one-way analysis of variance, as scipy's own wheel
carries them (scipy.stats.tests.data / nist_anova). A treatment is a session at one set point, a
replicate a run: the scatter within the cells is the mean square within, and the variance of the
session values times the runs in each is the mean square between.

The certified values have 15 digits; doubles do not hold the data that well. A stored value is off
by up to eps/2 of itself, which against a standard deviation within of s is eps/2 * mean / s, and a
mean square doubles it. The tolerance is ten of these (the certified files with 1, 7 and 13 leading
digits in common get stricter or looser by that alone).
"""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.reduction.current import by_single_runs
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.statistics.noise import estimate_noise

EPS = np.finfo(float).eps
NAMES = ("SiRstv", "AtmWtAg", *(f"SmLs0{k}" for k in range(1, 10)))


def certified(name):
    """Treatment and response, and the certified mean squares between and within, and F."""
    text = (files("scipy.stats.tests.data") / "nist_anova" / f"{name}.dat").read_text()
    lines = text.splitlines()
    between = next(line for line in lines if line.startswith("Between"))
    within = next(line for line in lines if line.startswith("Within"))
    table = np.array([line.split() for line in lines[60:] if line.strip()], float)
    mean_between, f_value = (float(word) for word in between.split()[-2:])
    return table[:, 0], table[:, 1], mean_between, float(within.split()[-1]), f_value


@pytest.mark.parametrize("name", NAMES)
def test_one_way_analysis(name):
    treatment, response, between, within, f_value = certified(name)
    cell = np.unique(treatment, return_inverse=True)[1]
    cells = by_single_runs(response, cell)
    replicates = 1 / cells.factor[0]
    mean_within = cells.scatter.sum() / cells.df.sum()
    layout = contrasts(
        ["as built"] * cells.value.size,
        "as built",
        "as built",
        np.ones((cells.value.size, 1), bool),
    )
    noise = estimate_noise(cells.value[:, None], np.zeros(1), layout)
    assert noise.shared_df == cells.value.size - 1

    tolerance = 10 * EPS * abs(response.mean()) / np.sqrt(within)
    assert tolerance < 0.03  # the worst: 13 leading digits in common, of the 16 a double has
    assert_allclose(mean_within, within, rtol=tolerance)
    mean_between = replicates * noise.total[0]
    assert_allclose(mean_between, between, rtol=tolerance)
    assert_allclose(mean_between / mean_within, f_value, rtol=2 * tolerance)


def test_the_part_of_the_runs_is_told_apart():
    """A session value carries the runs' share of the noise: sqrt((MSB - MSW) / n) is between."""
    treatment, response, between, within, _ = certified("SmLs01")
    cells = by_single_runs(response, np.unique(treatment, return_inverse=True)[1])
    runs = cells.scatter.sum() / cells.df.sum() * cells.factor[:1]
    layout = contrasts(["x"] * 9, "x", "x", np.ones((9, 1), bool))
    noise = estimate_noise(cells.value[:, None], runs, layout)
    component = noise.total[0] - noise.runs[0]
    assert component == pytest.approx((between - within) / 21, rel=1e-10)


# Two-way layout: the table that statsmodels computes is the other side of these checks.
@pytest.fixture
def all_alike(monkeypatch):
    """Take every set point to be as noisy as the others, which an analysis of variance assumes."""
    monkeypatch.setattr("slackwater.analysis.statistics.noise.POOLING_DF", 1e12)


def layout_of(order, points):
    names = ["bare" if letter == "A" else "fitted" for letter in order]
    return names, contrasts(names, "bare", "fitted", np.ones((len(order), points), bool))


FULL = "C(c)*C(p) + C(s)"  # one session too many for its configurations; the rank takes care


@pytest.mark.filterwarnings("ignore::statsmodels.tools.sm_exceptions.SingularMatrixWarning")
@pytest.mark.parametrize(("order", "points"), [("ABBA", 3), ("ABBAAB", 8), ("ABBAABBAAB", 5)])
def test_two_way_layout_against_an_analysis_of_variance(order, points, all_alike):
    import pandas as pd
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    rng = np.random.default_rng(len(order) * points)
    names, layout = layout_of(order, points)
    values = rng.normal(0, 0.004, (len(order), points)) + rng.normal(0, 0.01, (len(order), 1))
    noise = estimate_noise(values, np.zeros(points), layout)

    s, p = np.indices(values.shape)
    data = pd.DataFrame({"y": values.ravel(), "s": s.ravel(), "p": p.ravel()})
    data["c"] = [names[i] for i in data["s"]]
    without, with_sessions = (smf.ols(f"y ~ {m}", data).fit() for m in ("C(c)*C(p)", FULL))
    table = anova_lm(without, with_sessions)  # what a level for each session takes away
    assert table["df_diff"].iloc[1] == len(order) - 2
    between = table["ss_diff"].iloc[1] / table["df_diff"].iloc[1]
    within = table["ssr"].iloc[1] / table["df_resid"].iloc[1]
    # The set-point variance is found by halving an interval 24 times over 21 e-folds: 2e-6.
    assert_allclose(noise.specific, within, rtol=2e-6)
    assert float(noise.ratio) == pytest.approx(between / within, rel=4e-6)
    assert noise.shared_df == len(order) - 2
    expected = max(between - within, 0) / points
    assert float(noise.shared) == pytest.approx(expected, rel=1e-5, abs=1e-12)


def test_glucose_repeatability_and_reproducibility(measured):
    """ASTM E691 example: laboratories as sessions, three replicates as runs, one material a time.

    Published s_r and s_R, with the cell 148.30 as filed (the printed table corrects it): GLUCOSE,
    see the SOURCE.md beside it.
    """
    table = np.loadtxt(measured("nist-inference/GLUCOSE.DAT"), skiprows=25)
    response, laboratory, material = table[:, 0], table[:, 1].astype(int), table[:, 2].astype(int)
    published = [
        (1.063, 1.063),
        (1.495, 1.580),
        (2.748, 3.477),
        (2.625, 3.366),
        (3.935, 4.192),
    ]
    for number, (repeatability, reproducibility) in enumerate(published, start=1):
        mine = material == number
        cells = by_single_runs(response[mine], laboratory[mine] - 1)
        within = cells.scatter.sum() / cells.df.sum()
        layout = contrasts(["x"] * 8, "x", "x", np.ones((8, 1), bool))
        noise = estimate_noise(cells.value[:, None], np.array([within / 3]), layout)
        assert np.sqrt(within) == pytest.approx(repeatability, abs=5e-4)
        # s_R is never below s_r: for material A the session values vary less than runs alone would.
        between = noise.total[0] - noise.runs[0]
        assert np.sqrt(between + within) == pytest.approx(reproducibility, abs=5e-4)
