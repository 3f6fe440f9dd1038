"""Factors, signs, halves and ones in their place: figures that can be worked out by hand.

Each of these was once wrong in a copy of the code without any test noticing; `python
tests/mutants/run.py` makes those copies anew and shows that the tests here tell them.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from invented_runs import runs
from numpy.testing import assert_allclose
from scipy.special import fdtri, polygamma, stdtrit
from scipy.stats import norm
from statsmodels.api import OLS
from sweep_tables import table

from slackwater.analysis.intake.tables import read_runs
from slackwater.analysis.pipeline import compute
from slackwater.analysis.quantities.derived import Fitted, derived
from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.reduction.run_noise import _trigamma_inverse
from slackwater.analysis.reduction.set_aside import select
from slackwater.analysis.result.assembly import assemble, mean_half_width
from slackwater.analysis.statistics.assumptions import drift, session_levels
from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import Contrasts, contrasts
from slackwater.analysis.statistics.noise import NoiseEstimate, PriorNoise, estimate_noise
from slackwater.analysis.statistics.reach import _OfSweep, reach_of
from slackwater.analysis.verdict.judgement import judge_sweep
from slackwater.analysis.verdict.prior_findings import prior_findings
from slackwater.analysis.verdict.sealed_families import first_moment
from slackwater.analysis.verdict.terms import Terms, terms_of
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.trial import load_trial

EXAMPLE = Path(__file__).parents[2] / "examples" / "workboat-interceptors" / "trial.yaml"
ORDER = ["A", "B", "B", "A", "A", "B"]
POINTS = (1000.0, 2000.0, 3000.0)
CERTAIN = 1e9  # degrees of freedom of what is known


def values(*changes: float, seed: int = 5, noise: float = 0.006) -> np.ndarray:
    """Log session values of six sessions with a change at each set point."""
    rng = np.random.default_rng(seed)
    shared = rng.normal(0, noise, (6, 1)) + rng.normal(0, noise / 2, (6, len(changes)))
    fitted = np.array([name == "B" for name in ORDER])[:, None]
    return np.asarray(shared + fitted * np.log1p(changes))


# --- scaling ---------------------------------------------------------------------------------


def test_a_loading_leaves_known_errors_as_large_as_they_are() -> None:
    rows = values(0.0, 0.0, 0.0)
    size = np.array([0.5, 1.0, 2.0])
    found = replace(
        table("speed", POINTS, 10 * np.exp(rows * size)),
        instrument_variance=np.full(3, 0.02**2),
        loading=size,
    )
    judged = judge_sweep(found, ORDER, "A", "B", Terms())
    assert judged.differences is not None
    assert_allclose(judged.differences.known + judged.differences.common, 0.02**2, rtol=1e-12)
    assert_allclose([row.shared_uncertainty for row in judged.rows], 0.02, rtol=1e-9)


def test_scaled_differences_scale_variances_twice() -> None:
    rows = values(0.0, 0.01, 0.02)
    plain = compare(rows, np.zeros(3), contrasts(ORDER, "A", "B", np.isfinite(rows)), known=1e-4)
    assert plain is not None
    twice = plain.scaled(np.full(3, 2.0))
    assert_allclose(twice.known, 4 * plain.known)
    assert_allclose(twice.difference, 2 * plain.difference)
    assert_allclose(twice.noise.specific, 4 * plain.noise.specific)
    assert_allclose(twice.noise.total, 4 * plain.noise.total)
    assert_allclose(twice.floor, 2 * plain.floor)
    assert_allclose(twice.half_width, 2 * plain.half_width)
    assert_allclose(twice.p_values(), plain.p_values())
    one, other = plain.inside(-0.01, 0.01), twice.inside(-0.02, 0.02)
    assert_allclose(other.reach, 2 * one.reach)
    assert_allclose(other.p_values, one.p_values)


# --- steps -----------------------------------------------------------------------------------


def test_what_is_established_first_keeps_the_bound_of_the_whole_family() -> None:
    rows = values(0.20, 0.022, 0.0, seed=3, noise=0.004)
    found = compare(rows, np.zeros(3), contrasts(ORDER, "A", "B", np.isfinite(rows)))
    assert found is not None
    assert found.established[0]
    assert not found.established[2]
    assert found.floor[0] == pytest.approx(found.half_width[0], rel=1e-12)
    assert found.floor[2] < found.half_width[2]  # judged in what is left of the family


def test_the_floor_of_a_loss_is_on_its_side() -> None:
    rows = values(-0.20, -0.21, -0.20, noise=0.03)
    judged = judge_sweep(table("speed", POINTS, np.exp(rows)), ORDER, "A", "B", Terms())
    found = judged.differences
    assert found is not None
    assert_allclose(
        [row.noise_floor for row in judged.rows], np.abs(np.expm1(-found.floor)), rtol=1e-12
    )


def test_a_worthwhile_ratio_is_a_ratio_on_the_logarithmic_scale() -> None:
    """Inside ±10 % means inside ln 1.1 = 0.0953, and not inside 0.1."""
    rows = values(0.0, seed=1, noise=1e-5)
    rows = rows - rows.mean() + np.array([name == "B" for name in ORDER])[:, None] * 0.098
    judged = judge_sweep(table("speed", POINTS[:1], np.exp(rows)), ORDER, "A", "B",
                         Terms(worthwhile=0.1))  # fmt: skip
    (row,) = judged.rows
    assert row.change == pytest.approx(math.expm1(0.098), abs=1e-4)
    assert row.equivalence_p is not None
    assert row.equivalence_p > 0.5  # 10.3 % lies outside


@pytest.mark.parametrize(("better", "change"), [("more", -0.1), ("less", 0.1)])
def test_a_large_loss_is_not_ruled_out(better: str, change: float) -> None:
    rows = values(change, noise=0.001)
    compared = replace(table("speed", POINTS[:1], np.exp(rows)), better=better)
    (row,) = judge_sweep(compared, ORDER, "A", "B", Terms(worthwhile=0.03, one_sided=True)).rows
    assert row.verdict == "loss"
    assert row.no_loss_p is not None
    assert row.no_loss_p > 0.5
    back = replace(compared, better="less" if better == "more" else "more")
    (row,) = judge_sweep(back, ORDER, "A", "B", Terms(worthwhile=0.03, one_sided=True)).rows
    assert row.verdict == "gain"
    assert row.no_loss_p is not None
    assert row.no_loss_p < 0.01


def test_a_configuration_without_a_value_has_no_mean() -> None:
    rows = np.exp(values(0.0, 0.0))
    rows[[name == "B" for name in ORDER], 1] = np.nan
    judged = judge_sweep(table("speed", POINTS[:2], rows), ORDER, "A", "B", Terms())
    assert np.isfinite(judged.mean_of("A")).tolist() == [True, True]
    assert np.isfinite(judged.mean_of("B")).tolist() == [True, False]


# --- known errors -----------------------------------------------------------------------------


def test_a_common_error_brings_its_freedom_to_what_sessions_share() -> None:
    """1.8 times the mean square, of which only one is estimated: 1.8² = 3.2 times the freedom."""
    specific, spread = np.full(4, 1e-4), np.full(4, 2 / 3)
    noise = NoiseEstimate(
        shared=np.array(0.0),
        specific=specific,
        runs=np.zeros(4),
        ratio=np.array(1.0),
        share=np.full(4, 4.0),
        shared_df=4.0,
        specific_df=10.0,
    )
    unit = specific / 4 * spread  # of a difference, for each unit of the ratio
    found = reach_of(noise, spread, known=np.zeros(4), common=0.8 * unit, family=4, confidence=0.95)
    assert isinstance(found, _OfSweep)
    assert found.freedom[0].tolist() == [12.0] * 4
    assert found.freedom[1].tolist() == [10.0] * 4


# --- what is looked at beside a verdict ------------------------------------------------------------


def test_a_drift_has_the_p_value_of_a_regression() -> None:
    rows = values(0.02, 0.02, seed=9)
    levels = session_levels(rows, contrasts(ORDER, "A", "B", np.isfinite(rows)))
    assert levels is not None
    found = drift(levels)
    assert found is not None
    design = np.column_stack([np.ones(6), [name == "B" for name in ORDER], np.arange(6)]).astype(
        float
    )
    fit = OLS(rows.mean(axis=1), design).fit()
    assert_allclose(found, (5 * fit.params[2], fit.pvalues[2]), rtol=1e-9)


# --- prior noise -----------------------------------------------------------------------------


def test_a_prior_that_is_certain_is_what_comes_out() -> None:
    rows = values(0.0, 0.0, 0.0, noise=0.006)
    layout = contrasts(ORDER, "A", "B", np.isfinite(rows))
    own = estimate_noise(rows, np.zeros(3), layout)
    assert own is not None
    between = float(own.shared) or 0.006**2
    prior = PriorNoise(between, float(own.specific.mean()), 0.0, CERTAIN)
    found = estimate_noise(rows, np.zeros(3), layout, prior)
    assert found is not None
    assert_allclose(found.shared, between, rtol=1e-4)


@pytest.mark.parametrize(("true", "rules"), [(0.006, []), (0.03, ["prior-does-not-fit"])])
def test_a_prior_is_told_of_where_it_does_not_fit(true: float, rules: list[str]) -> None:
    rows = np.exp(values(0.0, 0.0, 0.0, noise=true))
    prior = PriorNoise(0.006**2, 0.003**2, 0.0, 20.0)
    judged = judge_sweep(table("speed", POINTS, rows), ORDER, "A", "B", Terms(prior=prior))
    without = judge_sweep(table("economy", POINTS, rows), ORDER, "A", "B", Terms())
    assert [each.rule for each in prior_findings([without, judged])] == rules


def protocol(**analysis: object) -> Protocol:
    noise = {"between_sessions": "0.6 %", "within_session": "0.4 %", "session_by_set_point": "0.2 %",
             "sessions": "12"}  # fmt: skip
    return Protocol.model_validate(
        {
            "protocol": "p",
            "runs": {
                "set_points": {"of": "engine_speed", "values": ["1000 rpm", "2000 rpm"]},
                "double_runs": "4",
            },
            "measures": {"speed_over_ground": {"unit": "kn"}, "fuel_flow": {"unit": "L/h"}},
            "noise": {"speed": noise, "economy": noise},
            "analysis": {"worthwhile": {"speed": "1 %", "economy": "3 %"}, **analysis},
        }
    )


def test_what_a_prior_is_worth() -> None:
    terms = terms_of(protocol(), table("speed", POINTS[:2], np.full((2, 2), 10.0)))
    assert terms.prior is not None
    assert terms.prior.df == 11  # of twelve sessions
    assert terms.prior.between_sessions == pytest.approx(0.006**2)
    assert terms.prior.within_session == pytest.approx(0.004**2 / 4)  # of four double runs


@pytest.mark.parametrize(
    ("name", "worthwhile", "has_prior"),
    [
        ("top_speed", 0.01, True),
        ("range", 0.03, True),
        ("best_economy", 0.03, False),  # found where noise in the speed moves it
        ("fuel_per_distance", 0.03, True),
        ("fuel_flow", None, False),
    ],
)
def test_what_serves_for_another_quantity(
    name: str, worthwhile: float | None, has_prior: bool
) -> None:
    terms = terms_of(protocol(), table(name, POINTS[:1], [[10.0], [10.0]]))
    assert terms.worthwhile == worthwhile
    assert (terms.prior is not None) == has_prior


# --- derived, curves, means ------------------------------------------------------------------


def test_slip_takes_the_instruments_of_the_advance_times_its_level_squared() -> None:
    speed = replace(
        table("speed", (1000.0,), [[8.0], [8.0]]), instrument_variance=np.array([0.01**2])
    )
    found = derived(
        {"speed": speed}, Fitted((0.6, 0.6), (2.0, 2.0)), SweepAxis("engine_speed", "rpm")
    )
    advance = 8.0 * 1852 / 60 / 500
    assert_allclose(found["slip"].instrument_variance, (0.01 * advance / 0.6) ** 2, rtol=1e-9)


def test_what_sessions_share_from_curves_is_the_largest_of_them() -> None:
    found = replace(
        table("speed", POINTS, np.full((3, 3), 10.0)),
        curve_variance=np.array([[1.0, 2.0, 3.0], [3.0, 1.0, 2.0], [9.0, 9.0, 9.0]]),
        level_variance=np.array([[0.5, 0.0, 0.1], [0.0, 0.5, 0.2], [9.0, 9.0, 9.0]]),
    )
    mine = np.array([True, True, False])
    assert found.curve_variance_of(mine).tolist() == [3.0, 2.0, 3.0]
    assert found.curve_variance_of(mine, level=True).tolist() == [3.5, 2.5, 3.2]


def test_a_mean_carries_what_its_curve_may_be_off_by() -> None:
    rows = np.exp(values(0.0, 0.0, 0.0))
    plain = table("speed", POINTS, rows)
    curved = replace(plain, level_variance=np.full(rows.shape, 0.03**2))
    mine = np.array([name == "A" for name in ORDER])
    widths = [
        mean_half_width(judge_sweep(each, ORDER, "A", "B", Terms()), each, mine)
        for each in (plain, curved)
    ]
    more = widths[1] ** 2 - widths[0] ** 2
    assert_allclose(more, (norm.ppf(0.975) * 0.03) ** 2, rtol=1e-9)


# --- the middle of a run, intervals of current and noise ----------------------------------------


def test_a_run_is_where_its_middle_is() -> None:
    frame = runs(("S1", 1000, 1, "out", 0, 8.0), ("S1", 1000, 1, "back", 4, 8.0))
    frame["duration"] = [60.0, 120.0]
    used, _ = select(frame, paired=True, reciprocal_within=10.0)
    assert np.diff(used["middle"]).tolist() == [4 * 60 + 60 - 30]


def test_intervals_of_the_current_and_of_the_noise() -> None:
    analysed = compute(load_trial(EXAMPLE))
    result = assemble(analysed)
    outing = analysed.reduction.outings[0]
    assert outing.curve is not None
    first = result.current.iloc[0]
    when = analysed.reduction.frame.iloc[outing.rows]
    when = when.loc[when["session"] == first["session"], "middle"].min()
    value, error = outing.curve.at(np.array([when]))
    half = stdtrit(outing.curve.residual_df, 0.975) * error[0]
    assert first["high"] - first["value"] == pytest.approx(half, rel=1e-9)
    assert first["value"] == pytest.approx(value[0], rel=1e-9)

    judged = next(each for each in analysed.judged if each.table.key == "speed")
    assert judged.differences is not None
    noise = judged.differences.noise
    rows = result.noise[(result.noise["quantity"] == "speed")]
    between = rows[rows["component"] == "between sessions"].iloc[0]
    unit = float(np.mean(noise.share / noise.specific))
    for column, q in (("low", 0.975), ("high", 0.025)):
        mean_square = float(noise.ratio) / float(fdtri(noise.shared_df, noise.specific_df, q))
        expected = math.sqrt(max(mean_square - 1, 0.0) / unit)
        assert between[column] == pytest.approx(expected, rel=1e-9)
    assert float(noise.shared) == pytest.approx(max(float(noise.ratio) - 1, 0) / unit, rel=1e-9)


# --- what a random draw of faults once left standing ---------------------------------------------


def test_all_that_is_told_of_a_difference_scales_with_it() -> None:
    found = compare(values(0.0, 0.02, 0.0), np.zeros(3), layout_of(values(0.0, 0.0, 0.0)))
    assert found is not None
    factor = np.array([0.5, 1.0, 4.0])
    scaled = found.scaled(factor)
    for name in ("difference", "standard_error", "half_width", "floor"):
        assert_allclose(getattr(scaled, name), factor * getattr(found, name))
    assert scaled.established.tolist() == found.established.tolist()


def layout_of(rows: np.ndarray) -> Contrasts:
    return contrasts(ORDER, "A", "B", np.isfinite(rows))


@pytest.mark.parametrize("excess", [1e-3, 0.05, 0.7, 3.0])
def test_the_inverse_of_the_trigamma_function(excess: float) -> None:
    assert polygamma(1, _trigamma_inverse(np.array(excess))) == pytest.approx(excess, rel=1e-9)


def test_alone_a_pair_of_configurations_shares_its_error_with_none() -> None:
    one = table("speed", POINTS[:1], [[10.0], [10.0]])
    deciding = protocol(decides="speed")
    assert terms_of(deciding, one).confidence == pytest.approx(0.95)
    assert terms_of(deciding, one, pairs=2).confidence == pytest.approx(0.975)


@pytest.mark.parametrize(
    ("declared", "moment"),
    [
        ("date: 2031-05-04, start: '09:30'", "2031-05-04 09:30:00"),
        ("date: 2031-05-04", "2031-05-04"),
    ],
)
def test_without_starts_of_runs_the_first_session_tells_when(
    tmp_path: Path, declared: str, moment: str
) -> None:
    path = tmp_path / "trial.yaml"
    text = INVENTED_TRIAL.replace("DECLARED", declared)
    path.write_text(text, encoding="utf-8")
    (tmp_path / "runs.csv").write_text(INVENTED_RUNS, encoding="utf-8")
    trial = load_trial(path)
    assert str(first_moment(trial, read_runs(trial))) == moment


INVENTED_TRIAL = """
trial: invented
protocol:
  protocol: invented
  runs: {set_points: {of: engine_speed, values: [1000 rpm]}}
  measures: {speed_over_ground: {unit: kn, shared: true}}
configurations: {bare: {}, fitted: {}}
sessions:
  - {id: S1, configuration: bare, DECLARED}
  - {id: S2, configuration: fitted, date: 2031-05-05}
runs: runs.csv
"""
INVENTED_RUNS = """session,set_point [rpm],double_run,direction,speed_over_ground [kn]
S1,1000,1,out,8.1
S1,1000,1,back,7.9
S2,1000,1,out,8.2
S2,1000,1,back,8.0
"""
