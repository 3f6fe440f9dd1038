"""Runs in doubt lead the answer, are not dropped, and keep their noise to themselves."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from slackwater.analysis.api import analyse, check
from slackwater.analysis.cli import main
from slackwater.analysis.result.result import Result

EXAMPLE = Path(__file__).parents[2] / "examples" / "workboat-interceptors"
SPEED = "speed_over_ground [kn]"
Rows = list[dict[str, str]]


def with_runs(folder: Path, change: Callable[[Rows], None]) -> Path:
    """The example with its runs changed."""
    for name in ("trial.yaml", "protocol.yaml"):
        shutil.copy(EXAMPLE / name, folder)
    reader = csv.DictReader(io.StringIO((EXAMPLE / "runs.csv").read_text("utf-8")))
    rows = list(reader)
    change(rows)
    out = io.StringIO()
    writer = csv.DictWriter(out, list(reader.fieldnames or ()), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    (folder / "runs.csv").write_text(out.getvalue(), "utf-8")
    return folder / "trial.yaml"


def speed_times(factor: float, row: int) -> Callable[[Rows], None]:
    def change(rows: Rows) -> None:
        rows[row - 2][SPEED] = f"{factor * float(rows[row - 2][SPEED]):.2f}"

    return change


def floors(result: Result) -> dict[str, float]:
    return {
        row.at: row.noise_floor
        for row in result.compared
        if row.quantity == "speed" and row.noise_floor is not None
    }


def test_a_sound_trial_has_none() -> None:
    assert analyse(EXAMPLE / "trial.yaml").doubts == ()


@pytest.mark.parametrize("factor", [2.0, 1.15, 0.6])
def test_a_wild_run_leads_the_answer_and_keeps_its_noise(factor: float, tmp_path: Path) -> None:
    clean = floors(analyse(EXAMPLE / "trial.yaml"))
    result = analyse(with_runs(tmp_path, speed_times(factor, 9)))
    assert result.doubts[0].startswith("In doubt: row 9 (session S1, 2000 rpm, out) has a speed")
    assert "at their own set points, and nowhere else" in result.doubts[-1]
    assert str(result).startswith("In doubt: row 9")
    assert "In doubt: row 9" in result.to_html()
    assert result.to_dict()["doubts"] == list(result.doubts)
    assert result.runs.used == analyse(EXAMPLE / "trial.yaml").runs.used  # nothing is dropped
    noisy = floors(result)
    assert noisy.keys() == clean.keys()
    for at, floor in noisy.items():
        if at == "2000 rpm":
            assert floor > 1.3 * clean[at]
        else:
            assert floor == pytest.approx(clean[at], rel=0.2)


def test_it_is_told_what_the_verdicts_are_without_it(tmp_path: Path) -> None:
    told = " ".join(analyse(with_runs(tmp_path, speed_times(2.0, 9))).doubts)
    assert "What they decide: " in told
    assert "within noise with, gain of +" in told


def test_an_answer_beside_a_file_starts_with_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = with_runs(tmp_path, speed_times(2.0, 9))
    assert main(["analyse", str(path), "--output", str(tmp_path / "r.html")]) == 0
    assert capsys.readouterr().out.startswith("In doubt: row 9")


def test_check_names_the_cell(tmp_path: Path) -> None:
    found = check(with_runs(tmp_path, speed_times(2.0, 9))).checked.findings
    (one,) = (each for each in found if each.rule == "run-doubtful")
    assert one.place is not None
    assert one.place.line == 9
    assert not [each for each in found if each.rule == "value-outlier"]  # told once


def _copy_double_run(rows: Rows) -> None:
    """The first double run of S1 pasted over that of S3, with S3's own times."""
    source, target = (
        [
            row
            for row in rows
            if (row["session"], row["double_run"]) == (session, "1")
            and row["set_point [rpm]"] == rows[0]["set_point [rpm]"]
        ]
        for session in ("S1", "S3")
    )
    for one in target:
        (other,) = (each for each in source if each["direction"] == one["direction"])
        for name in (SPEED, "engine_speed [rpm]", "fuel_flow [L/h]"):
            one[name] = other[name]


def _copy_session(rows: Rows) -> None:
    """All values of S1 in S4, double run by double run, with S4's own times."""
    values = {
        (row["set_point [rpm]"], row["double_run"], row["direction"]): row
        for row in rows
        if row["session"] == "S1"
    }
    for row in rows:
        if row["session"] != "S4":
            continue
        other = values.get((row["set_point [rpm]"], row["double_run"], row["direction"]))
        if other is not None:
            for name in (SPEED, "engine_speed [rpm]", "fuel_flow [L/h]"):
                row[name] = other[name]


def test_a_double_run_copied_with_new_times_is_told_first(tmp_path: Path) -> None:
    path = with_runs(tmp_path, _copy_double_run)
    result = analyse(path)
    assert "carries the values of that from row 2 (session S1)" in result.doubts[0]
    assert "Verdicts below count them." in result.doubts
    assert [f.rule for f in result.deviations if "copied" in f.rule] == ["double-run-copied"]


def test_a_copied_session_is_told_once(tmp_path: Path) -> None:
    result = analyse(with_runs(tmp_path, _copy_session))
    assert result.doubts[0].startswith("In doubt: session S4 carries the values of session S1 in ")
    rules = [f.rule for f in result.deviations if "copied" in f.rule]
    assert rules == ["session-copied"]


def test_coarse_readings_that_agree_by_chance_are_no_copies(tmp_path: Path) -> None:
    """Speeds to half a knot, engine speeds as set, flows to a litre: many double runs are alike."""

    def coarse(rows: Rows) -> None:
        for row in rows:
            row[SPEED] = f"{round(2 * float(row[SPEED])) / 2:.1f}"
            row["engine_speed [rpm]"] = row["set_point [rpm]"]
            row["fuel_flow [L/h]"] = f"{float(row['fuel_flow [L/h]']):.0f}"

    result = analyse(with_runs(tmp_path, coarse))
    assert not [doubt for doubt in result.doubts if "carries" in doubt]
