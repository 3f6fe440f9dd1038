"""Agreement, panels and blinding of raters on numbers that are plain.

What these are as a whole is held against published tables and other libraries in tests/reference; here stand
the ends of their ranges, their defaults and what they say where there is nothing to tell.
"""

from __future__ import annotations

import numpy as np
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
from slackwater.analysis.statistics.panel import (
    agree,
    least_agreed,
    panel_of,
    ranks_within,
    shared_excess,
)

NAN = np.nan


# --- agreement -------------------------------------------------------------------------------------


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


# --- panels ----------------------------------------------------------------------------------------


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


# --- blinding --------------------------------------------------------------------------------------


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
