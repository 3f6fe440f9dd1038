"""Tries of manoeuvres typed into the tablet's page, from the cautions to the verdict."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path

import pytest
from driving import Driven
from tablet_crew import STORED, TRIED, Crew, make_page, requests

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.sheet.aboard import parse_aboard

Capture = pytest.CaptureFixture[str]
NAMING = ("session", "manoeuvre", "direction", "try")
ONE = "s0t1a1"  # the first try of the page


@pytest.fixture(scope="session")
def tried(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_page(TRIED, tmp_path_factory.mktemp("tried") / "aboard.html")


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_tries_typed_come_back_as_they_were_typed(
    browser: Driven, crew: Crew, tried: Path, tmp_path: Path, capsys: Capture
) -> None:
    """The twelve tries of a session are typed; merged with the other sessions they give the example's result."""
    for name in ("trial.yaml", "runs.csv"):
        shutil.copy(TRIED.parent / name, tmp_path)
    rows = rows_of(TRIED.parent / "tries.csv")
    with (tmp_path / "tries.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, rows[0], lineterminator="\n")
        out.writeheader()
        out.writerows(row for row in rows if row["session"] != "D1")
    assert len(tried.read_bytes()) < 140_000
    typing = Crew(browser, tried)
    typing.begin_tries()
    ids = typing.try_ids()
    own = [row for row in rows if row["session"] == "D1"]
    assert len(own) == 12
    for row in own:
        cells = {name.partition(" ")[0]: text for name, text in row.items() if name not in NAMING}
        typing.note(
            ids[tuple(row[name] for name in NAMING)],  # type: ignore[index]
            {name: text for name, text in cells.items() if text},
        )
    table = typing.browser.value("tableText('tries')")
    back = {tuple(row[n] for n in NAMING): row for row in csv.DictReader(io.StringIO(table))}
    assert back == {tuple(row[n] for n in NAMING): row for row in own}
    (tmp_path / "aboard.json").write_text(typing.handed_back()[0], encoding="utf-8")
    before = (tmp_path / "runs.csv").read_bytes()
    trial = str(tmp_path / "trial.yaml")
    assert main(["sheet", "--merge", str(tmp_path / "aboard.json"), "--trial", trial]) == 0
    assert capsys.readouterr().out == "D1: 12 tries added\n"
    merged = rows_of(tmp_path / "tries.csv")
    assert sorted(map(str, merged)) == sorted(map(str, rows))
    assert (tmp_path / "runs.csv").read_bytes() == before
    got, wanted = slackwater.analyse(trial), slackwater.analyse(TRIED)
    for one, other in zip(
        got.comparisons.itertuples(), wanted.comparisons.itertuples(), strict=True
    ):
        assert (one.quantity, one.verdict) == (other.quantity, other.verdict)
        assert one.change == pytest.approx(other.change, rel=1e-9, abs=1e-12, nan_ok=True)
    assert requests(browser) == []


def test_a_try_by_the_clock_broken_off_and_made_again(
    browser: Driven, crew: Crew, tried: Path
) -> None:
    quick = Crew(browser, tried)
    quick.begin_tries()
    assert "throw people out of boats" in browser.value("document.querySelector('main').innerText")
    quick.note(ONE, {"helmsman": "A"})
    quick.press("try-start")
    browser.until("document.getElementById('bell').textContent === 'Under way'")
    browser.until("document.getElementById('clock').textContent >= '0:01'")
    quick.press("now time_to_plane")
    assert 1.0 <= float(quick.cell(ONE, "time_to_plane")) < 60
    assert len(quick.cell(ONE, "start")) == len("2026-05-04T08:30:00")
    quick.press("spoiled")
    quick.press("safety")
    quick.press("repeat-try")
    again = "s0t1a2"
    assert browser.value("app.run") == again
    quick.note(again, {"time_to_plane": "4.9", "time_to_20_kn": "9.2", "note": "calm"})
    quick.note(again, {"time_to_plane": "5.1"})  # mended: the entry before stays on record
    quick.press("next-try")
    quick.note("s0t2a1", {"time_to_plane": "0"})
    assert "Not above zero" in browser.value("document.querySelector('main').innerText")
    handed = parse_aboard(quick.handed_back()[0].encode(), "a")
    assert handed.rows == []
    assert handed.tries is not None
    first, second, third = handed.tries.rows
    assert (first["try"], first["set_aside"]) == ("1", "broken off for safety")
    assert (second["time_to_plane"], second["helmsman"], second["note"]) == ("5.1", "A", "calm")
    assert (third["direction"], third["helmsman"]) == ("back", "A")
    values = [each.value for each in handed.journal if each.run == again]
    assert values == ["A", "4.9", "9.2", "calm", "5.1"]
    quick.press("undo")
    quick.press("undo")
    assert quick.cell("s0t2a1", "helmsman") == ""
    # A reload comes back to the try; nothing of it is gone.
    quick.open()
    assert (browser.value("app.run"), quick.cell(again, "time_to_plane")) == ("s0t2a1", "5.1")


def test_a_page_without_tries_has_nothing_of_them(browser: Driven, crew: Crew) -> None:
    crew.begin()
    assert "tries" not in json.loads(crew.handed_back()[0])
    for key in ("nav-session", "nav-hand"):
        crew.press(key)
        for absent in ("to-tries", "nav-tries", "save-tries"):
            assert not browser.value(f"document.querySelector('[data-key={absent}]')")


def test_a_rehearsal_of_tries_is_marked_and_never_passes(
    browser: Driven, crew: Crew, tried: Path, tmp_path: Path, capsys: Capture
) -> None:
    practice = Crew(browser, tried)
    practice.open()
    practice.press("rehearsal-start")
    browser.until("typeof app === 'object' && app.rehearsal && app.store !== null")
    browser.until(STORED)
    # The address keeps the mode where the browser keeps no place.
    browser.value("globalThis.isLeft = true; localStorage.clear(); location.reload()")
    browser.until("!globalThis.isLeft && app.rehearsal && app.store !== null")
    browser.until(STORED)
    for key in ("understood", "session 0", "to-tries", "go-on-try", "invent"):
        practice.press(key)
    assert "REHEARSAL" in browser.value("document.querySelector('.invented').textContent")
    handed = practice.handed_back()[0]
    table = browser.value("tableText('tries')")
    (row,) = csv.DictReader(io.StringIO(table))
    assert row["note"] == "INVENTED"
    assert 2 < float(row["time_to_plane [s]"]) < 10
    text = TRIED.read_text("utf-8").replace("invented: true\n", "")
    (tmp_path / "trial.yaml").write_text(text, encoding="utf-8")
    shutil.copy(TRIED.parent / "runs.csv", tmp_path)
    (tmp_path / "aboard.json").write_text(handed, encoding="utf-8")
    trial = str(tmp_path / "trial.yaml")
    for command in (["sheet", "--merge", str(tmp_path / "aboard.json"), "--trial", trial],
                    ["analyse", trial]):  # fmt: skip
        assert main(command) == 2
        assert "row-invented" in capsys.readouterr().err
        (tmp_path / "tries.csv").write_text(table, encoding="utf-8")  # put there by hand
    practice.press("nav-start")
    practice.press("rehearsal-end")
    browser.until("typeof app === 'object' && !app.rehearsal && app.store !== null")
    browser.until(STORED)
