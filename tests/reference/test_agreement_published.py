"""Agreement of raters and blinding, against published tables and general-purpose libraries."""

from __future__ import annotations

import warnings

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose
from scipy.stats import friedmanchisquare

from slackwater.analysis.statistics.agreement import (
    complete,
    intraclass,
    kendall_w,
    krippendorff_alpha,
)
from slackwater.analysis.statistics.blinding import bang_index, james_index, mean_bang_low
from slackwater.analysis.statistics.panel import panel_of, ranks_within

# P. E. Shrout and J. L. Fleiss, Psychological Bulletin 86 (1979), table 2: six targets, four judges. The
# scores are from memory; their mean squares and all six coefficients of table 4 come out as printed.
SHROUT_FLEISS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], float
)

# K. Krippendorff, "Computing Krippendorff's alpha-reliability" (2011), part C: four observers, twelve
# units, some not judged; also the example of kripp.alpha in the R package irr. The table is from memory, the
# alphas as quoted of both; that all three come out of one table is what speaks for it.
GAP = np.nan
KRIPPENDORFF = np.array(
    [
        [1, 2, 3, 3, 2, 1, 4, 1, 2, GAP, GAP, GAP],
        [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, GAP, 3],
        [GAP, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, GAP],
        [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, GAP],
    ]
).T

# The data `anxiety` of the R package irr, as the page KendallW of the R package DescTools prints them.
ANXIETY = np.array(
    [
        [3, 3, 3, 4, 5, 5, 2, 3, 5, 2, 2, 6, 1, 5, 2, 2, 1, 2, 4, 3],
        [3, 6, 4, 6, 2, 4, 2, 4, 3, 3, 2, 3, 3, 3, 2, 2, 1, 3, 3, 4],
        [2, 1, 4, 4, 3, 2, 1, 6, 1, 1, 1, 2, 3, 3, 1, 1, 3, 3, 2, 2],
    ],
    float,
).T


def test_shrout_and_fleiss_table_4() -> None:
    single, mean = intraclass(SHROUT_FLEISS)
    # Table 4: ICC(2,1) .29, ICC(2,4) .62; half the last digit.
    assert_allclose([single.value, mean.value], [0.29, 0.62], atol=0.005)


def test_limits_are_those_of_pingouin() -> None:
    import pingouin

    rows = [(t, r, s) for (t, r), s in np.ndenumerate(SHROUT_FLEISS)]
    frame = pd.DataFrame(rows, columns=["target", "rater", "score"])
    rounding = pingouin.options["round.column.CI95"]
    pingouin.options["round.column.CI95"] = None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            theirs = pingouin.intraclass_corr(frame, "target", "rater", "score")
    finally:
        pingouin.options["round.column.CI95"] = rounding
    theirs = theirs.set_index("Type")
    for name, ours in zip(("ICC(A,1)", "ICC(A,k)"), intraclass(SHROUT_FLEISS), strict=True):
        assert_allclose(ours.value, theirs.loc[name, "ICC"], rtol=1e-9)
        assert_allclose([ours.low, ours.high], theirs.loc[name, "CI95"], rtol=1e-6)
    # The test that raters agree is theirs too: F of targets over residuals, 5 and 15.
    assert_allclose(panel_of(SHROUT_FLEISS).agreement_p, theirs.loc["ICC(A,1)", "pval"], rtol=1e-6)


@pytest.mark.parametrize(
    ("metric", "printed"), [("nominal", 0.743), ("ordinal", 0.815), ("interval", 0.849)]
)
def test_krippendorff_part_c(metric: str, printed: float) -> None:
    assert_allclose(krippendorff_alpha(KRIPPENDORFF, metric), printed, atol=0.0005)  # type: ignore[arg-type]


def test_kendalls_w_of_the_anxiety_data() -> None:
    w, _ = kendall_w(ANXIETY)
    # irr and DescTools print W 0.54 with the correction for ties: from memory. That W is Friedman's
    # chi-squared over m (n - 1) is its definition, and scipy has the latter.
    assert_allclose(w, 0.54, atol=0.005)
    statistic = friedmanchisquare(*ANXIETY).statistic
    assert_allclose(w, statistic / (3 * 19), rtol=1e-12)


def test_blinding_of_a_published_table() -> None:
    # The worked table on the page of BlindingIndex.jl, a port of the R package BI: drug 48, 4 and
    # 330, placebo 22, 30 and 319 by guess; printed James 0.896, standard error 0.011, 0.875 to 0.918;
    # Bang 0.115 (0.08 to 0.15) and 0.022 (-0.016 to 0.06).
    counts = np.array([[48, 4, 330], [22, 30, 319]], float)
    james = james_index(counts)
    assert_allclose([james.value, james.low, james.high], [0.896, 0.875, 0.918], atol=0.0005)
    drug, placebo = bang_index(48, 4, 330), bang_index(30, 22, 319)
    assert_allclose([drug.value, drug.low, drug.high], [0.115, 0.08, 0.15], atol=0.0005)
    assert_allclose([placebo.value, placebo.low, placebo.high], [0.022, -0.016, 0.06], atol=0.0005)


def test_blinding_of_bang_2004() -> None:
    # Bang, Ni and Davis (2004), the cholesterol trial: 82, 25 and 170; 27, 29 and 83. From memory, as are
    # their 0.21 and 0.01; the arithmetic is (82 - 25) / 277 and (29 - 27) / 139.
    assert_allclose(bang_index(82, 25, 170).value, 57 / 277, rtol=1e-12)
    assert_allclose(bang_index(29, 27, 83).value, 2 / 139, rtol=1e-12)
    assert_allclose([57 / 277, 2 / 139], [0.21, 0.01], atol=0.005)


def test_ends_of_the_blinding_indices() -> None:
    # By their definitions: all right is 1 and 0, all unsure 0 and 1, one word for all 0 together.
    assert bang_index(20, 0, 0).value == 1.0
    assert bang_index(0, 0, 20).value == 0.0
    assert james_index(np.array([[20, 0, 0], [0, 20, 0]], float)).value == pytest.approx(0.0)
    assert james_index(np.array([[0, 0, 20], [0, 0, 20]], float)).value == pytest.approx(1.0)
    assert mean_bang_low(np.array([[0, 20, 0], [0, 20, 0]], float)) == pytest.approx(0.0)
    assert mean_bang_low(np.array([[18, 2, 0], [2, 18, 0]], float)) > 0.5


def test_levels_with_gaps_are_those_of_statsmodels() -> None:
    import statsmodels.formula.api as smf

    rng = np.random.default_rng(5)
    scores = rng.integers(1, 8, (6, 4)).astype(float)
    scores[0, 1] = scores[4, 3] = np.nan
    panel = panel_of(scores)
    rows = [(s, r, y) for (s, r), y in np.ndenumerate(scores) if np.isfinite(y)]
    frame = pd.DataFrame(rows, columns=["session", "rater", "score"])
    fit = smf.ols("score ~ C(session) + C(rater)", frame).fit()
    grid = pd.DataFrame([(s, r) for s in range(6) for r in range(4)], columns=["session", "rater"])
    theirs = fit.predict(grid).to_numpy().reshape(6, 4).mean(axis=1)
    assert_allclose(panel.values, theirs, rtol=1e-9)
    assert_allclose(panel.residual_variance, fit.mse_resid, rtol=1e-9)
    assert panel.residual_df == fit.df_resid


def test_ranks_count_who_is_above_whom() -> None:
    # Cliff's d by its definition: pairs of sessions above less pairs below, for each rater.
    rng = np.random.default_rng(6)
    scores = rng.integers(1, 6, (8, 3)).astype(float)
    first = np.array([1, 0, 0, 1, 0, 1, 1, 0], bool)
    ranks = ranks_within(scores)
    ours = (ranks[~first].mean(axis=0) - ranks[first].mean(axis=0)).mean()
    signs = np.sign(scores[~first][:, None, :] - scores[first][None, :, :])
    assert_allclose(ours, signs.mean(), rtol=1e-12)


def test_ordered_model_sees_the_same_side() -> None:
    """A large set without session noise, where a proportional-odds model is at home."""
    from statsmodels.miscmodels.ordinal_model import OrderedModel

    rng = np.random.default_rng(7)
    fitted = np.repeat([0.0, 1.0], 60)
    felt = 0.9 * fitted[:, None] + rng.logistic(size=(120, 3))
    scores = np.digitize(felt, [-1.5, -0.5, 0.5, 1.5, 2.5]).astype(float)
    ranks = ranks_within(scores)
    ours = ranks[60:].mean(axis=0) - ranks[:60].mean(axis=0)
    model = OrderedModel(scores.ravel(), np.repeat(fitted, 3)[:, None], distr="logit")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        odds = model.fit(method="bfgs", disp=False).params[0]
    # d of two logistic distributions a log odds ratio b apart: (e^b (e^b - b - 1)) / (e^b - 1)^2 is the
    # probability of superiority; ties of six points take little off it.
    e = np.exp(odds)
    superiority = e * (e - odds - 1) / (e - 1) ** 2
    assert_allclose(ours.mean(), 2 * superiority - 1, atol=0.05)


def test_only_whole_raters_count_for_icc() -> None:
    scores = SHROUT_FLEISS.copy()
    scores[2, 3] = np.nan
    assert_allclose(complete(scores), SHROUT_FLEISS[:, :3])
