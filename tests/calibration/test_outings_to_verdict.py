"""From the logs of invented outings to the verdict: as if the runs had been noted by hand when they were made."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from outing_sentences import sentences
from outing_world import Outing, OutingWorld, TrueRun, simulate_outing

import slackwater
from slackwater.analysis.cli import main

WORLD = OutingWorld(rough=0.5, noise=0.1, aborted=1, unplanned=True, dropouts=2, lag=1.0)
ORDER = ("bare", "fitted", "fitted", "bare")
MIDNIGHT_IN = 1  # a session that UTC's midnight falls into


def trial_text(world: OutingWorld) -> str:
    points = ", ".join(f"{p:g} rpm" for p in world.set_points)
    sessions = "".join(
        f"  - {{id: S{n + 1}, configuration: {fitted}, date: 2026-05-0{4 + n}, start: '{_clock(n)}', "
        f"end: '{_clock(n, 2)}'}}\n"
        for n, fitted in enumerate(ORDER)
    )
    return (
        "trial: invented-outings\ninvented: true\nprotocol:\n  protocol: invented-outings\n  runs:\n"
        f"    set_points: {{of: engine_speed, values: [{points}], hold: 1 %}}\n    double_runs: 1\n"
        f"    steady: {{settle: {world.settle:g} s, record: {world.record:g} s}}\n"
        "  sessions: {order: ABBA}\n  measures:\n    speed_over_ground: {unit: kn, shared: true}\n"
        "    engine_speed: {unit: rpm, shared: true}\n  analysis: {worthwhile: {speed: 1 %}}\n"
        f"configurations: {{bare: {{}}, fitted: {{}}}}\nsessions:\n{sessions}"
    )


def _clock(session: int, later: int = 0) -> str:
    return f"{((23 if session == MIDNIGHT_IN else 9) + later) % 24:02d}:30"


def write_trial(
    world: OutingWorld, folder: Path, seed: int, *, change: float = 0.0
) -> list[Outing]:
    """Four sessions of a trial as logs in a folder, midnight UTC in one of them.

    The fitted boat is faster by `change`. [1]
    """
    (folder / "trial.yaml").write_text(trial_text(world), encoding="utf-8")
    made = []
    for n, configuration in enumerate(ORDER):
        begins = datetime(2026, 5, 4 + n, int(_clock(n)[:2]), 30, tzinfo=UTC).timestamp()
        boat = replace(world, faster=change if configuration == "fitted" else 0.0)
        made.append(simulate_outing(boat, seed + n, begins=begins))
        (folder / f"day{n + 1}.log").write_bytes(sentences(made[-1]).encode())
    return made


@pytest.fixture
def outings(tmp_path: Path) -> list[Outing]:
    return write_trial(WORLD, tmp_path, 20_000)


def _recorded(outing: Outing, run: TrueRun, later: float, lag: float) -> float:
    """Mean of the receiver over the window of a run, or some seconds behind it. [kn]"""
    if not later:
        return run.recorded
    speed = next(c for c in outing.channels if c.quantity == "speed_over_ground")
    a, b = np.searchsorted(speed.seconds, np.array([run.start, run.end]) + lag + later)
    return (
        float(speed.values[a:b].mean()) if b > a else run.recorded
    )  # a gap: she wrote nothing else


def by_hand(
    outings: list[Outing], record: float, path: Path, *, later: float = 0.0, lag: float = 0.0
) -> None:
    """The run table that a crew would have written that knew when each run began and ended.

    `later` is of a crew that began each run so many seconds later, by a receiver with a lag. [s]
    """
    rows = [
        "session,set_point [rpm],double_run,direction,start,duration [s],speed_over_ground [kn],engine_speed [rpm]"
    ]
    for n, outing in enumerate(outings):
        for run in outing.runs:
            start = datetime.fromtimestamp(round(run.start), UTC).replace(tzinfo=None).isoformat()
            rows.append(
                f"S{n + 1},{run.set_point:g},1,{run.direction},{start},{record:g},{_recorded(outing, run, later, lag):.4f},{run.set_point:g}"
            )
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


def test_changes_and_verdicts_are_those_of_the_true_windows(
    outings: list[Outing], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In one trial. Over many, some verdicts differ: `outings_to_verdict.py` tells how many."""
    monkeypatch.chdir(tmp_path)
    logs = [f"day{n + 1}.log" for n in range(len(ORDER))]
    assert main(["logs", *logs, "--trial", "trial.yaml", "--output", "runs.csv"]) == 0
    cut = slackwater.analyse("trial.yaml").comparisons
    (tmp_path / "runs.csv").unlink()
    by_hand(outings, WORLD.record, tmp_path / "runs.csv")
    true = slackwater.analyse("trial.yaml").comparisons
    cut, true = (t[t["quantity"] == "speed"].set_index("at") for t in (cut, true))
    assert len(cut) == len(true) == WORLD.points
    off = cut["change"].astype(float) - true["change"].astype(float)
    assert np.sqrt((off**2).mean()) <= 0.001
    assert (cut["verdict"] == true["verdict"]).mean() >= 0.95


def test_the_table_and_where_it_comes_from(
    outings: list[Outing],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    command = ["logs", "day1.log", "day2.log", "--trial", "trial.yaml", "--output"]
    assert main([*command, "runs.csv"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "S1: 16 runs; set points by engine speed" in told
    assert "not planned: engine speed 1775" in told
    assert "S3: no run. No log has anything of this session" in told
    rows = list(csv.DictReader((tmp_path / "runs.csv").open(encoding="utf-8")))
    assert sum(row["session"] == "S2" for row in rows) == 16
    assert {row["duration [s]"] for row in rows} == {"60"}
    night = [row["start"] for row in rows if row["session"] == "S2"]
    assert night[0].startswith("2026-05-05T23")
    assert night[-1].startswith("2026-05-06T00")
    told = json.loads((tmp_path / "runs.provenance.json").read_text(encoding="utf-8"))
    assert [len(log["sha256"]) for log in told["logs"]] == [64, 64]
    run = told["sessions"][0]["runs"][0]
    reading = run["readings"]["speed_over_ground"]
    assert reading["sources"] == ["GP RMC"]
    place = reading["lines"][0]
    lines = (tmp_path / "day1.log").read_text().splitlines()[place["from"] - 1 : place["to"]]
    knots = [float(line.split(",")[7]) for line in lines if "RMC" in line]
    assert len(knots) == reading["used"]
    assert np.mean(knots) == pytest.approx(float(rows[0]["speed_over_ground [kn]"]), abs=1e-4)
    assert main([*command, "again.csv"]) == 0
    assert (tmp_path / "again.csv").read_bytes() == (tmp_path / "runs.csv").read_bytes()


def test_a_log_of_another_day_gives_no_table(
    outings: list[Outing],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    text = (tmp_path / "trial.yaml").read_text(encoding="utf-8").replace("2026-05-0", "2025-05-0")
    (tmp_path / "other.yaml").write_text(text, encoding="utf-8")
    assert main(["logs", "day1.log", "--trial", "other.yaml", "--output", "runs.csv"]) == 2
    assert "no log has anything of this session" in capsys.readouterr().err
    assert not (tmp_path / "runs.csv").exists()
    assert not (tmp_path / "runs.provenance.json").exists()
