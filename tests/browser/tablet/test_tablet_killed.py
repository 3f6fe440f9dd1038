"""The browser is ended at random moments, every process at once, as an empty battery does: what the page had
told as stored is there again."""

from __future__ import annotations

import json
import time
from pathlib import Path
from random import Random

import pytest
from driving import Driven
from looking import ROOT
from tablet_crew import TRIED, Crew, make_page, make_raters_page

SCORED = ROOT / "examples" / "ride-felt-blind" / "trial.yaml"

# Types runs and tries in turn as fast as it can, and tells an entry once its field says "stored", never before.
_TYPING = """(async () => {
  const { runs, tries } = app.state;
  for (const unit of tries.flatMap((each, place) => (runs[place] ? [each, runs[place]] : [each]))) {
    const columns = columnsOf(app.data, unit);
    if (cell(unit, columns.at(-1).key)) continue;
    openRun(unit.id);
    for (const name of columns.map((column) => column.key)) {
      const id = `${unit.id} ${name}`;
      const field = document.getElementById(id);
      const value = String(Math.floor(1e6 * Math.random()) / 1e3);
      field.focus();
      field.value = value;
      field.dispatchEvent(new Event('input', {bubbles: true}));
      field.dispatchEvent(new Event('change', {bubbles: true}));
      const kept = () => document.getElementById(id).parentElement.querySelector('.kept').textContent;
      while (kept() !== 'stored') await new Promise(done => setTimeout(done, 0));
      told(JSON.stringify([unit.id, name, value]));
    }
  }
})()"""
# The same with scores, a press each.
_SCORING = """(async () => {
  for (const slip of app.state.slips) {
    openRun(slip.id);
    for (const { name } of askedOf().items) {
      if (cell(slip, name)) continue;
      const value = String(1 + Math.floor(7 * Math.random()));
      document.querySelector(`[data-key="${name} ${value}"]`).click();
      const kept = () => document.querySelector(`[data-kept=${name}]`).textContent;
      while (kept() !== 'stored') await new Promise(done => setTimeout(done, 0));
      told(JSON.stringify([slip.id, name, value]));
    }
  }
})()"""
WORK = {
    "runs and tries": (_TYPING, lambda folder: make_page(TRIED, folder / "aboard.html")),
    "scores": (_SCORING, lambda folder: make_raters_page(SCORED, folder / "raters.html")),
}


def told_as_stored(browser: Driven) -> list[list[str]]:
    """What has reached this side of what the page told."""
    calls = [e for e in browser.events if e["method"] == "Runtime.bindingCalled"]
    return [json.loads(e["params"]["payload"]) for e in calls]


def lost_in_kills(
    chromium: str, folder: Path, work: str, kills: int, seed: int
) -> tuple[int, list[str]]:
    """Kill so many times; gives how many entries were told as stored, and those that were not there."""
    chance = Random(seed)
    script, made = WORK[work]
    page = made(folder)
    stored, lost = 0, []
    profile, kept = folder / "profile-0", list[list[str]]()
    for number in range(kills):
        if number % 4 == 0:  # a profile that has just been made has its own ways to lose things
            profile, kept = folder / f"profile-{number}", []
        browser = Driven(chromium, profile)
        crew = Crew(browser, page)
        crew.open()
        lost += missing(crew, kept)
        if not browser.value("app.state.ready"):
            crew.press("understood")
        browser.call("Runtime.addBinding", name="told")
        browser.call("Runtime.evaluate", expression=script)
        end = time.monotonic() + chance.uniform(0.0, 0.6)
        while time.monotonic() < end:
            browser.value("1")  # takes in what was told meanwhile
        browser.kill()
        told = told_as_stored(browser)
        stored += len(told)
        kept += told
        if number % 4 == 3 or number == kills - 1:
            last = Driven(chromium, profile)
            crew = Crew(last, page)
            crew.open()
            lost += missing(crew, kept)
            last.close()
    return stored, lost


def missing(crew: Crew, kept: list[list[str]]) -> list[str]:
    """What was told as stored and is not in the journal; what holds now may be another value."""
    found = crew.browser.value("app.entries.map(each => [each.run, each.name, each.value])")
    there = {tuple(each) for each in found}
    return [" ".join(each) for each in kept if tuple(each) not in there]


@pytest.mark.parametrize(("work", "kills"), [("runs and tries", 3), ("scores", 1)])
def test_what_was_told_as_stored_is_there_after_a_kill(
    chromium: str, tmp_path: Path, work: str, kills: int
) -> None:
    stored, lost = lost_in_kills(chromium, tmp_path, work, kills, seed=1)
    assert stored > 0
    assert lost == []


@pytest.mark.full
@pytest.mark.parametrize("work", WORK)
def test_a_hundred_kills(chromium: str, tmp_path: Path, work: str) -> None:
    stored, lost = lost_in_kills(chromium, tmp_path, work, kills=100, seed=2)
    print(f"{work}: {stored} entries told as stored, {len(lost)} lost")
    assert stored > 200
    assert lost == [], f"{len(lost)} of {stored}"
