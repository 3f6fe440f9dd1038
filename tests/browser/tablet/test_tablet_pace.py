"""The tablet's page is small, opens fast and keeps its pace over five hundred runs."""

from __future__ import annotations

import shutil
import statistics
from pathlib import Path

from driving import Driven
from tablet_crew import EXAMPLE, Crew, make_page

MOST_BYTES = 200_000


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
