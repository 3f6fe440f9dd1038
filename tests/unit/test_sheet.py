"""The sheet to take aboard: page, table, text and data, and what is refused."""

from __future__ import annotations

import csv
import io
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import openpyxl
import pytest
from invented_protocols import SESSIONS, TRIAL, trial_file

from slackwater.analysis.cli import main

Capture = pytest.CaptureFixture[str]


class Page(HTMLParser):
    """The text of a page, the cells of its tables, and everything it would fetch."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.rows: list[list[str]] = []
        self.tags: list[str] = []
        self.links: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.links += [value or "" for name, value in attrs if name in ("src", "href")]
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th") and self.rows:
            self.rows[-1].append("")

    def handle_data(self, data: str) -> None:
        self.words.append(data)
        if self.rows and self.rows[-1]:
            self.rows[-1][-1] = f"{self.rows[-1][-1]} {data.strip()}".strip()

    @property
    def text(self) -> str:
        return " ".join("".join(self.words).split())


def page(capsys: Capture, *words: str) -> tuple[str, Page]:
    assert main(["sheet", *words, "--format", "html"]) == 0
    text = capsys.readouterr().out
    return text, Page(text)


def test_cautions_come_first_and_defer(tmp_path: Path, capsys: Capture) -> None:
    text, seen = page(capsys, str(trial_file(tmp_path)))
    words = seen.text
    first = words.index("Cautions")
    assert first < words.index("How each run is made") < words.index("S1: before the first run")
    for needed in ("local rules", "skipper", "licensed"):
        assert first < words.index(needed) < words.index("How each run is made")
    assert "lookout" in words
    assert "<script" not in text
    assert seen.links == []


def test_the_protocols_own_cautions_are_kept(capsys: Capture) -> None:
    words = page(capsys, "two-way-sweep")[1].text
    assert "Wear lifejackets and the kill cord" in words
    assert words.index("A plan, not an order") < words.index("Wear lifejackets")


def test_every_run_stands_on_the_page_with_its_limits(tmp_path: Path, capsys: Capture) -> None:
    path = str(trial_file(tmp_path))
    text, seen = page(capsys, path, "--course", "045", "--seed", "11")
    assert main(["sheet", path, "--course", "045", "--seed", "11", "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    printed = [row for row in seen.rows if row and row[0].isdecimal()]
    planned = [run for session in data["sessions"] for run in session["runs"]]
    assert len(printed) == len(planned) == 4 * 16
    bands = {1000: "990–1010", 1500: "1485–1515", 2000: "1980–2020", 2500: "2475–2525"}
    for row, run in zip(printed, planned, strict=True):
        heading = {"out": "045°", "back": "225°"}[run["direction"]]
        assert row[0] == str(run["number"])
        assert row[2] == f"{run['set_point']:g} {bands[run['set_point']]}"
        assert row[3] == f"{run['direction'].upper()} {heading}"
        assert row[5:8] == ["", "", ""]  # room to write each reading
    assert text.count("seed 11") >= 2  # in the head, and at the foot of every page
    assert "settle for 20 s; then record for 60 s" in seen.text
    assert "alike within 1 % in all sessions" in seen.text
    assert "at most 8 kn" in seen.text


def test_boxes_have_their_units_and_the_legend_what_is_fitted(
    tmp_path: Path, capsys: Capture
) -> None:
    text = TRIAL.replace(
        "{title: With the change}", "{title: With the change, propeller_pitch: 24 in}"
    )
    seen = page(capsys, str(trial_file(tmp_path, text + SESSIONS)))[1].text
    assert "displacement [kg]alike within 1 % in all sessions" in seen
    assert "wind speed [kn]at most 8 kn" in seen
    assert "A As delivered (bare)" in seen
    assert "B With the change (fitted): pitch 24 in" in seen


def test_it_is_made_for_paper(tmp_path: Path, capsys: Capture) -> None:
    text, seen = page(capsys, str(trial_file(tmp_path)))
    style = text[text.index("<style>") : text.index("</style>")]
    assert re.search(r"@page \{ size: A4;", style)
    assert "break-before: page" in style
    assert "display: table-header-group" in style
    assert seen.tags.count("thead") == 1 + 4  # repeated on every page of a session
    # Black and white: no colour but these two is named.
    assert set(re.findall(r"#[0-9a-f]{3,8}\b", style)) == {"#000", "#fff"}
    sizes = {
        name: float(size)
        for name, size in re.findall(r"td\.(\w+)[^{]*\{[^}]*?font-size: ([\d.]+)pt", style)
    }
    assert sizes["way"] >= 12  # read at arm's length


def test_many_readings_turn_the_page(tmp_path: Path, capsys: Capture) -> None:
    more = "".join(f"    reading_{n}: {{unit: kPa}}\n" for n in range(3))
    path = trial_file(
        tmp_path,
        TRIAL.replace("    fuel_flow: {unit: L/h}\n", f"    fuel_flow: {{unit: L/h}}\n{more}")
        + SESSIONS,
    )
    assert "size: A4 landscape;" in page(capsys, str(path))[0]


def test_names_cannot_break_out_of_the_page(tmp_path: Path, capsys: Capture) -> None:
    nasty = "</style><script>alert(1)</script>"
    text = TRIAL.replace("title: An invented trial", f"title: '{nasty}'") + SESSIONS
    text = text.replace("{title: As delivered}", f"{{title: '{nasty}'}}")
    out, seen = page(capsys, str(trial_file(tmp_path, text)))
    assert "script" not in seen.tags
    assert out.count("<style>") == out.count("</style>") == 1
    assert nasty in seen.text


# --- the table -------------------------------------------------------------------------------------


def test_the_csv_has_the_rows_in_order(tmp_path: Path, capsys: Capture) -> None:
    path = str(trial_file(tmp_path))
    assert main(["sheet", path, "--format", "csv", "--seed", "4"]) == 0
    table = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert main(["sheet", path, "--format", "json", "--seed", "4"]) == 0
    data = json.loads(capsys.readouterr().out)
    planned = [(s["id"], r) for s in data["sessions"] for r in s["runs"]]
    assert list(table[0]) == [
        "session", "set_point [rpm]", "double_run", "direction", "start", "duration [s]",
        "speed_over_ground [kn]", "engine_speed [rpm]", "fuel_flow [L/h]", "set_aside", "note",
    ]  # fmt: skip
    assert [
        (r["session"], r["set_point [rpm]"], r["double_run"], r["direction"]) for r in table
    ] == [(id, f"{r['set_point']:g}", str(r["double_run"]), r["direction"]) for id, r in planned]
    measured = ("start", "duration [s]", "speed_over_ground [kn]", "set_aside", "note")
    assert {row[name] for row in table for name in measured} == {""}


def test_the_tables_own_headings_and_units(tmp_path: Path, capsys: Capture) -> None:
    own = "units: {fuel_flow: gal/h}\ncolumns: {speed_over_ground: GPS speed, session: Outing}\n"
    path = trial_file(tmp_path, TRIAL + SESSIONS + own)
    assert main(["sheet", str(path), "--format", "csv", "--course", "10"]) == 0
    head = capsys.readouterr().out.splitlines()[0].split(",")
    assert {"Outing", "GPS speed [kn]", "fuel_flow [gal/h]", "heading [deg]"} <= set(head)


def test_csv_and_workbook_hold_the_same(tmp_path: Path, capsys: Capture) -> None:
    path, out = str(trial_file(tmp_path)), tmp_path / "runs.xlsx"
    assert main(["sheet", path, "--output", str(out)]) == 0
    assert main(["sheet", path, "--format", "csv"]) == 0
    table = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    sheet = openpyxl.load_workbook(out).active
    cells = [["" if c.value is None else str(c.value) for c in row] for row in sheet.iter_rows()]
    assert cells == table
    assert sheet.freeze_panes == "E2"


STARTS = ("=1+1", "+A1", "-A1", "@SUM(A1)", "=HYPERLINK(0)")


@pytest.mark.parametrize("name", STARTS)
def test_no_text_becomes_a_formula(tmp_path: Path, capsys: Capture, name: str) -> None:
    text = TRIAL + SESSIONS.replace("id: S2", f"id: '{name}'")
    path, out = str(trial_file(tmp_path, text)), tmp_path / "runs.xlsx"
    assert main(["sheet", path, "--output", str(out)]) == 0
    sheet = openpyxl.load_workbook(out).active
    found = [cell for row in sheet.iter_rows() for cell in row if cell.value == name]
    assert len(found) == 16
    assert {cell.data_type for cell in found} == {"s"}
    assert all(cell.quotePrefix for cell in found)
    assert not any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)
    # A CSV file cannot say that a text is a text: it is refused instead.
    capsys.readouterr()
    assert main(["sheet", path, "--format", "csv"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert f"'{name}' would be taken for a formula" in said.err
    assert ".xlsx" in said.err


def test_a_filled_in_table_is_never_written_over(tmp_path: Path, capsys: Capture) -> None:
    path, out = str(trial_file(tmp_path)), tmp_path / "runs.csv"
    assert main(["sheet", path, "--output", str(out)]) == 0
    before = out.read_bytes()
    assert main(["sheet", path, "--output", str(out), "--seed", "2"]) == 2
    assert "may have been filled in since" in capsys.readouterr().err
    assert out.read_bytes() == before


# --- text, data and options ------------------------------------------------------------------------


def test_the_text(capsys: Capture) -> None:
    words = ["sheet", "two-way-sweep", "--order", "abba", "--first-day", "2026-05-04"]
    assert main([*words, "--seed", "5"]) == 0
    said = capsys.readouterr()
    assert "seed 5 (the same seed gives the same sheet)" in said.out
    assert "Mon 2026-05-04  08:00-08:41" in said.out
    assert "this order  naive order" in said.out
    assert "  - {id: S1, configuration: A, date: 2026-05-04}" in said.out
    assert "Assumed: daylight 08:00 to 18:00" in said.out
    assert "write 'order: ABBABA'" in said.err


def test_the_seed_is_told_and_is_the_same_every_time(capsys: Capture) -> None:
    texts = set()
    for _ in range(2):
        assert main(["sheet", "two-way-sweep"]) == 0
        texts.add(capsys.readouterr().out)
    assert len(texts) == 1
    assert re.search(r"seed \d+", texts.pop())


def test_a_trial_without_sessions_gets_them_from_the_order(tmp_path: Path, capsys: Capture) -> None:
    path = str(trial_file(tmp_path, TRIAL))
    assert main(["sheet", path, "--format", "json"]) == 0
    said = capsys.readouterr()
    data = json.loads(said.out)
    fitted = [session["configuration"] for session in data["sessions"]]
    assert fitted == ["bare", "fitted", "fitted", "bare"]
    assert "lists no sessions yet" in said.err
    assert main(["sheet", path]) == 0
    assert "  - {id: S2, configuration: fitted}" in capsys.readouterr().out


def test_fuel_flow_plans_the_fillings(tmp_path: Path, capsys: Capture) -> None:
    path = str(trial_file(tmp_path))
    assert main(["sheet", path, "--format", "json", "--fuel-flow", "100 L/h"]) == 0
    sessions = json.loads(capsys.readouterr().out)["sessions"]
    # 16 runs of 140 s at 100 L/h are 62.2 L; 1 % of 7400 kg are 88.1 L at 0.84 kg/L. [by hand]
    assert [round(s["fuel"], 1) for s in sessions] == [62.2] * 4
    assert [round(s["fill_before"], 1) for s in sessions] == [0, 62.2, 62.2, 62.2]
    assert "Fill up first, about 62 L" in page(capsys, path, "--fuel-flow", "100 L/h")[1].text


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--daylight", "20:00-06:30"], "is not a stretch of one day"),
        (["--daylight", "dawn"], "is not a stretch of one day"),
        (["--daylight", "6-20"], "--daylight: '6' is not a time"),
        (["--first-day", "04/05/2026"], "--first-day: '04/05/2026' is not an ISO date"),
        (["--change-time", "45"], "--change-time: '45' has no unit"),
        (["--turn-time", "-5 s"], "--turn-time: '-5 s' is below zero"),
        (["--course", "400"], "--course: '400' is not between 0 and 360"),
        (["--course", "north"], "--course:"),
        (["--fuel-flow", "40 kn"], "--fuel-flow:"),
        (["--fuel-flow", "4 L/h, 5 L/h", "--displacement", "7 t"], "2 flows for 3 set points"),
        (["--fuel-flow", "4 L/h"], "displacement is not known"),
        (["--daylight", "09:00-09:10"], "the daylight from 09:00 to 09:10 is 10 min"),
        (["--format", "xlsx"], "a workbook cannot go to the terminal"),
    ],
)
def test_options_that_do_not_do(capsys: Capture, words: list[str], says: str) -> None:
    assert main(["sheet", "two-way-sweep", *words]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert says in said.err
    assert "fix:" in said.err


def test_a_trial_sets_order_and_days_itself(tmp_path: Path, capsys: Capture) -> None:
    path = str(trial_file(tmp_path))
    for words, says in (
        (["--order", "abba"], "their order is set already"),
        (["--first-day", "2026-05-04"], "the first day is set already"),
    ):
        assert main(["sheet", path, *words]) == 2
        assert says in capsys.readouterr().err


def test_an_unknown_protocol(capsys: Capture) -> None:
    assert main(["sheet", "two-way-sweeep"]) == 2
    assert "did you mean 'two-way-sweep'?" in capsys.readouterr().err
