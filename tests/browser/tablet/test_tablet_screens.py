"""The tablet's page at every width, by keyboard alone, with hostile names.

Structure and contrast are looked at by axe-core (Deque, Mozilla Public License 2.0), an independent
program that knows the Web Content Accessibility Guidelines.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from driving import Driven
from tablet_crew import EXAMPLE, FIRST, STORED, TRIED, Crew, look_at, make_page, requests

from slackwater.analysis.cli import main
from slackwater.analysis.sheet.aboard import parse_aboard

SCREENS = ("nav-start", "nav-sessions", "session 0", "go-on", "nav-hand", "nav-history")


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
        look_at(browser, key)


def test_the_screens_of_tries_at_every_width_by_day_and_night(
    browser: Driven, crew: Crew, axe: str, tmp_path: Path
) -> None:
    tries = Crew(browser, make_page(TRIED, tmp_path / "tries.html"))
    tries.begin_tries()
    tries.press("try-start")
    tries.note("s0t1a1", {"time_to_20_kn": "-3", "helmsman": "A", "note": "late"})
    browser.value(f"{axe}; 1")
    for colours in ("night", "day"):
        tries.press(colours)
        tries.press("nav-tries")
        look_at(browser, f"tries by {colours}")
        tries.press("go-on-try")
        tries.press("spoiled")
        look_at(browser, f"a try by {colours}")
    assert requests(browser) == []


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
