"""The tablet's page in a real Chromium: a session typed and taken through to the result, nothing asked of a
network, two windows, a full store, hostile names, every width.

Structure and contrast are looked at by axe-core (Deque, Mozilla Public License 2.0), an independent
program that knows the Web Content Accessibility Guidelines.
"""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import statistics
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from driving import Driven
from looking import ROOT
from tablet_crew import STORED, Crew, make_page

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.report.sheet.tablet_page import render
from slackwater.analysis.sheet.aboard import parse_aboard

EXAMPLE = ROOT / "examples" / "workboat-interceptors"
MOST_BYTES = 200_000
FIRST = "s0r1a1"
Capture = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def browser(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    driven = Driven(chromium, tmp_path_factory.mktemp("profile"))
    yield driven
    driven.close()


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tablet")
    return make_page(EXAMPLE / "trial.yaml", folder / "aboard.html", "--course", "045")


@pytest.fixture
def crew(browser: Driven, page: Path) -> Iterator[Crew]:
    found = Crew(browser, page)
    found.forget()
    browser.size(820, 1180)
    browser.events.clear()
    yield found
    thrown = [e for e in browser.events if e["method"] == "Runtime.exceptionThrown"]
    assert not thrown, json.dumps(thrown)[:2000]


def requests(browser: Driven) -> list[str]:
    """What the page asked of anything but itself."""
    sent = [e for e in browser.events if e["method"] == "Network.requestWillBeSent"]
    addresses = [str(e["params"]["request"]["url"]) for e in sent]
    return [a for a in addresses if not a.startswith(("file:", "about:", "blob:"))]


# --- a session, from the deck to the verdict -------------------------------------------------------


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


# --- nothing is lost -------------------------------------------------------------------------------


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


CLEARED = {
    "files": "localStorage.clear()",
    "local storage": "caches.delete(app.store.name)",
}


@pytest.mark.parametrize("left", CLEARED)
def test_a_copy_mends_a_database_that_was_cleared(browser: Driven, crew: Crew, left: str) -> None:
    """Cleared as a browser does that finds it broken; either copy alone brings all of it back."""
    crew.begin()
    crew.note(FIRST, {"speed_over_ground": "11.9"})
    before = browser.value("app.entries")
    browser.value(f"(async () => {{ await {CLEARED[left]}; }})()")
    browser.value(
        "new Promise(done => { const change = app.store.base.transaction('journal', 'readwrite'); "
        "change.objectStore('journal').clear(); change.oncomplete = done; })"
    )
    crew.open()
    assert browser.value("app.entries") == before
    assert crew.cell(FIRST, "speed_over_ground") == "11.9"
    assert "put back from a copy" in browser.value("document.body.innerText")
    assert browser.value("readBase(app.store)") == before


def test_a_second_window_only_reads_and_takes_over(browser: Driven, crew: Crew) -> None:
    crew.begin()
    crew.note(FIRST, {"fuel_flow": "20.5"})
    first, first_target = browser.session, browser.target
    second = browser.open_tab()
    crew.open(writes=False)
    browser.until("document.body.innerText.includes('READ ONLY')")
    assert crew.cell(FIRST, "fuel_flow") == "20.5"
    browser.value(f"openRun('{FIRST}'); enter('{FIRST}', 'fuel_flow', '9')")
    assert crew.cell(FIRST, "fuel_flow") == "20.5"
    assert browser.value(f"document.getElementById('{FIRST} fuel_flow').readOnly")
    # What the first window stores shows in the second; when it is closed, the second writes.
    browser.session = first
    crew.note(FIRST, {"speed_over_ground": "12.1"})
    browser.session = second
    browser.until(f"cell(app.state.byId.get('{FIRST}'), 'speed_over_ground') === '12.1'")
    browser.call("Target.closeTarget", "", targetId=first_target)
    browser.until(STORED)
    assert not browser.value("document.body.innerText.includes('READ ONLY')")


def test_without_locks_no_entry_is_written_over(browser: Driven, crew: Crew) -> None:
    """Where a browser has no locks, a number that is taken stops the window that comes second."""
    crew.begin()
    browser.value(
        "writeBase(app.store, {...app.entries[0], n: app.entries.length + 1, run: 's0r1a1', "
        "name: 'fuel_flow', value: '20.5'})"
    )
    browser.value(f"enter('{FIRST}', 'fuel_flow', '9')")
    browser.until("app.readOnly && app.waiting.length === 0")
    assert crew.cell(FIRST, "fuel_flow") == "20.5"
    assert "Another window wrote" in browser.value("document.body.innerText")


def test_a_full_store_is_told_and_tried_again(browser: Driven, crew: Crew) -> None:
    """The browser's own refusal, as the Indexed Database API 3.0 has it, put in the place of a full disk."""
    crew.begin()
    browser.value(
        """(() => { const add = IDBObjectStore.prototype.add;
          globalThis.emptied = () => { IDBObjectStore.prototype.add = add; };
          IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); };
        })()"""
    )
    browser.value(f"enter('{FIRST}', 'fuel_flow', '20.5')")
    browser.until("app.failed")
    assert "NOT STORED: the store is full" in browser.value("document.body.innerText")
    assert (
        browser.value("document.querySelector('[data-kept=fuel_flow]').innerText") == "NOT STORED"
    )
    assert all(each["name"] != "fuel_flow" for each in json.loads(crew.handed_back()[0])["journal"])
    browser.value("emptied()")
    crew.press("try-again")
    assert browser.value("document.querySelector('[data-kept=fuel_flow]').innerText") == "stored"
    crew.open()
    assert crew.cell(FIRST, "fuel_flow") == "20.5"


def test_a_clock_that_was_set_is_told(browser: Driven, crew: Crew) -> None:
    crew.begin()
    browser.value("lastLook.at += 3600e3; watchClock()")
    browser.until(STORED)
    assert "put back by 1 h" in browser.value("document.body.innerText")
    (entry,) = browser.value("app.entries.filter(each => each.name === 'clock')")
    assert float(entry["value"]) == pytest.approx(-3600, abs=2)


# --- handing back ----------------------------------------------------------------------------------


def test_codes_and_file_hold_the_same(browser: Driven, crew: Crew) -> None:
    """The codes are read by ZXing, an independent reader, where it is there; else their lines are."""
    crew.begin()
    crew.note(FIRST, {"fuel_flow": "20.5", "note": "größer, „wie ein Kahn“"})
    lines = browser.value("codeLines(aboardText())")
    wanted = parse_aboard(crew.handed_back()[0].encode(), "a")
    found = parse_aboard("\n".join(reversed(lines)).encode(), "b")
    assert found.model_dump(exclude={"written"}) == wanted.model_dump(exclude={"written"})
    zxing = pytest.importorskip("zxingcpp", reason="no zxing-cpp here, so NO CODE WAS READ")
    import numpy as np

    for line in lines[:2]:
        dark = np.array(browser.value(f"Array.from(codeOf({json.dumps(line)}))"), dtype=np.uint8)
        light = np.pad(np.where(dark.reshape(77, 77), 0, 255), 4, constant_values=255)
        picture = light.astype(np.uint8).repeat(4, 0).repeat(4, 1)
        (read,) = zxing.read_barcodes(picture)
        assert read.text == line


def test_a_file_is_saved(browser: Driven, crew: Crew, tmp_path: Path) -> None:
    browser.call("Browser.setDownloadBehavior", "", behavior="allow", downloadPath=str(tmp_path))
    crew.begin()
    crew.note(FIRST, {"fuel_flow": "20.5"})
    crew.press("nav-hand")
    crew.press("save-json")
    crew.press("save-csv")
    end = time.monotonic() + 30
    while len(found := list(tmp_path.glob("workboat-interceptors-*.[cj]s*"))) < 2:
        assert time.monotonic() < end
        time.sleep(0.05)
    table = next(path for path in found if path.suffix == ".csv")
    assert "S1," in table.read_text("utf-8")
    assert requests(browser) == []


def test_it_is_served_and_handed_in(
    browser: Driven, crew: Crew, page: Path, tmp_path: Path
) -> None:
    """From this machine, over http: the page says where it may hand in, and does."""
    import threading

    from slackwater.analysis.commands.sheet_serving import Server

    data = re.search(r'id="sheet">(.*?)</script>', page.read_text("utf-8"))
    assert data is not None
    text = render(json.loads(data[1]), served=True)
    server = Server(("127.0.0.1", 0), text, "workboat-interceptors", tmp_path / "in")
    threading.Thread(target=server.serve_forever, daemon=True).start()
    address = f"http://127.0.0.1:{server.server_address[1]}"
    served = Crew(browser, f"{address}/")
    served.begin()
    served.note(FIRST, {"fuel_flow": "20.5"})
    served.press("nav-hand")
    served.press("hand-in")
    browser.until("document.body.innerText.includes('Handed in as')")
    (kept,) = (tmp_path / "in").iterdir()
    assert parse_aboard(kept.read_bytes(), "a").rows[0]["fuel_flow"] == "20.5"
    assert {a.removeprefix(address) for a in requests(browser)} <= {"/", "/hand-in", "/favicon.ico"}
    server.shutdown()
    server.server_close()
    served.press("hand-in")
    browser.until("document.body.innerText.includes('Nothing is lost')")


# --- rehearsal -------------------------------------------------------------------------------------


def test_a_rehearsal_is_marked_and_never_passes(
    browser: Driven, crew: Crew, tmp_path: Path, capsys: Capture
) -> None:
    crew.open()
    crew.press("rehearsal-start")
    browser.until("typeof app === 'object' && app.rehearsal && app.store !== null")
    browser.until(STORED)
    crew.press("understood")
    for screen in ("nav-sessions", "session 0", "go-on", "invent", "nav-hand", "nav-history"):
        crew.press(screen)
        assert browser.value("document.querySelector('.invented').textContent").startswith(
            "REHEARSAL"
        )
    handed, table = crew.handed_back()
    rows = list(csv.DictReader(io.StringIO(table)))
    assert rows
    assert all(row["note"].startswith("INVENTED") for row in rows)
    for name in ("trial.yaml", "protocol.yaml"):
        shutil.copy(EXAMPLE / name, tmp_path)
    (tmp_path / "aboard.json").write_text(handed, encoding="utf-8")
    trial = tmp_path / "trial.yaml"
    command = ["sheet", "--merge", str(tmp_path / "aboard.json"), "--trial", str(trial)]
    assert main(command) == 2
    assert "row-invented" in capsys.readouterr().err
    # The table itself, put there by hand, is refused as well; an invented trial takes both.
    made = [row for row in rows if row["start"]]
    (tmp_path / "runs.csv").write_text(table, encoding="utf-8")
    assert main(["analyse", str(trial)]) == 2
    assert "row-invented" in capsys.readouterr().err
    (tmp_path / "runs.csv").unlink()
    trial.write_text(f"invented: true\n{trial.read_text('utf-8')}", encoding="utf-8")
    assert main(command) == 0
    assert "INVENTED" in capsys.readouterr().out
    assert len(made) == 1
    # Outside of it nothing of the rehearsal is there.
    crew.press("nav-start")
    crew.press("rehearsal-end")
    browser.until("typeof app === 'object' && !app.rehearsal && app.store !== null")
    browser.until(STORED)
    assert browser.value("app.entries.length") == 1


# --- the receiver ----------------------------------------------------------------------------------


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


# --- how it looks ----------------------------------------------------------------------------------

SCREENS = ("nav-start", "nav-sessions", "session 0", "go-on", "nav-hand", "nav-history")
_OVER = """(() => {
  const wide = document.documentElement.clientWidth;
  const small = [...document.querySelectorAll('button, input, summary')].filter(each => {
    const box = each.getBoundingClientRect();
    return box.width > 0 && (box.height < 48 || box.width < 48);
  }).map(each => each.outerHTML.slice(0, 80));
  return {over: document.documentElement.scrollWidth - wide, small};
})()"""


@pytest.mark.parametrize("night", [False, True])
def test_every_screen_at_every_width(browser: Driven, crew: Crew, axe: str, night: bool) -> None:
    crew.begin()
    crew.note(FIRST, {"speed_over_ground": "1250", "fuel_flow": "20.5", "duration": "60"})
    if night:
        crew.press("night")
    browser.value(f"{axe}; 1")
    for key in SCREENS:
        crew.press(key)
        if key == "go-on":
            browser.value(f"openRun('{FIRST}'); document.querySelector('.mend').open = true")
            browser.value(f"document.getElementById('{FIRST} fuel_flow').focus()")
        for width in (320, 390, 768, 1280):
            browser.size(width, 900)
            told = browser.value(_OVER)
            assert told["over"] <= 0, (key, width)
            assert told["small"] == [], (key, width)
        found: dict[str, Any] = browser.value(
            "axe.run(document, {resultTypes: ['violations']}).then(found => ({rules: "
            "found.passes.length, faults: found.violations.map(each => each.id + ': ' + "
            "each.nodes.slice(0, 3).map(node => node.html.slice(0, 120) + node.failureSummary)"
            ".join(' | '))}))"
        )
        assert found["rules"] >= 10
        assert found["faults"] == [], key


def test_the_keyboard_alone_is_enough(browser: Driven, crew: Crew) -> None:
    crew.open()

    def go_to(script: str) -> None:
        for _ in range(60):
            if browser.value(script):
                return
            browser.key("Tab")
        raise AssertionError(script)

    def on(key: str) -> str:
        return f"document.activeElement.dataset.key === {json.dumps(key)}"

    for key in ("understood", "session 0", "go-on"):
        go_to(on(key))
        browser.key("Enter")
        browser.until(STORED)
    browser.until("app.screen === 'run'")
    go_to(on("record-start"))
    browser.key(" ")
    browser.until(f"cell(app.state.byId.get('{FIRST}'), 'start')")
    go_to(on(f"{FIRST} fuel_flow"))
    for key in "20.5":
        browser.key(key)
    browser.key("Enter")
    browser.until(f"cell(app.state.byId.get('{FIRST}'), 'fuel_flow') === '20.5'")
    go_to(on("spoiled"))
    browser.key("Enter")
    go_to(on("gust"))
    browser.key("Enter")
    browser.until(f"cell(app.state.byId.get('{FIRST}'), 'set_aside')")


# --- hostile names, size, pace ---------------------------------------------------------------------

NASTY = "\"'><img src=x onerror=alert(1)></script><script>alert(2)</script>\u202eTHGIR{{7*7}}${7}"


def test_hostile_names_do_nothing(browser: Driven, crew: Crew, tmp_path: Path) -> None:
    text = (EXAMPLE / "trial.yaml").read_text("utf-8")
    quoted = json.dumps(NASTY)
    for old in ("Interceptors on an 11 m workboat (invented)", "Workboat (invented)"):
        text = text.replace(old, quoted)
    text = text.replace("title: As delivered", f"title: {quoted}").replace("S1,", f"{quoted},")
    (tmp_path / "trial.yaml").write_text(text, encoding="utf-8")
    shutil.copy(EXAMPLE / "protocol.yaml", tmp_path)
    target = tmp_path / "a.html"
    if (
        main(["sheet", str(tmp_path / "trial.yaml"), "--for", "tablet", "--output", str(target)])
        == 2
    ):
        # An id cannot hold all of it; the titles can.
        text = text.replace(f"{quoted},", "S1,")
        (tmp_path / "trial.yaml").write_text(text, encoding="utf-8")
        make_page(tmp_path / "trial.yaml", target)
    nasty = Crew(browser, target)
    nasty.begin()
    nasty.note(FIRST, {"note": NASTY.replace("\u202e", "")})
    for key in ("nav-start", "nav-sessions", "session 0", "nav-hand", "nav-history"):
        nasty.press(key)
        assert browser.value("document.images.length") == 0
        assert browser.value("document.querySelectorAll('script').length") == 3
    assert not [e for e in browser.events if e["method"] == "Page.javascriptDialogOpening"]
    assert "\u202e" not in target.read_text("utf-8")
    assert requests(browser) == []
    # What tries is refused by the page's own policy.
    refused = browser.value("fetch('https://example.org/').then(() => 'went', () => 'refused')")
    assert refused == "refused"
    handed = parse_aboard(nasty.handed_back()[0].encode(), "a")
    assert any("onerror" in row["note"] for row in handed.rows)


def test_it_is_small_opens_fast_and_keeps_its_pace(
    browser: Driven, crew: Crew, page: Path, tmp_path: Path
) -> None:
    """Five hundred runs: the last entry takes no more than a few times as long as the first."""
    assert len(page.read_bytes()) <= MOST_BYTES
    text = (
        (EXAMPLE / "protocol.yaml").read_text("utf-8").replace("double_runs: 3", "double_runs: 32")
    )
    (tmp_path / "protocol.yaml").write_text(text, encoding="utf-8")
    shutil.copy(EXAMPLE / "trial.yaml", tmp_path)
    big = make_page(tmp_path / "trial.yaml", tmp_path / "big.html", "--daylight", "00:00-23:59")
    assert len(big.read_bytes()) <= MOST_BYTES
    many = Crew(browser, big)
    many.begin()
    assert browser.value("app.state.runs.filter(run => run.session === 0).length") == 512
    browser.value(
        """globalThis.timed = async (from, to) => {
          const began = performance.now();
          for (const run of app.state.runs.slice(from, to)) {
            for (const name of ['start', 'duration', 'speed_over_ground', 'engine_speed', 'fuel_flow'])
              enter(run.id, name, name === 'start' ? '2026-05-04T08:00:00' : '60');
            while (app.waiting.length) await new Promise(done => setTimeout(done, 1));
          }
          return performance.now() - began;
        }"""
    )
    first = browser.value("timed(0, 12)")
    browser.value(
        """(async () => {
          const made = [];
          let n = app.entries.at(-1).n;
          for (const run of app.state.runs.slice(12, 500))
            for (const name of ['start', 'duration', 'speed_over_ground', 'engine_speed', 'fuel_flow'])
              made.push({...app.entries[1], n: ++n, run: run.id, name,
                value: name === 'start' ? '2026-05-04T08:00:00' : '60'});
          const change = app.store.base.transaction('journal', 'readwrite');
          for (const each of made) change.objectStore('journal').add(each);
          await new Promise(done => { change.oncomplete = done; });
          await readAgain();
        })()"""
    )
    last = browser.value("timed(500, 512)")
    assert last < 5 * first, (first, last)


def opening(browser: Driven, address: str) -> float:
    browser.call("Page.navigate", url=address)
    browser.until("performance.getEntriesByType('navigation')[0]?.loadEventEnd > 0")
    found: float = browser.value("performance.getEntriesByType('navigation')[0].loadEventEnd")
    return found


def test_it_opens_in_under_three_times_the_time_of_an_empty_page(
    browser: Driven, crew: Crew, page: Path, tmp_path: Path
) -> None:
    empty = tmp_path / "empty.html"
    empty.write_text("<!DOCTYPE html><title>empty</title><p>empty", encoding="utf-8")
    times: dict[str, list[float]] = {empty.as_uri(): [], page.as_uri(): []}
    for _ in range(7):
        for address, found in times.items():
            found.append(opening(browser, address))
    bare, whole = (statistics.median(found) for found in times.values())
    assert whole < 3 * bare, times
