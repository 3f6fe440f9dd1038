"""The parts of a trial's noise, worked out by plain least squares beside the batched path.

The scatter of runs is nought in most of these, so that the method of Mandel and Paule has a closed form:
the residual mean square with sessions and (configuration by set point) fitted.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats
from scipy.optimize import brentq

from slackwater.analysis.reduction.run_noise import pool_run_noise
from slackwater.analysis.statistics.contrasts import Contrasts, contrasts
from slackwater.analysis.statistics.noise import (
    NoiseEstimate,
    PriorNoise,
    _one_set_point,
    estimate_noise,
    residuals_of,
)

ORDER = "ABBAAB"
NAN = np.nan


def layout(values: np.ndarray, order: str = ORDER) -> Contrasts:
    return contrasts(list(order), "A", "B", np.isfinite(values))


def estimated(
    values: np.ndarray, prior: PriorNoise | None = None, runs: float = 0.0, order: str = ORDER,
    confidence: float | None = None,
) -> NoiseEstimate:  # fmt: skip
    rows = values if values.ndim == 2 else values[0]
    found = estimate_noise(
        values,
        np.full(values.shape[:-2] + values.shape[-1:], runs),
        layout(rows, order),
        prior,
        confidence,
    )
    assert found is not None
    return found


def world(shape: tuple[int, int] = (6, 4), seed: int = 3, shared: float = 0.5) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return rng.normal(0, shared, (shape[0], 1)) + rng.normal(0, 0.3, shape)


class ByHand:
    """The layout as one weighted least squares: a mean for each configuration and set point, and sessions."""

    def __init__(self, values: np.ndarray, order: str = ORDER) -> None:
        rows, columns = np.nonzero(np.isfinite(values))
        self.point, self.y = columns, values[rows, columns]
        names = sorted(set(order))
        kind = np.array([names.index(order[s]) for s in rows]) * values.shape[1] + columns
        self.cells = np.eye(kind.max() + 1)[kind]
        self.sessions = np.eye(len(values))[rows]

    def left(self, weight: np.ndarray, *, sessions: bool) -> tuple[np.ndarray, int]:
        """Weighted residuals, and the rank of what was fitted."""
        root = np.sqrt(weight)[self.point]
        design = np.hstack([self.cells, self.sessions]) if sessions else self.cells
        design = design * root[:, None]
        fit = np.linalg.lstsq(design, self.y * root, rcond=None)[0]
        return self.y * root - design @ fit, int(np.linalg.matrix_rank(design))

    def between(self, weight: np.ndarray) -> tuple[float, float, float]:
        """Squares that sessions take up, their freedom, and what their variance is multiplied with."""
        alone, few = self.left(weight, sessions=False)
        both, all_of_them = self.left(weight, sessions=True)
        root = np.sqrt(weight)[self.point][:, None]
        cells, sessions = self.cells * root, self.sessions * root
        beside = sessions - cells @ np.linalg.lstsq(cells, sessions, rcond=None)[0]
        rank = all_of_them - few
        return float(alone @ alone - both @ both), rank, float((beside**2).sum()) / rank


def parts(values: np.ndarray, order: str = ORDER) -> dict[str, np.ndarray | float]:
    """What the model in `noise` comes to where runs are without scatter and no set point is quiet."""
    hand = ByHand(values, order)
    points = values.shape[1]
    left, rank = hand.left(np.ones(points), sessions=True)
    df = len(hand.y) - rank
    extra = float(left @ left) / df
    own = np.bincount(hand.point, left**2, points) / extra
    of_point = np.isfinite(values).sum(axis=0) - 2.0
    expected = of_point * (1 - 1 / points)
    specific = (
        extra * (6 + own) / (6 + expected)
    )  # 6 degrees of freedom for all set points together
    square, df_shared, unit = hand.between(1 / specific)
    ratio = square / df_shared
    return {
        "specific": specific, "ratio": ratio, "unit": unit, "shared": max(ratio - 1, 0.0) / unit,
        "shared_df": df_shared, "specific_df": min(np.median(of_point) + 6, df), "extra": extra, "df": df,
    }  # fmt: skip


#: Sessions without a value at the first set point: none, one, and so many that one freedom is left, or none.
GAPS = {"none": [], "one": [2], "many": [3, 4, 5], "all but two": [2, 3, 4, 5]}


@pytest.mark.parametrize("gap", GAPS)
@pytest.mark.parametrize(("points", "shared"), [(2, 0.5), (4, 0.5), (4, 0.01)])
def test_both_parts_are_those_of_least_squares(gap: str, points: int, shared: float) -> None:
    values = world((6, points), shared=shared)
    values[GAPS[gap], 0] = NAN
    if gap == "all but two" and points == 2:
        return  # one set point is left, and has no parts
    hand = parts(values)
    found = estimated(values)
    if gap == "none":
        assert_allclose(found.specific, hand["specific"], rtol=1e-5)
    assert found.shared_df == hand["shared_df"] == 4
    assert found.specific_df == hand["specific_df"]
    # Given the part of each set point, what sessions share is Henderson's reduction.
    square, df, unit = ByHand(values).between(1 / found.specific)
    assert float(found.ratio) == pytest.approx(square / df, rel=1e-9)
    assert_allclose(found.share, found.specific * unit, rtol=1e-9)
    assert float(found.shared) == pytest.approx(max(square / df - 1, 0.0) / unit, abs=1e-12)
    assert_allclose(found.runs, 0.0)


def test_with_a_gap_the_mean_part_of_set_points_is_the_residual_mean_square() -> None:
    values = world()
    values[2, 1] = NAN
    left, rank = ByHand(values).left(np.ones(4), sessions=True)
    extra = float(left @ left) / (len(ByHand(values).y) - rank)
    found = estimated(values)
    own = np.bincount(ByHand(values).point, left**2, 4) / extra
    of_point = np.array([4.0, 3.0, 4.0, 4.0])
    assert_allclose(found.specific, extra * (6 + own) / (6 + of_point * 0.75), rtol=1e-4)


def test_a_set_point_that_nobody_repeated_has_the_noise_of_the_others() -> None:
    values = world()
    values[2:, 0] = NAN
    found, others = estimated(values), estimated(values[:, 1:])
    hand = parts(values[:, 1:])
    assert_allclose(found.specific[1:], others.specific, rtol=1e-5)
    assert_allclose(found.specific[0], hand["extra"], rtol=1e-5)
    assert float(found.shared) == pytest.approx(float(others.shared), rel=1e-5)
    assert (found.shared_df, found.specific_df) == (4.0, 8.0)


def test_run_noise_is_taken_off_before_it_is_put_back() -> None:
    """With runs that scatter alike, the part beyond them makes up the same mean square."""
    values = world()
    without, with_runs = estimated(values), estimated(values, runs=0.02)
    assert_allclose(with_runs.specific, without.specific, rtol=1e-4)
    assert_allclose(with_runs.runs, 0.02)
    nearly = estimated(values, runs=0.95 * float(parts(values)["extra"]))
    assert_allclose(nearly.specific, without.specific, rtol=1e-4)
    # Runs that scatter more than all there is to see leave nothing beyond.
    noisy = estimated(values, runs=5.0)
    own, extra, of_point = parts(values)["extra"], 5.0, 4 * 0.75
    left, _ = ByHand(values).left(np.ones(4), sessions=True)
    each = np.bincount(ByHand(values).point, left**2, 4) / extra
    assert own < 1
    assert_allclose(noisy.specific, extra * (6 + each) / (6 + of_point), rtol=1e-6)
    assert_allclose(noisy.runs, np.minimum(5.0, noisy.specific))


def test_earlier_trials_are_joined_by_their_degrees_of_freedom() -> None:
    values, df = world(), 9.0
    plain = parts(values)
    prior = PriorNoise(0.3, 0.12, 0.0, df)
    found = estimated(values, prior, runs=0.01)
    assert found.prior_fits is not None
    assert found.prior_fits.all()
    # The prior's part, runs of this trial on top, joins before set points are drawn together.
    joined = (plain["df"] * plain["extra"] + df * (0.12 + 0.01)) / (plain["df"] + df)
    left, _ = ByHand(values).left(np.ones(4), sessions=True)
    own = np.bincount(ByHand(values).point, left**2, 4) / joined
    specific = joined * (6 + own) / (6 + 4 * 0.75)
    assert_allclose(found.specific, specific, rtol=1e-5)
    square, shared_df, unit = ByHand(values).between(1 / specific)
    ratio = (square + df * (1 + 0.3 * unit)) / (shared_df + df)
    assert float(found.ratio) == pytest.approx(ratio, rel=1e-5)
    assert float(found.shared) == pytest.approx((ratio - 1) / unit, rel=1e-5)
    assert (found.shared_df, found.specific_df) == (4 + df, min(4 + 6, 12) + df)
    assert found.freedom is not None
    assert [float(each) for each in found.freedom] == [4 + df, 10 + df]
    # One that knows nothing of set points leaves these as they are.
    none = estimated(values, replace(prior, session_by_set_point=None))
    assert_allclose(none.specific, plain["specific"], rtol=1e-5)
    assert (none.shared_df, none.specific_df) == (4 + df, 10.0)
    joined_ratio = (4 * plain["ratio"] + df * (1 + 0.3 * plain["unit"])) / (4 + df)
    assert float(none.ratio) == pytest.approx(joined_ratio, rel=1e-5)


# --- whether earlier trials fit ------------------------------------------------------------------


def even(points: int = 4) -> np.ndarray:
    """Set points that scatter alike, so that all weigh the same."""
    ripple = np.outer([1, -1, 1, 1, -2, 0], [1, -1, 1, -1][:points]) * 0.1
    return np.array([0.5, -0.2, 0.9, -0.4, 0.1, -0.3])[:, None] + ripple


@pytest.mark.parametrize("runs", [0.0, 0.04])
@pytest.mark.parametrize("part", [None, 0.02])
def test_sessions_contradict_a_prior_at_one_chance_in_seven(
    part: float | None, runs: float
) -> None:
    """F of the session means' own square over what the prior lets expect, one chance in 1 / 0.15."""
    values, df = even(), 7.0
    own = estimated(values, runs=runs)
    weight = 1 / own.specific
    means = residuals_of(values, layout(values)) @ weight / weight.sum()
    square = float(means @ means) / 4
    rest = 1 / weight.sum() if part is None else (part + runs) / 4

    def chance(between: float) -> float:
        return stats.f.sf(square / (between + rest), 4, df) - 0.15

    edge = brentq(chance, 0.0, 10.0)
    for factor, fits in ((1.02, True), (0.98, False)):
        found = estimated(values, PriorNoise(edge * factor, part, 0.0, df), runs=runs)
        assert found.prior_fits is not None
        if part is None or runs:
            assert bool(found.prior_fits) is fits
            three = estimated(
                np.stack([values] * 3), PriorNoise(edge * factor, part, 0.0, df), runs=runs
            )
            assert three.prior_fits is not None
            assert three.prior_fits.tolist() == [fits] * 3
        if not fits:
            assert_allclose(found.specific, own.specific)
            assert (found.shared_df, found.specific_df) == (4.0, 10.0)
            assert float(found.ratio) == pytest.approx(float(own.ratio))


@pytest.mark.parametrize("runs", [0.0, 0.004])
def test_set_points_contradict_a_prior_at_a_quarter_of_that(runs: float) -> None:
    values, df = even(), 7.0
    own = estimated(values, runs=runs)
    seen = stats.hmean(own.specific)
    edge = brentq(lambda part: stats.f.sf(seen / (part + runs), 10, df) - 0.15 / 4, 1e-6, 1.0)
    for factor, fits in ((1.02, True), (0.98, False)):
        found = estimated(values, PriorNoise(5.0, edge * factor, 0.0, df), runs=runs)
        assert found.prior_fits is not None
        assert bool(found.prior_fits) is fits


def test_with_one_set_point_all_parts_are_expected_together() -> None:
    values, df, runs = world((6, 1)), 7.0, 0.02
    square = (
        sum(values[[i for i, o in enumerate(ORDER) if o == c], 0].var(ddof=1) for c in "AB") / 2
    )
    edge = brentq(lambda size: stats.f.sf(square / size, 4, df) - 0.15, 1e-3, 10.0)
    for factor, fits in ((1.02, True), (0.98, False)):
        whole = edge * factor
        for part in (None, 0.3 * whole):
            prior = PriorNoise(whole - (part or 0.0) - runs, part, 0.0, df)
            found = estimated(values, prior, runs=runs)
            assert found.prior_fits is not None
            assert bool(found.prior_fits) is fits
            expected = (4 * square + df * whole) / (4 + df) if fits else square
            assert_allclose(found.specific, expected)
            assert found.shared_df == (4 + df if fits else 4)
            assert found.specific_df == 0.0


def test_trial_by_trial_a_prior_is_taken_or_left() -> None:
    quiet, loud = even(), 5 * even()
    prior = PriorNoise(0.4, 0.05, 0.0, 9.0)
    both = estimated(np.stack([quiet, loud]), prior)
    assert both.prior_fits is not None
    assert both.prior_fits.tolist() == [True, False]
    assert both.freedom is not None
    assert [each.tolist() for each in both.freedom] == [[13.0, 4.0], [19.0, 10.0]]
    assert (both.shared_df, both.specific_df) == (4.0, 10.0)  # the fewest
    one, two = estimated(quiet, prior), estimated(loud)
    for name in ("shared", "specific", "runs", "ratio", "share"):
        got = getattr(both, name)
        assert_allclose(got[0], getattr(one, name), rtol=1e-9)
        assert_allclose(got[1], getattr(two, name), rtol=1e-9)


# --- one set point, or none repeated -------------------------------------------------------------


def test_one_set_point_is_held_to_what_its_runs_allow() -> None:
    values = np.array([[0.0], [0.0], [0.01], [0.01], [-0.01], [-0.01]])
    square = 2 * 2e-4 / 4
    assert_allclose(estimated(values, runs=1e-5).specific, square)
    assert_allclose(estimated(values, runs=1e-3).specific, 1e-3)
    ratio = (stats.norm.ppf(0.975) / stats.t.ppf(0.975, 4)) ** 2
    assert_allclose(estimated(values, runs=1e-3, confidence=0.95).specific, 1e-3 * ratio)
    found = estimated(values, runs=1e-3, confidence=0.95)
    assert_allclose(found.runs, 1e-3 * ratio)  # no more than the whole
    assert (found.shared_df, found.specific_df) == (4.0, 0.0)
    assert found.shared.tolist() == 0.0
    assert found.ratio.tolist() == 1.0
    assert found.share.tolist() == [1.0]
    # A second set point that nobody repeated is no second one.
    twice = np.hstack([values, np.full((6, 1), NAN)])
    twice[:2, 1] = 0.5
    alone = estimated(twice, runs=1e-5)
    assert (alone.specific_df, alone.shared.tolist()) == (0.0, 0.0)
    assert_allclose(alone.specific, [square, 1e-5])


def test_rounding_where_nothing_is_repeated_is_no_noise() -> None:
    """Divided by no degrees of freedom it came to the largest number there is, and ran over in what follows."""
    values = world((6, 2))
    values[2:, 1] = NAN  # one session of each configuration
    plan = layout(values)
    assert plan.residual_df.tolist() == [4.0, 0.0]
    rest = np.array([[0.3, 1e-17], [-0.3, 1e-17], *[[0.0, 0.0]] * 4])
    found = _one_set_point(rest, np.array([1e-4, 1e-4]), plan, None, None)
    assert_allclose(found.specific, [0.18 / 4, 1e-4])


def test_where_none_is_repeated_all_comes_from_earlier_trials() -> None:
    values = np.array([[0.0, 1.0, 2.0], [1.0, 2.0, 3.0]])
    prior = PriorNoise(0.3, 0.1, 0.04, 9.0)
    found = estimate_noise(values, np.array([0.02, 0.0, 0.06]), layout(values, "AB"), prior)
    assert found is not None
    specific = np.array([0.12, 0.14, 0.16])
    unit = (1 / specific).sum()
    assert_allclose(found.specific, specific)
    assert_allclose(found.runs, [0.02, 0.04, 0.06])
    assert float(found.shared) == pytest.approx(0.3)
    assert float(found.ratio) == pytest.approx(1 + 0.3 * unit)
    assert_allclose(found.share, specific * unit)
    assert (found.shared_df, found.specific_df, found.prior_fits) == (9.0, 9.0, None)
    both = estimate_noise(np.stack([values, values]), np.zeros((2, 3)), layout(values, "AB"), prior)
    assert both is not None
    assert_allclose(both.shared, [0.3, 0.3])
    assert_allclose(both.specific, 0.14)
    unknown = replace(prior, session_by_set_point=None)
    assert estimate_noise(values, np.zeros(3), layout(values, "AB"), unknown) is None
    single = estimate_noise(values[:, :1], np.zeros(1), layout(values[:, :1], "AB"), unknown)
    assert single is not None
    assert_allclose(single.specific, [0.34])
    assert_allclose(single.share, [1.0])
    assert float(single.shared) == 0.0
    assert float(single.ratio) == 1.0
    assert (single.shared_df, single.specific_df) == (9.0, 0.0)


# --- figures of an estimate ----------------------------------------------------------------------


def test_totals_and_what_is_typical() -> None:
    found = NoiseEstimate(
        shared=np.array(0.5), specific=np.array([0.2, 0.4]), runs=np.zeros(2), ratio=np.array(3.0),
        share=np.array([2.0, 5.0]), shared_df=4.0, specific_df=8.0,
    )  # fmt: skip
    assert_allclose(found.total, [0.7, 0.9])
    assert_allclose(replace(found, loading=np.array([1.0, 2.0])).total, [0.7, 2.4])
    # Weights 5 and 2.5: two thirds of the one, a third of the other.
    assert float(found.typical(np.array([0.3, 0.9]))) == pytest.approx(0.5)
    # Units 0.1 and 0.08: 0.3 on 4 and 0.1 on 8 freedoms; 0.24 and 0.32 at the other.
    expected = [0.4**2 / (0.3**2 / 4 + 0.1**2 / 8), 0.56**2 / (0.24**2 / 4 + 0.32**2 / 8)]
    assert_allclose(found.effective_df(), expected)
    few = replace(found, specific_df=0.5)
    assert_allclose(few.effective_df()[0], 0.4**2 / (0.3**2 / 4 + 0.1**2))
    assert_allclose(replace(found, specific_df=0.0).effective_df(), [4.0, 4.0])


# --- the noise of runs ---------------------------------------------------------------------------


def squeezed(variance: np.ndarray, df: np.ndarray) -> np.ndarray:
    """Smyth (2004), section 6.2, with the trigamma function inverted by a root finder."""
    from scipy.special import digamma, polygamma

    e = np.log(variance) - digamma(df / 2) + np.log(df / 2)
    excess = e.var(ddof=1) - polygamma(1, df / 2).mean()
    half = brentq(lambda x: polygamma(1, x) - excess, 1e-3, 1e6)
    prior = np.exp(e.mean() + digamma(half) - np.log(half))
    return (2 * half * prior + df * variance) / (2 * half + df)


def test_run_noise_is_drawn_to_the_others_as_smyth_has_it() -> None:
    variance, df = np.array([1.0, 8.0, 0.3, 2.5, 30.0]), np.array([4.0, 6.0, 9.0, 4.0, 12.0])
    known = squeezed(variance, df)
    assert (known < variance).any()
    assert_allclose(pool_run_noise(variance, df), np.maximum(known, variance), rtol=1e-6)
    # One that is not known, or has no freedom, tells the others nothing and is told by them.
    more = np.array([*variance, NAN, 5.0, 0.0]), np.array([*df, 3.0, 0.0, 4.0])
    found = pool_run_noise(*more)
    assert_allclose(found[:5], np.maximum(known, variance), rtol=1e-6)
    assert found[5] == found[6] == pytest.approx(found[7])
    assert 0 < found[5] < 10
    # Two trials at once are each by itself.
    both = pool_run_noise(np.stack([variance, variance[::-1]]), np.stack([df, df[::-1]]))
    assert_allclose(both[1][::-1], both[0])
    two = pool_run_noise(np.stack([variance, 3 * variance]), np.stack([df, df]))
    assert_allclose(two, [both[0], 3 * both[0]])
    assert pool_run_noise(np.array([2.0, NAN]), np.array([3.0, 0.0])).tolist() == [2.0, 0.0]
    assert pool_run_noise(np.array([2.0, NAN]), np.array([0.0, 0.0])).tolist() == [2.0, 0.0]


def test_run_noise_that_is_alike_everywhere_is_one_noise() -> None:
    """No more scatter than chance gives: the prior is all, but for the mean of the logarithm's bias."""
    from scipy.special import digamma

    found = pool_run_noise(np.full(3, 2.0), np.full(3, 6.0))
    assert_allclose(found, 2.0 * np.exp(np.log(3) - digamma(3)), rtol=1e-3)
