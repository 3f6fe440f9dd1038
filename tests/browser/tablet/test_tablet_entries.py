"""A session typed into the tablet's page, from the deck to the verdict; nothing is asked of a network."""

from __future__ import annotations

import csv
import io
import json
import shutil
import statistics
from pathlib import Path

import pytest
from driving import Driven
from tablet_crew import EXAMPLE, FIRST, STORED, Crew, make_page, requests

import slackwater
from slackwater.analysis.cli import main

Capture = pytest.CaptureFixture[str]


def test_a_session_typed_comes_back_as_it_was_typed(
    crew: Crew, tmp_path: Path, capsys: Capture
) -> None:
    """Forty-eight runs of the example are typed; merged with the other sessions they give its result."""
    for name in ("trial.yaml", "protocol.yaml"):
        shutil.copy(EXAMPLE / name, tmp_path)
    with (EXAMPLE / "runs.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    others = [row for row in rows if row["session"] != "S1"]
    with (tmp_path / "runs.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, rows[0], lineterminator="\n")
        out.writeheader()
        out.writerows(others)
    crew.begin()
    ids = crew.run_ids()
    own = [row for row in rows if row["session"] == "S1"]
    assert len(own) == 48
    naming = ("session", "set_point [rpm]", "double_run", "direction")
    for row in own:
        run = ids[tuple(row[name] for name in naming)]  # type: ignore[index]
        cells = {name.partition(" ")[0]: text for name, text in row.items() if name not in naming}
        crew.note(run, {name: text for name, text in cells.items() if text and name != "set_aside"})
    handed, table = crew.handed_back()
    back = {tuple(r[n] for n in naming): r for r in csv.DictReader(io.StringIO(table))}
    for row in own:
        assert {n: back[tuple(row[k] for k in naming)][n] for n in row} == row
    (tmp_path / "aboard.json").write_text(handed, encoding="utf-8")
    trial = str(tmp_path / "trial.yaml")
    assert main(["sheet", "--merge", str(tmp_path / "aboard.json"), "--trial", trial]) == 0
    assert "S1: 48 runs added" in capsys.readouterr().out
    with (tmp_path / "runs.csv").open(encoding="utf-8", newline="") as file:
        merged = list(csv.DictReader(file))
    assert sorted(map(str, merged)) == sorted(map(str, rows))
    assert main(["check", trial]) in (0, 1)
    got, wanted = slackwater.analyse(trial), slackwater.analyse(EXAMPLE / "trial.yaml")
    # The rows stand in another order, so that sums differ in their last digits.
    for one, other in zip(
        got.comparisons.itertuples(), wanted.comparisons.itertuples(), strict=True
    ):
        assert (one.quantity, one.at, one.verdict) == (other.quantity, other.at, other.verdict)
        assert one.change == pytest.approx(other.change, rel=1e-9, abs=1e-12, nan_ok=True)
        assert one.low == pytest.approx(other.low, rel=1e-6, abs=1e-9, nan_ok=True)
    assert requests(crew.browser) == []


def test_the_clock_the_bell_and_the_buttons(browser: Driven, crew: Crew, tmp_path: Path) -> None:
    """A run as it is made, with one second to settle and two to record, by mouse and pad."""
    text = (EXAMPLE / "protocol.yaml").read_text("utf-8")
    text = text.replace("settle: 20 s, record: 60 s", "settle: 1 s, record: 2 s")
    (tmp_path / "protocol.yaml").write_text(text, encoding="utf-8")
    shutil.copy(EXAMPLE / "trial.yaml", tmp_path)
    quick = Crew(browser, make_page(tmp_path / "trial.yaml", tmp_path / "quick.html"))
    quick.begin()
    quick.press("settle-start")
    browser.until("document.querySelector('#bell.rings')?.textContent.startsWith('SETTLED')")
    quick.press("record-start")
    browser.until("document.querySelector('#bell.rings')?.textContent.startsWith('TIME IS UP')")
    quick.press("record-stop")
    assert 2.0 <= float(quick.cell(FIRST, "duration")) < 30
    assert len(quick.cell(FIRST, "start")) == len("2026-05-04T08:30:00")
    browser.value(f"document.getElementById('{FIRST} speed_over_ground').focus()")
    for key in ("1", "2", ".", "5"):
        press_pad(browser, key)
    press_pad(browser, "Store, next")
    browser.until(STORED)
    assert quick.cell(FIRST, "speed_over_ground") == "12.5"
    assert browser.value("document.activeElement.id") == f"{FIRST} engine_speed"
    # Spoiled: set aside with its reason, and both runs of the double run made once more.
    quick.press("spoiled")
    quick.press("wake")
    quick.press("repeat-both")
    assert browser.value("app.run") == "s0r1a2"
    rows = json.loads(quick.handed_back()[0])["rows"]
    assert [r["set_aside"] for r in rows[:2]] == ["crossed a wake", ""]
    assert rows[0]["set_point"] == rows[1]["set_point"]


def press_pad(browser: Driven, text: str) -> None:
    browser.value(
        "[...document.querySelectorAll('#pad button')].find(each => each.textContent === "
        f"{json.dumps(text)}).click()"
    )


def test_limits_are_told_at_once(browser: Driven, crew: Crew) -> None:
    crew.begin()
    point = browser.value(f"app.state.byId.get('{FIRST}').setPoint")
    for name, text, said in (
        ("engine_speed", str(point * 1.02), "The set point was not held"),
        ("engine_speed", str(point), ""),
        ("speed_over_ground", "1250", "Beyond what is possible"),
        ("fuel_flow", "0", "Not above zero"),
        ("fuel_flow", "12,,5", "This is not a number"),
    ):
        browser.value(f"document.getElementById('{FIRST} {name}').focus()")
        browser.value("document.activeElement.select()")
        browser.write(text)
        told = browser.value(f"document.getElementById('{FIRST} {name} says').textContent")
        assert told.startswith(said), (text, told)
        assert bool(told) == bool(said)


def test_current_and_scatter_so_far(browser: Driven, crew: Crew) -> None:
    """Against the standard library's mean and standard deviation."""
    crew.begin()
    speeds = {1: (10.0, 9.0), 2: (10.3, 9.1), 3: (9.9, 8.8)}
    ids = {key: run for key, run in crew.run_ids().items() if key[:2] == ("S1", "2000")}
    for number, (out, back) in speeds.items():
        crew.note(ids["S1", "2000", str(number), "out"], {"speed_over_ground": str(out)})
        crew.note(ids["S1", "2000", str(number), "back"], {"speed_over_ground": str(back)})
    (row,) = browser.value("scatterOf(doubleRuns(app.data, app.state, 0))")
    means = [statistics.mean(pair) for pair in speeds.values()]
    assert row["count"] == 3
    assert row["mean"] == pytest.approx(statistics.mean(means), rel=1e-12)
    assert row["spread"] == pytest.approx(statistics.stdev(means), rel=1e-9)
    last = browser.value("doubleRuns(app.data, app.state, 0).at(-1).current")
    assert last in [pytest.approx((out - back) / 2) for out, back in speeds.values()]
    assert "Current along the course" in browser.value(
        "document.querySelector('.sofar').textContent"
    )


def test_reload_undo_and_history(browser: Driven, crew: Crew) -> None:
    crew.begin()
    crew.note(FIRST, {"speed_over_ground": "11.9", "fuel_flow": "20.5"})
    crew.note(FIRST, {"note": "a second boat"})
    crew.open()
    assert crew.cell(FIRST, "speed_over_ground") == "11.9"
    assert browser.value("app.screen") == "run"
    crew.press("undo")
    assert crew.cell(FIRST, "note") == ""
    crew.press("undo")
    assert crew.cell(FIRST, "fuel_flow") == ""
    journal = json.loads(crew.handed_back()[0])["journal"]
    assert [each["n"] for each in journal] == list(range(1, len(journal) + 1))
    assert [each["value"] for each in journal if each["name"] == "fuel_flow"] == ["20.5"]
    assert sum(each["name"] == "undo" for each in journal) == 2
    crew.press("nav-history")
    assert "taken back" in browser.value("document.querySelector('main').textContent")


def test_speed_and_course_from_the_device(browser: Driven, crew: Crew) -> None:
    """Fixes given by the driver; mean, scatter and course as the standard library has them."""
    import cmath
    import math

    origin = {"origin": "file://"}
    browser.call("Browser.grantPermissions", "", permissions=["geolocation"])
    fixes = [(6.0, 358.0, 4.0), (6.4, 3.0, 5.0), (6.2, 1.0, 8.0)]
    crew.begin()
    crew.press("nav-session")
    crew.press("receiver-start")
    crew.press("go-on")
    crew.press("record-start")
    for number, (speed, course, accuracy) in enumerate(fixes, 1):
        browser.call(
            "Emulation.setGeolocationOverride",
            latitude=50.0 + number / 1e4,
            longitude=-1.0,
            accuracy=accuracy,
            speed=speed,
            heading=course,
        )
        browser.until(f"receiver.fixes.length === {number}")
    crew.press("record-stop")
    browser.until(STORED)
    knots = [speed * 3600 / 1852 for speed, *_ in fixes]
    mean = sum(cmath.rect(speed, math.radians(course)) for speed, course, _ in fixes)
    assert crew.cell(FIRST, "speed_over_ground") == f"{statistics.mean(knots):.2f}"
    assert crew.cell(FIRST, "heading") == f"{math.degrees(cmath.phase(mean)) % 360:.1f}"
    entry = browser.value(f"app.state.byId.get('{FIRST}').cells.speed_over_ground")
    assert entry["from"] == "receiver"
    assert entry["more"]["fixes"] == 3
    assert entry["more"]["scatter"] == pytest.approx(statistics.stdev(knots), abs=1e-4)
    assert entry["more"]["accuracy"] == 8.0
    # What was typed stays.
    second = "s0r2a1"
    crew.note(second, {"speed_over_ground": "11.11"})
    crew.press("record-start")
    browser.call(
        "Emulation.setGeolocationOverride",
        latitude=51.0, longitude=-1.0, accuracy=3.0, speed=9.0, heading=180.0,
    )  # fmt: skip
    browser.until("receiver.fixes.length > 0")
    crew.press("record-stop")
    assert crew.cell(second, "speed_over_ground") == "11.11"
    assert crew.cell(second, "heading") == "180.0"
    browser.value("stopReceiver()")
    browser.call("Emulation.clearGeolocationOverride")
    browser.call("Browser.resetPermissions", "")
    assert origin["origin"] == "file://"
