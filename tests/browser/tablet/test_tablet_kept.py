"""What was typed into the tablet's page stays: a cleared database, two windows, a full store, a clock that was set."""

from __future__ import annotations

import json

import pytest
from driving import Driven
from tablet_crew import FIRST, STORED, Crew

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
    browser.call("Page.bringToFront")
    crew.note(FIRST, {"speed_over_ground": "12.1"})
    assert crew.cell(FIRST, "speed_over_ground") == "12.1"
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
