"""One comparison of a trial: session values to rows of the result."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from invented_runs import table
from numpy.testing import assert_allclose

from slackwater.analysis.result.fields import TABLES
from slackwater.analysis.statistics.noise import PriorNoise
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.judgement import judge_sweep, vanishing_noise
from slackwater.analysis.verdict.terms import Terms
from slackwater.analysis.verdict.verdicts import untestable

ORDER = ["bare", "fitted", "fitted", "bare", "bare", "fitted"]


def speeds(gain: float = 0.0, order: list[str] = ORDER, points: int = 4) -> np.ndarray:
    rng = np.random.default_rng(2)
    n = len(order)
    noise = rng.normal(0, 0.006, (n, 1)) + rng.normal(0, 0.003, (n, points))
    fitted = np.array([name == "fitted" for name in order])[:, None]
    return np.linspace(8, 20, points) * np.exp(noise + fitted * math.log1p(gain))


def rows(
    values: Any, order: list[str] = ORDER, terms: Terms | None = None, **more: Any
) -> list[Compared]:
    fields = {k: more.pop(k) for k in list(more) if k not in ("blocks", "refused")}
    judged = judge_sweep(table(values, **fields), order, "bare", "fitted", terms or Terms(), **more)
    return list(judged.rows)


def test_rows_carry_every_column_of_the_contract() -> None:
    required = {field.name for field in TABLES["comparisons"] if field.required}
    for row in (*rows(speeds()), *rows(speeds()[:2], ORDER[:2])):
        assert required <= set(row.as_row())


def test_a_gain_is_a_fraction_of_the_baseline() -> None:
    found = rows(speeds(0.05), terms=Terms(worthwhile=0.01))
    for row in found:
        assert row.verdict == "gain"
        assert row.worth == "exceeds"
        assert row.change == pytest.approx(row.modified_mean / row.baseline_mean - 1)
        assert row.low < 0.05 < row.high
        assert 0 < row.noise_floor < row.change
        assert row.p_value < 0.05
        assert (row.sessions_baseline, row.sessions_modified) == (3, 3)
        assert row.family == 4


def test_less_is_better_for_fuel() -> None:
    assert {row.verdict for row in rows(speeds(0.05), better="less")} == {"loss"}
    assert {row.verdict for row in rows(speeds(-0.05), better="less")} == {"gain"}
    assert {row.verdict for row in rows(speeds(0.05), better=None)} == {"higher"}


def test_a_difference_stays_in_its_unit() -> None:
    values = speeds() - 10
    values[[1, 2, 5]] += 4.0
    found = rows(values, scale="difference", unit="deg", better=None)
    assert all(row.change == pytest.approx(4.0, abs=0.5) for row in found)
    assert found[0].baseline_mean < 0  # arithmetic, for what may be below zero


def test_means_of_ratios_are_geometric() -> None:
    values = [[8.0], [10.0], [10.0], [9.0]]
    (row,) = rows(values, ["bare", "fitted", "fitted", "bare"])
    assert row.baseline_mean == pytest.approx(math.sqrt(72))


def test_equivalence_needs_a_worthwhile_difference() -> None:
    order = ORDER * 3
    with_limit = rows(speeds(order=order), order, Terms(worthwhile=0.03))
    without = rows(speeds(order=order), order)
    assert {row.verdict for row in with_limit} == {"equivalent"}
    assert all(row.equivalence_p < 0.05 for row in with_limit)
    assert {row.verdict for row in without} == {"within noise"}
    assert all(row.equivalence_p is None for row in without)


# --- untestable ----------------------------------------------------------------------------------


def test_one_session_each_is_untestable_with_the_difference_on_the_day() -> None:
    found = rows([[8.0, 16.0], [8.4, 17.0]], ["bare", "fitted"])
    assert [row.verdict for row in found] == ["untestable"] * 2
    assert_allclose([row.change for row in found], [0.05, 0.0625])
    assert all(
        getattr(row, name) is None
        for row in found
        for name in ("low", "high", "noise_floor", "p_value")
    )
    expected = math.expm1(math.log(1.05) / 1.959964 / math.sqrt(2))
    assert found[0].vanishes_at == pytest.approx(expected, rel=1e-6)
    assert "more than one session" in found[0].reason


def test_of_one_session_each_what_was_not_run_is_named() -> None:
    found = rows([[8.0, math.nan], [8.4, 17.0]], ["bare", "fitted"])
    assert found[1].reason == "bare has no whole double run here that gives a value of it"


def test_prior_noise_makes_it_testable() -> None:
    prior = PriorNoise(36e-6, 9e-6, 4e-6, df=11)
    found = rows([[8.0, 16.0], [8.4, 17.0]], ["bare", "fitted"], Terms(prior=prior))
    assert [row.verdict for row in found] == ["gain"] * 2


def test_what_cannot_be_known_says_why() -> None:
    found = rows(speeds(0.05), untestable="the runs went one way only")
    assert {row.verdict for row in found} == {"untestable"}
    assert {row.reason for row in found} == {"the runs went one way only"}
    assert {row.change for row in found} == {None}  # not even that of the day


def test_a_set_point_without_the_modified_configuration() -> None:
    values = speeds(0.05)
    values[[1, 2, 5], 2] = np.nan
    found = rows(values)
    assert [row.verdict for row in found] == ["gain", "gain", "untestable", "gain"]
    assert found[2].reason == "fitted has no whole double run here that gives a value of it"
    assert found[2].modified_mean is None
    assert found[2].sessions_modified == 0


def test_blocks_that_hold_one_configuration_only() -> None:
    order = ["bare", "bare", "fitted", "fitted"]
    found = rows(speeds(order=order), order, blocks=["d1", "d1", "d2", "d2"])
    assert {row.verdict for row in found} == {"untestable"}
    assert "no block holds sessions of both configurations" in found[0].reason


def test_refused_positions_keep_their_numbers() -> None:
    found = rows(speeds(0.05), refused={1: "the wind was over its limit"})
    assert [row.verdict for row in found] == ["gain", "untestable", "gain", "gain"]
    assert found[1].reason == "the wind was over its limit"
    assert found[1].change is not None
    figures = (found[1].low, found[1].high, found[1].noise_floor, found[1].p_value)
    assert figures == (None,) * 4


def test_blocks_take_out_what_a_day_does_to_both() -> None:
    order = ["bare", "fitted", "fitted", "bare"] * 2
    days = [f"d{i // 2}" for i in range(8)]
    values = speeds(0.02, order)
    values *= np.repeat([1.0, 1.1, 0.9, 1.05], 2)[:, None]  # the days differ by a fifth
    assert {row.verdict for row in rows(values, order)} == {"within noise"}
    assert {row.verdict for row in rows(values, order, blocks=days)} == {"gain"}


# --- further -------------------------------------------------------------------------------------


def test_instruments_that_do_not_cancel_widen_the_interval() -> None:
    extra = np.full(4, 2 * 0.03**2)
    plain, widened = rows(speeds(0.05)), rows(speeds(0.05), instrument_variance=extra)
    assert all(w.high > p.high for p, w in zip(plain, widened, strict=True))
    assert {row.shared_uncertainty for row in plain} == {None}
    assert widened[0].shared_uncertainty == pytest.approx(0.03 * math.sqrt(2))
    assert {row.verdict for row in widened} == {"within noise"}


def test_a_family_of_one_each() -> None:
    together, apart = rows(speeds(0.01)), rows(speeds(0.01), terms=Terms(simultaneous=False))
    assert {row.family for row in apart} == {1}
    assert all(a.noise_floor < t.noise_floor for a, t in zip(apart, together, strict=True))


def test_vanishing_noise_by_hand() -> None:
    """5 % between two sessions: 0.05 / 1.96 / sqrt(2); runs count in any case."""
    assert vanishing_noise(0.05, 2.0, 0.0) == pytest.approx(
        0.05 / 1.959964 / math.sqrt(2), rel=1e-6
    )
    assert vanishing_noise(0.05, 2.0, 1e-4) == pytest.approx(
        math.sqrt(0.05**2 / 1.959964**2 / 2 - 1e-4), rel=1e-6
    )
    assert vanishing_noise(0.001, 2.0, 1e-4) == 0.0


def test_untestable_is_the_verdict_it_says() -> None:
    assert untestable("why").word == "untestable"


def test_a_worthwhile_difference_in_knots_is_a_fraction_of_the_speed_it_is_at() -> None:
    from slackwater.analysis.verdict.terms import on_scale
    from slackwater.protocol.units.quantity import Quantity

    values = table(speeds(0.05))
    size = np.asarray(on_scale(Quantity(0.3, "kn"), values))
    assert size == pytest.approx(0.3 / values.values.mean(axis=0))
    assert on_scale(Quantity(2.0, "%"), values) == 0.02
    found = rows(speeds(0.05), terms=Terms(worthwhile=size))
    assert [row.worthwhile for row in found] == pytest.approx(size.tolist())


@pytest.mark.parametrize("effect", [0.05, -0.05, 0.012, -0.012])
def test_established_is_what_exceeds_the_noise_floor(effect: float) -> None:
    for row in rows(speeds(effect)):
        established = row.verdict in ("gain", "loss", "higher", "lower")
        assert established == (abs(row.change) > row.noise_floor)
