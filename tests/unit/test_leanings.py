"""What a verdict leans on, as a trial's result tells it."""

from __future__ import annotations

import html
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from test_deciding import trial

from slackwater.analysis import analyse
from slackwater.analysis.report.trial.terminal import render
from slackwater.analysis.verdict.leanings import _Look
from slackwater.protocol.findings import InputError

EXAMPLES = Path(__file__).parents[2] / "examples"


def looks(path: Path) -> dict[str, dict]:
    return {row["check"]: row for row in analyse(path).records("leanings")}


def test_the_deciding_figure_is_looked_at(tmp_path: Path) -> None:
    result = analyse(trial(tmp_path, "decides: fuel flow"))
    rows = result.records("leanings")
    assert {row["quantity"] for row in rows} == {"fuel flow"}
    checks = {row["check"] for row in rows}
    assert {"outlying session", "one session left out", "trend", "order drawn"} <= checks
    assert not any(row["remark"] for row in rows if row["check"] == "trend")
    page = html.unescape(result.to_html())
    assert "What this verdict leans on" in render(result, full=True)
    assert "What this verdict leans on" in page
    assert all(row["message"] in page for row in rows)
    assert all(row["message"] and "nan" not in row["message"] for row in rows)


def test_an_outlying_session_is_named(tmp_path: Path) -> None:
    path = trial(tmp_path, "decides: speed")
    table = tmp_path / "runs.csv"
    lines = table.read_text("utf-8").splitlines()
    for k, line in enumerate(lines):
        if line.startswith("S4,"):
            cells = line.split(",")
            cells[4] = f"{float(cells[4]) * 1.06:.3f}"
            lines[k] = ",".join(cells)
    table.write_text("\n".join(lines) + "\n", encoding="utf-8")
    found = looks(path)["outlying session"]
    assert found["session"] == "S4"
    assert found["remark"]
    assert found["p_value"] < 0.05
    assert found["value"] == pytest.approx(0.06, abs=0.01)


@pytest.mark.parametrize(
    ("between", "said", "remark"),
    [("0.2 %", "fits what the sessions show", False), ("0.01 %", "more than earlier trials", True)],
)
def test_noise_of_earlier_trials_is_looked_at_where_there_is_some(
    tmp_path: Path, between: str, said: str, remark: bool
) -> None:
    path = trial(tmp_path, "decides: speed")
    assert "earlier trials" not in looks(path)
    noise = f"{{between_sessions: {between}, sessions: 30, within_session: 0.01 %}}"
    text = path.read_text("utf-8")
    path.write_text(
        text.replace("  analysis:", f"  noise: {{speed: {noise}}}\n  analysis:"), "utf-8"
    )
    found = looks(path)["earlier trials"]
    assert said in found["message"]
    assert found["remark"] is remark


def test_of_six_sessions_no_order_gives_less_than_one_in_ten(tmp_path: Path) -> None:
    found = looks(trial(tmp_path, "decides: fuel flow"))["order drawn"]
    assert found["value"] == pytest.approx(0.1)
    assert found["p_value"] == pytest.approx(0.1)  # the largest difference of all orders
    assert "no order could give less than 10 %" in found["message"]


def test_a_declared_trend_takes_a_drift_out(tmp_path: Path) -> None:
    folders = tmp_path / "plain", tmp_path / "trend"
    floors = []
    for folder, more in zip(folders, ("", ", trend: linear"), strict=True):
        folder.mkdir()
        path = trial(folder, f"decides: fuel flow{more}")
        table = folder / "runs.csv"
        lines = table.read_text("utf-8").splitlines()
        for k, line in enumerate(lines[1:], start=1):
            cells = line.split(",")
            cells[5] = f"{float(cells[5]) * (1 + 0.01 * int(cells[0][1:])):.4f}"
            lines[k] = ",".join(cells)
        table.write_text("\n".join(lines) + "\n", encoding="utf-8")
        result = analyse(path)
        rows = [row for row in result.compared if row.deciding]
        floors.append(np.mean([row.noise_floor for row in rows]))
        drifted = "drifted" in render(result, full=True)
        assert drifted == (not more)
        told = [row["remark"] for row in result.records("leanings") if row["check"] == "trend"]
        assert told == ([] if more else [True])
    assert floors[1] < 0.7 * floors[0]


def test_a_trend_takes_six_sessions(tmp_path: Path) -> None:
    path = trial(tmp_path, "trend: linear")
    text = path.read_text("utf-8").replace("order: ABBAAB", "order: ABBA")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as error:
        analyse(path)
    assert "it takes 6" in error.value.findings[0].message


def test_one_morning_each_leans_on_nothing_that_can_be_looked_at() -> None:
    assert analyse(EXAMPLES / "one-morning-each" / "trial.yaml").records("leanings") == []


def test_another_way_of_taking_the_current_out_is_tried(tmp_path: Path) -> None:
    """A current that grows from run to run is half left in by plain double runs."""
    path = trial(tmp_path, "decides: speed")
    table = tmp_path / "runs.csv"
    head, *lines = table.read_text("utf-8").splitlines()
    kept = [f"{head},start"]
    run = {f"S{s}": 0 for s in range(1, 7)}
    for pair in range(0, len(lines), 2):
        for repeat, line in [(r, one) for r in (1, 2) for one in lines[pair : pair + 2]]:
            session, point, _, way, speed, flow = line.split(",")
            grown = (
                0.04 * run[session] if session in {"S2", "S3", "S6"} else 0.0
            )  # those of one side
            moved = float(speed) + (grown if way == "out" else -grown)
            start = (
                f"2031-05-0{session[1]} {9 + run[session] // 12:02d}:{run[session] % 12 * 5:02d}"
            )
            kept.append(f"{session},{point},{repeat},{way},{moved:.4f},{flow},{start}")
            run[session] += 1
    table.write_text("\n".join(kept) + "\n", encoding="utf-8")
    found = looks(path)["current"]
    assert "each double run averaged by itself in place of one smooth current" in found["message"]
    # A run later the current is 0.04 kn stronger: half of it stays in the mean of two runs.
    level = min(row.baseline_mean for row in analyse(path).compared if row.deciding)
    assert found["value"] == pytest.approx(0.02 / level, rel=0.05)


def test_what_turns_a_verdict() -> None:
    """With a floor of 1: out of the noise, into it, to the other side; within the noise nothing turns."""
    found = SimpleNamespace(
        floor=np.ones(5),
        established=np.array([False, True, True, False, True]),
        difference=np.array([0.5, 2.0, 2.0, 0.5, 2.0]),
    )
    other = np.array([1.5, 0.5, -2.0, -0.5, 3.0])
    assert _Look._turns(found, other).tolist() == [True, True, True, False, False]  # type: ignore[arg-type]


def test_fuel_flow_leans_on_no_current(tmp_path: Path) -> None:
    assert "current" not in looks(trial(tmp_path, "decides: fuel flow"))
