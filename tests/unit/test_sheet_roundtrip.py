"""A prepared table is taken aboard, filled in, and comes back through `check` and `analyse`.

A script plays the crew. The boat, the tide and every figure are invented.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from invented_protocols import SESSIONS, TRIAL, trial_file

from slackwater.analysis.cli import main

Row = dict[str, str]
Capture = pytest.CaptureFixture[str]

SPEEDS = {"1000": 8.0, "1500": 12.0, "2000": 18.0, "2500": 24.0}  # [kn]
GAIN = 1.06  # with the change fitted
STARTED = {"S1": "2026-05-04", "S2": "2026-05-05", "S3": "2026-05-06", "S4": "2026-05-07"}


class Crew:
    """Fills a prepared table in, run by run, at the hours at which the runs are made."""

    def __init__(self, rows: list[Row]) -> None:
        self.rows = rows
        self.order = list(range(len(rows)))  # rows, in the order in which the runs are made

    def leaves_out(self, *which: tuple[str, int]) -> list[int]:
        """Do not make these runs (session, number of the run); gives their rows in the file."""
        left = [self.index(*one) for one in which]
        self.order = [index for index in self.order if index not in left]
        return [index + 2 for index in left]

    def swaps(self, one: tuple[str, int], other: tuple[str, int]) -> list[int]:
        """Make these two runs in each other's place; gives their rows in the file."""
        a, b = self.index(*one), self.index(*other)
        i, j = self.order.index(a), self.order.index(b)
        self.order[i], self.order[j] = b, a
        return [a + 2, b + 2]

    def index(self, session: str, number: int) -> int:
        own = [i for i, row in enumerate(self.rows) if row["session"] == session]
        return own[number - 1]

    def goes_out(self) -> None:
        clocks = {id: datetime.fromisoformat(f"{day}T08:00:20") for id, day in STARTED.items()}
        for count, index in enumerate(self.order):
            row = self.rows[index]
            at = clocks[row["session"]]
            clocks[row["session"]] += timedelta(seconds=140)
            row |= self.reads(row, at, count)

    def reads(self, row: Row, at: datetime, count: int) -> Row:
        hours = at.hour + at.minute / 60 + at.second / 3600
        tide = 0.8 * math.sin(2 * math.pi * (hours + at.day) / 12.42)
        through = SPEEDS[row["set_point [rpm]"]]
        through *= GAIN if row["session"] in ("S2", "S3") else 1.0
        through *= 1 + 0.002 * math.sin(7.3 * at.day)  # each day is a little better or worse
        way = 1 if row["direction"] == "out" else -1
        ripple = 0.03 * math.sin(2.1 * count)
        held = int(row["set_point [rpm]"]) + count % 3 - 1
        return {
            "start": at.isoformat(),
            "duration [s]": "60",
            "speed_over_ground [kn]": f"{through + way * tide + ripple:.2f}",
            "engine_speed [rpm]": str(held),
            "fuel_flow [L/h]": f"{2 + through**1.8 / 6 + ripple:.2f}",
        }


def prepared(folder: Path) -> tuple[Path, Crew]:
    trial, runs = trial_file(folder), folder / "runs.csv"
    assert main(["sheet", str(trial), "--seed", "8", "--output", str(runs)]) == 0
    with runs.open(encoding="utf-8", newline="") as file:
        return trial, Crew(list(csv.DictReader(file)))


def handed_in(folder: Path, rows: list[Row]) -> None:
    with (folder / "runs.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, rows[0], lineterminator="\n")
        out.writeheader()
        out.writerows(rows)


def output_of(capsys: Capture, *words: str) -> tuple[int, dict[str, Any]]:
    capsys.readouterr()
    code = main([*words, "--format", "json"])
    said = capsys.readouterr()
    assert said.out, said.err
    found: dict[str, Any] = json.loads(said.out)
    return code, found


def told(result: dict[str, Any]) -> list[dict[str, Any]]:
    return [*result.get("findings", []), *result.get("deviations", [])]


def by_rule(result: dict[str, Any]) -> dict[str, list[dict[str, Any]]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for each in told(result):
        found.setdefault(each["rule"], []).append(each)
    return found


ORDER = {"run-not-made", "runs-missing", "first-direction", "set-point-order", "clock-backwards"}


def test_all_runs_made_in_order(tmp_path: Path, capsys: Capture) -> None:
    trial, crew = prepared(tmp_path)
    crew.goes_out()
    handed_in(tmp_path, crew.rows)
    code, result = output_of(capsys, "analyse", str(trial))
    assert code == 0
    assert result["runs"] == {"read": 64, "used": 64, "set_aside": 0}
    assert not ORDER & set(by_rule(result))
    speeds = [c for c in result["comparisons"] if c["quantity"] == "speed"]
    assert {c["verdict"] for c in speeds} == {"gain"}
    for each in speeds:
        assert each["low"] < GAIN - 1 < each["high"]
    assert not ORDER & set(by_rule(output_of(capsys, "check", str(trial))[1]))


def test_two_runs_left_out_and_two_swapped(tmp_path: Path, capsys: Capture) -> None:
    trial, crew = prepared(tmp_path)
    blank = crew.leaves_out(("S2", 3), ("S3", 9))
    swapped = crew.swaps(("S4", 5), ("S4", 6))
    crew.goes_out()
    handed_in(tmp_path, crew.rows)
    code, result = output_of(capsys, "analyse", str(trial))
    assert code == 0
    # The two are told, each with its row; the partners of both are set aside with the reason.
    assert result["runs"] == {"read": 62, "used": 60, "set_aside": 2}
    rules = by_rule(result)
    lacking = {each["session"]: each["message"] for each in rules["run-not-made"]}
    assert set(lacking) == {"S2", "S3"}
    assert f"(row {blank[0]})" in lacking["S2"]
    assert f"(row {blank[1]})" in lacking["S3"]
    assert all("1 of 16 runs is not filled in" in message for message in lacking.values())
    reasons = result["set_aside"]
    assert {each["session"] for each in reasons} == {"S2", "S3"}
    assert all("half a double run" in each["reason"] for each in reasons)
    # The swap shows in the clock, and in the direction that the double run started with.
    (stepped,) = rules["clock-backwards"]
    assert stepped["session"] == "S4"
    assert f"row {swapped[1]} starts" in stepped["message"]
    # The deviations from the protocol, in `check` and in `analyse` alike.
    code, checked = output_of(capsys, "check", str(trial))
    assert code == 1
    for found in (rules, by_rule(checked)):
        missing = {each["session"] for each in found["runs-missing"]}
        assert missing == {"S2", "S3"}
        assert {each["session"] for each in found["first-direction"]} == {"S4"}
    assert {c["verdict"] for c in result["comparisons"] if c["quantity"] == "speed"} == {"gain"}


def test_runs_of_different_set_points_swapped(tmp_path: Path, capsys: Capture) -> None:
    trial, crew = prepared(tmp_path)
    rows = crew.swaps(("S1", 2), ("S1", 12))
    crew.goes_out()
    handed_in(tmp_path, crew.rows)
    rules = by_rule(output_of(capsys, "analyse", str(trial))[1])
    (stepped,) = rules["clock-backwards"]
    assert f"row {rows[0] + 1} starts" in stepped["message"]
    assert f"row {rows[0]}" in stepped["message"]
    assert "runs-missing" not in rules


def test_a_run_set_aside_with_its_reason(tmp_path: Path, capsys: Capture) -> None:
    trial, crew = prepared(tmp_path)
    left = crew.leaves_out(("S1", 1), ("S1", 2))
    crew.goes_out()
    for row in left:
        crew.rows[row - 2]["set_aside"] = "gave way to a ferry"
    handed_in(tmp_path, crew.rows)
    result = output_of(capsys, "analyse", str(trial))[1]
    assert result["runs"] == {"read": 64, "used": 62, "set_aside": 2}
    assert {each["reason"] for each in result["set_aside"]} == {"gave way to a ferry"}
    assert "run-not-made" not in by_rule(result)


def test_half_way_through_the_trial(tmp_path: Path, capsys: Capture) -> None:
    """Sessions still to come stay blank, and are no reason to refuse the table."""
    trial, crew = prepared(tmp_path)
    crew.order = [i for i in crew.order if crew.rows[i]["session"] in ("S1", "S2")]
    crew.goes_out()
    handed_in(tmp_path, crew.rows)
    code, result = output_of(capsys, "analyse", str(trial))
    assert code == 0
    assert result["runs"]["used"] == 32
    messages = [each["message"] for each in by_rule(result)["run-not-made"]]
    assert [message.split(":")[0] for message in messages] == ["session S3", "session S4"]
    assert all("none of its 16 runs is filled in" in message for message in messages)


def test_a_blank_sheet_is_refused_in_plain_words(tmp_path: Path, capsys: Capture) -> None:
    trial, _ = prepared(tmp_path)
    capsys.readouterr()
    assert main(["analyse", str(trial)]) == 2
    said = capsys.readouterr().err
    assert "none of the 64 rows is filled in" in said
    assert "Traceback" not in said


def in_a_workbook(path: Path, rows: list[Row]) -> None:
    """Type the rows into the prepared workbook, numbers and times as a spreadsheet keeps them."""
    book = openpyxl.load_workbook(path)
    sheet = book.active
    names = [cell.value for cell in sheet[1]]
    for number, row in enumerate(rows, start=2):
        for column, name in enumerate(names, start=1):
            text = row[str(name)]
            value: object = text
            if name == "start" and text:
                value = datetime.fromisoformat(text)
            elif text and name not in ("session", "direction", "set_aside", "note"):
                value = float(text)
            if text:
                sheet.cell(number, column).value = value
    book.save(path)


def test_the_workbook_comes_back_alike(
    tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, crew = prepared(tmp_path)
    crew.leaves_out(("S2", 3))
    crew.goes_out()
    handed_in(tmp_path, crew.rows)
    by_csv = output_of(capsys, "analyse", str(tmp_path / "trial.yaml"))[1]
    trial = trial_file(tmp_path, TRIAL + SESSIONS + "runs: runs.xlsx\n")
    assert main(["sheet", str(trial), "--seed", "8", "--output", str(tmp_path / "runs.xlsx")]) == 0
    in_a_workbook(tmp_path / "runs.xlsx", crew.rows)
    by_xlsx = output_of(capsys, "analyse", str(trial))[1]
    assert by_xlsx["runs"] == by_csv["runs"]
    assert by_xlsx["comparisons"] == by_csv["comparisons"]
    assert [f["message"] for f in by_rule(by_xlsx)["run-not-made"]] == [
        f["message"] for f in by_rule(by_csv)["run-not-made"]
    ]


NAMES: list[Callable[[str], str]] = [
    lambda s: f"={s}",
    lambda s: f"00{s[1]}",
    lambda s: f"3-{s[1]}",
]


@pytest.mark.parametrize("rename", NAMES)
def test_awkward_names_survive_the_workbook(
    tmp_path: Path, capsys: Capture, rename: Callable[[str], str]
) -> None:
    _, crew = prepared(tmp_path)
    crew.goes_out()
    sessions = SESSIONS
    for id in STARTED:
        sessions = sessions.replace(f"id: {id}", f"id: '{rename(id)}'")
    trial = trial_file(tmp_path, TRIAL + sessions + "runs: runs.xlsx\n")
    assert main(["sheet", str(trial), "--seed", "8", "--output", str(tmp_path / "runs.xlsx")]) == 0
    book = openpyxl.load_workbook(tmp_path / "runs.xlsx")
    kept = [row | {"session": rename(row["session"])} for row in crew.rows]
    assert [str(cell.value) for cell in book.active["A"][1:]] == [row["session"] for row in kept]
    for number, row in enumerate(kept, start=2):
        for column, name in enumerate(row, start=1):
            if name not in ("session", "direction", "set_aside", "note") and row[name]:
                text = row[name]
                value = datetime.fromisoformat(text) if name == "start" else float(text)
                book.active.cell(number, column).value = value
    book.save(tmp_path / "runs.xlsx")
    assert output_of(capsys, "analyse", str(trial))[1]["runs"]["used"] == 64
