"""Stretches of the axis: one verdict each, from the limits at the set points."""

from __future__ import annotations

import numpy as np
from numpy.testing import assert_allclose
from sweep_tables import table

from slackwater.analysis.result.bands import band, band_of, stretches
from slackwater.analysis.verdict.judgement import judge_sweep
from slackwater.analysis.verdict.terms import Terms

X = np.linspace(1000, 3000, 9)
FITTED = ["A", "B", "B", "A", "A", "B"]


def judged(change: np.ndarray, terms: Terms | None = None, noise: float = 0.002) -> object:
    rng = np.random.default_rng(1)
    base = 5e-4 * X**1.3
    rows = [base * (1 + (change if name == "B" else 0.0)) for name in FITTED]
    values = np.array(rows) * np.exp(rng.normal(0, noise, (6, 9)))
    return judge_sweep(table("speed", X, values, runs=noise), FITTED, "A", "B", terms or Terms())


def test_limits_at_the_set_points_are_those_of_the_comparison() -> None:
    found = judged(np.zeros(9))
    line = band_of(found)
    at = [int(np.argmin(np.abs(line.position - x))) for x in X]
    assert_allclose(line.position[at], X)
    assert_allclose(line.low[at], found.differences.low, atol=1e-12)
    assert_allclose(line.high[at], found.differences.high, atol=1e-12)


def test_straight_limits_hold_between_for_straight_curves() -> None:
    means = [2 * X, 3 * X]
    found = band(X, means, np.linspace(0, 1, 9), np.full(9, 0.2), 0.95)
    assert_allclose(found.high - found.low, 0.4, atol=1e-9)
    assert_allclose(found.difference, (found.position - 1000) / 2000, atol=1e-9)


def test_a_gain_in_the_middle() -> None:
    change = np.where((X > 1600) & (X < 2400), 0.05, 0.0)
    found = stretches(judged(change))
    assert [each.verdict for each in found] == ["within noise", "gain", "within noise"]
    gain = found[1]
    # Half-way up the flank the difference is there, at the feet of it not yet.
    assert 1500 < gain.low < 1750
    assert 2250 < gain.high < 2500
    assert found[0].low == 1000
    assert found[2].high == 3000


def test_equivalent_where_the_interval_lies_inside_the_worthwhile_difference() -> None:
    found = stretches(judged(np.zeros(9), Terms(worthwhile=0.03)))
    assert [each.verdict for each in found] == ["equivalent"]
    assert stretches(judged(np.zeros(9), Terms(worthwhile=0.001)))[0].verdict == "within noise"


def test_no_statement_without_a_joint_interval_or_a_curve() -> None:
    assert stretches(judged(np.zeros(9), Terms(simultaneous=False))) == []
    one = table("top_speed", [np.nan], [[20.0], [20.1], [20.2], [20.0]])
    assert stretches(judge_sweep(one, ["A", "B", "B", "A"], "A", "B", Terms())) == []
