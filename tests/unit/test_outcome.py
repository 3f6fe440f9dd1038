"""A trial's outcome for statistics of many trials: its figures are those of the analysis, and keep."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.many.outcome import Outcome, outcome_from
from slackwater.analysis.many.outcome_making import outcome_of
from slackwater.analysis.pipeline import compute
from slackwater.analysis.planning.noise_budget import BETWEEN, budget_of, budgets
from slackwater.analysis.result.analysed import Analysed
from slackwater.protocol.declared.trial import load_trial

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def workboat() -> Analysed:
    return compute(load_trial(EXAMPLES / "workboat-interceptors" / "trial.yaml"))


@pytest.fixture(scope="module")
def outcome(workboat: Analysed) -> Outcome:
    return outcome_of(workboat)


def test_what_was_kept_comes_back(outcome: Outcome) -> None:
    text = json.dumps(outcome.to_dict(), allow_nan=False)
    assert outcome_from(json.loads(text)) == outcome


def test_changes_are_those_of_the_analysis(workboat: Analysed, outcome: Outcome) -> None:
    rows = [row for judged in workboat.judged for row in judged.rows]
    assert len(rows) == len(outcome.changes) > 20
    for row, change in zip(rows, outcome.changes, strict=True):
        assert (row.quantity, row.at, row.verdict) == (change.quantity, change.at, change.verdict)
        if change.standard_error is not None:
            assert change.value is not None
            assert change.df is not None
            assert row.low is not None
            ratio = row.scale == "ratio"
            assert (math.expm1(change.value) if ratio else change.value) == pytest.approx(
                row.change
            )
            low = math.log1p(row.low) if ratio else row.low
            # An interval is no narrower than that of the standard error with its own freedom.
            assert change.value - low > 1.9 * change.standard_error
            assert change.df >= 3.9


def test_speed_of_the_baseline_stands_beside_each_change(outcome: Outcome) -> None:
    equal = next(c for c in outcome.changes if c.kind == "equal speed")
    assert equal.speed == pytest.approx((equal.position or 0) * 1852 / 3600)
    rising = [c.speed for c in outcome.changes if c.key == "speed"]
    assert None not in rising
    assert rising == sorted(rising)  # type: ignore[type-var]


def test_a_budget_from_sums_alone_is_the_budget_of_the_trial(
    workboat: Analysed, outcome: Outcome
) -> None:
    for whole in budgets([workboat]):
        (mine,) = [one for one in outcome.noise if one.quantity == whole.quantity]
        again = budget_of([mine])
        assert again.component(BETWEEN) == whole.component(BETWEEN)
        assert_allclose(again.double_runs, whole.double_runs)
        assert again.reproducibility == whole.reproducibility


def test_an_untestable_trial_tells_its_change_and_no_error() -> None:
    lone = outcome_of(compute(load_trial(EXAMPLES / "one-morning-each" / "trial.yaml")))
    assert lone.changes
    assert all(change.standard_error is None and change.df is None for change in lone.changes)
    assert all(change.reason for change in lone.changes)
