"""The cross-check by other libraries starts from the same values and ends at the same differences."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from slackwater.analysis import analyse
from slackwater.analysis.report.trial.terminal import render

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def rows() -> list[dict[str, object]]:
    trial = EXAMPLES / "workboat-interceptors" / "trial.yaml"
    return analyse(trial, cross_check=True).records("cross_check")


def test_the_differences_are_the_same(rows: list[dict[str, float]]) -> None:
    assert {row["quantity"] for row in rows} >= {"speed", "fuel_flow", "economy", "slip"}
    for row in rows:
        assert row["mixed_model_change"] == pytest.approx(row["change"], abs=1e-6)
        assert row["t_test_low"] < row["change"] < row["t_test_high"]


def test_the_errors_agree_where_one_noise_serves_all(rows: list[dict[str, float]]) -> None:
    """Fuel flow is as noisy, in proportion, at every set point: what the mixed model assumes."""
    flow = [row for row in rows if row["quantity"] == "fuel_flow"]
    mean = sum(row["standard_error"] for row in flow) / len(flow)
    assert flow[0]["mixed_model_error"] == pytest.approx(mean, rel=0.1)


def test_only_when_asked_for() -> None:
    script = (
        "import sys\n"
        "from slackwater.analysis import analyse\n"
        f"result = analyse({str(EXAMPLES / 'one-morning-each' / 'trial.yaml')!r})\n"
        "assert result.records('cross_check') == []\n"
        "assert 'statsmodels' not in sys.modules and 'pingouin' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", script], check=True)


def test_one_session_each_is_left_out() -> None:
    result = analyse(EXAMPLES / "one-morning-each" / "trial.yaml", cross_check=True)
    assert result.records("cross_check") == []


def test_it_stands_in_text_and_page() -> None:
    trial = EXAMPLES / "workboat-interceptors" / "trial.yaml"
    result = analyse(trial, cross_check=True)
    assert "Cross-check by other libraries" in render(result, full=True)
    assert "Cross-check by other libraries" in result.to_html()
    assert "Cross-check" not in render(analyse(trial), full=True)
