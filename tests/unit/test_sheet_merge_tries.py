"""Tries that tablets hand back, put into the table of tries by the rules of runs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from invented_tries import HEAD, lay
from test_sheet_merge import HEAD as RUN_HEAD
from test_sheet_merge import entry, hand_in, table

from slackwater.analysis import analyse
from slackwater.analysis.cli import main

Capture = pytest.CaptureFixture[str]
KEYS = {heading.partition(" ")[0]: heading for heading in HEAD.split(",")}


def one(way: str, number: int, time: str = "", session: str = "S1", **more: str) -> dict[str, str]:
    naming = {
        "session": session, "manoeuvre": "acceleration", "direction": way, "try": str(number),
    }  # fmt: skip
    return {**dict.fromkeys(KEYS, ""), **naming, "time_to_plane": time, **more}


def aboard(device: str, tries: list[dict[str, str]], **more: Any) -> dict[str, Any]:
    return {
        "schema": 1, "tool": {"name": "slackwater", "version": "0"}, "kind": "aboard",
        "sheet": "0123456789abcdef", "trial": "handling",
        "protocol": {"id": "handling", "version": "1.0"}, "rehearsal": False, "device": device,
        "written": "2026-05-04T12:00:00.000Z", "head": {}, "rows": [],
        "tries": {"head": KEYS, "rows": tries}, "sessions": [],
        "journal": [entry(1, "device", device, "")], **more,
    }  # fmt: skip


def run_row(session: str) -> dict[str, str]:
    naming = {"session": session, "set_point": "3000", "double_run": "1", "direction": "out"}
    return {**dict.fromkeys(RUN_HEAD, ""), **naming, "speed_over_ground": "20.1"}


@pytest.fixture
def trial(tmp_path: Path) -> Path:
    path = lay(tmp_path / "trial")
    (path.parent / "tries.csv").unlink()
    return path


def merge(trial: Path, *handed: dict[str, Any], more: tuple[str, ...] = ()) -> int:
    files = hand_in(trial.parent, *handed)
    return main(["sheet", "--merge", *files, "--trial", str(trial), *more])


def test_two_devices_in_any_order_make_the_table_that_analyse_reads(
    trial: Path, tmp_path: Path
) -> None:
    whole = lay(tmp_path / "whole")
    rows = table(whole.parent / "tries.csv")
    by_key = [{key: row[heading] for key, heading in KEYS.items()} for row in rows]
    halves = [[r for r in by_key if (r["session"] < "S4") == first] for first in (True, False)]
    devices = [aboard("aa", halves[0]), aboard("bb", halves[1])]
    texts = set()
    for order in (devices, devices[::-1]):
        (trial.parent / "tries.csv").unlink(missing_ok=True)
        assert merge(trial, *order) == 0
        texts.add((trial.parent / "tries.csv").read_text("utf-8"))
    assert texts == {(whole.parent / "tries.csv").read_text("utf-8")}
    assert not (trial.parent / "runs.csv").exists()
    rows = analyse(trial).records("tries")
    assert rows == analyse(whole).records("tries")


def test_a_try_set_aside_and_made_again_keeps_both(trial: Path) -> None:
    rows = [one("out", 1, "9.9", set_aside="broken off for safety"), one("out", 1, "5.0")]
    assert merge(trial, aboard("aa", rows[:1])) == 0
    assert merge(trial, aboard("aa", rows)) == 0
    assert [r["set_aside"] for r in table(trial.parent / "tries.csv")] == [
        "broken off for safety",
        "",
    ]


def test_a_prepared_table_is_filled_in(trial: Path, capsys: Capture) -> None:
    prepared = trial.parent / "tries.csv"
    words = ["--rows", "tries", "--format", "csv", "--output", str(prepared)]
    assert main(["sheet", str(trial), *words]) == 0
    count = len(table(prepared))
    assert merge(trial, aboard("aa", [one("back", 1, "5.0", helmsman="A")])) == 0
    rows = table(prepared)
    assert len(rows) == count
    (filled,) = [row for row in rows if row["time_to_plane [s]"]]
    assert (filled["direction"], filled["helmsman"]) == ("back", "A")


def test_a_conflict_in_one_table_leaves_both_as_they_are(trial: Path, capsys: Capture) -> None:
    """Two devices that differ in one cell of one try; the runs that they hand back are not written either."""
    first = aboard("aa", [one("out", 1, "5.0")], head=RUN_HEAD, rows=[run_row("S1")])
    other = aboard("bb", [one("out", 1, "5.3"), one("back", 1, "5.1")])
    assert merge(trial, first, other) == 2
    told = capsys.readouterr().err
    assert "S1, acceleration, try 1 out: time_to_plane is '5.0' in device aa and '5.3' from" in told
    assert "nothing was written" in told
    assert not list(trial.parent.glob("*.csv"))


def test_runs_and_tries_go_into_their_tables_or_one_of_them_into_a_copy(
    trial: Path, capsys: Capture
) -> None:
    both = aboard("aa", [one("out", 1, "5.0")], head=RUN_HEAD, rows=[run_row("S1")])
    copy = trial.parent / "copy.csv"
    assert merge(trial, both, more=("--output", str(copy))) == 2
    assert "--rows runs or --rows tries" in capsys.readouterr().err
    assert merge(trial, both, more=("--output", str(copy), "--rows", "tries")) == 0
    assert [row["manoeuvre"] for row in table(copy)] == ["acceleration"]
    assert not (trial.parent / "tries.csv").exists()
    capsys.readouterr()
    assert merge(trial, both, more=("--format", "json")) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["added"], told["tries"]["added"]) == ({"S1": 1}, {"S1": 1})
    assert len(table(trial.parent / "runs.csv")) == len(table(trial.parent / "tries.csv")) == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"rehearsal": True}, "row-invented"),
        ({"tries": {"head": KEYS, "rows": [one("out", 1, "5", "S9")]}}, "'S9' is no session"),
        ({"tries": {"head": KEYS, "rows": [{"try": 5}]}}, "tries.rows.0.try"),
        ({"tries": {"head": KEYS}}, "tries.rows"),
    ],
)
def test_what_does_not_fit_is_refused(
    change: dict[str, Any], said: str, trial: Path, capsys: Capture
) -> None:
    text = trial.read_text("utf-8").replace("invented: true\n", "")
    trial.write_text(text, encoding="utf-8")
    assert merge(trial, {**aboard("aa", [one("out", 1, "5.0")]), **change}) == 2
    assert said in capsys.readouterr().err
    assert not list(trial.parent.glob("*.csv"))


def test_a_trial_that_names_no_table_says_what_to_write(trial: Path, capsys: Capture) -> None:
    text = trial.read_text("utf-8").replace("manoeuvres: tries.csv\n", "")
    trial.write_text(text, encoding="utf-8")
    assert merge(trial, aboard("aa", [one("out", 1, "5.0")])) == 2
    assert "manoeuvres: tries.csv" in capsys.readouterr().err
