"""A crew that works the tablet's page: opens it, notes runs, waits until the page says that they are stored."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from driving import Driven
from looking import ROOT

from slackwater.analysis.cli import main

EXAMPLE = ROOT / "examples" / "workboat-interceptors"
TRIED = ROOT / "examples" / "tabs-off-the-mark" / "trial.yaml"
FIRST = "s0r1a1"  # the first run of its page
STORED = "app.waiting.length === 0 && !app.failed && !app.readOnly"


_OVER = """(() => {
  const wide = document.documentElement.clientWidth;
  const small = [...document.querySelectorAll('button, input, summary')].filter(each => {
    const box = each.getBoundingClientRect();
    return box.width > 0 && (box.height < 48 || box.width < 48);
  }).map(each => each.outerHTML.slice(0, 80));
  return {over: document.documentElement.scrollWidth - wide, small};
})()"""


def make_page(trial: Path, target: Path, *words: str) -> Path:
    """The page of a trial, by the command."""
    command = ["sheet", str(trial), "--for", "tablet", "--output", str(target), *words]
    assert main(command) == 0
    return target


def make_raters_page(trial: Path, target: Path) -> Path:
    """The raters' page of a trial, by the command."""
    assert main(["sheet", str(trial), "--for", "raters", "--output", str(target)]) == 0
    return target


class Crew:
    """Who works a page, in a browser that is driven."""

    def __init__(self, browser: Driven, page: Path | str) -> None:
        self.browser = browser
        self.page = page if isinstance(page, str) else page.as_uri()

    def open(self, *, writes: bool = True) -> None:
        """Open the page as it is, and wait until it is ready."""
        self.browser.go(self.page)
        self.browser.until("typeof app === 'object' && app.store !== null")
        if writes:
            self.browser.until(STORED)

    def begin(self, session: int = 0) -> None:
        """Open the page anew, read the cautions, go to the first run of a session."""
        self.open()
        self.press("understood")
        self.press(f"session {session}")
        self.press("go-on")

    def begin_tries(self, session: int = 0) -> None:
        """Open the page anew, read the cautions, go to the first try of a session."""
        self.open()
        self.press("understood")
        self.press(f"session {session}")
        self.press("to-tries")
        self.press("go-on-try")

    def press(self, key: str) -> None:
        """Press a button as a mouse does, and wait until what it enters is stored."""
        script = """(key => {
          const found = document.querySelector(`[data-key="${CSS.escape(key)}"]`);
          if (!found) return null;
          found.scrollIntoView({block: 'center'});
          const box = found.getBoundingClientRect();
          return [box.x + box.width / 2, box.y + box.height / 2, found.disabled];
        })"""
        found = self.browser.until(f"{script}({json.dumps(key)})")
        assert not found[2], f"{key} cannot be pressed"
        for kind in ("mousePressed", "mouseReleased"):
            self.browser.call(
                "Input.dispatchMouseEvent",
                type=kind,
                x=found[0],
                y=found[1],
                button="left",
                clickCount=1,
            )
        self.browser.until(f"!pressing && ({STORED})")

    def note(self, run: str, cells: dict[str, str]) -> None:
        """Type cells of a run, one after the other, and wait until all are stored."""
        self.browser.value(
            f"openRun({json.dumps(run)}); document.querySelector('.mend').open = true"
        )
        for name, text in cells.items():
            key = json.dumps(f"{run} {name}")
            field = f"document.getElementById({key})"
            self.browser.value(f"{field}.focus(); {field}.select()")
            self.browser.write(text)
            self.browser.until(f"document.getElementById({key}).value.endsWith({json.dumps(text)})")
        self.browser.value("document.activeElement.blur()")
        self.browser.until(STORED)

    def run_ids(self) -> dict[tuple[str, str, str, str], str]:
        """The page's name of every planned run, by session, set point, double run and direction."""
        found = self.browser.value(
            "app.state.runs.map(run => [app.data.sessions[run.session].id, shown(run.setPoint), "
            "String(run.doubleRun), run.direction, run.id])"
        )
        return {(a, b, c, d): run for a, b, c, d, run in found}

    def try_ids(self) -> dict[tuple[str, str, str, str], str]:
        """The page's name of every planned try, by session, manoeuvre, direction and number."""
        found = self.browser.value(
            "app.state.tries.map(each => [app.data.sessions[each.session].id, "
            "manoeuvreOf(each.manoeuvre).name, each.direction, String(each.turn), each.id])"
        )
        return {(a, b, c, d): each for a, b, c, d, each in found}

    def handed_back(self) -> tuple[str, str]:
        """What is saved: the JSON with its history, and the table."""
        told = self.browser.value("[aboardText(), tableText()]")
        return told[0], told[1]

    def cell(self, run: str, name: str) -> Any:
        """What holds in a cell."""
        return self.browser.value(
            f"cell(app.state.byId.get({json.dumps(run)}), {json.dumps(name)})"
        )

    def forget(self) -> None:
        """Clear what the browser keeps of pages."""
        self.browser.call("Page.navigate", url="about:blank")
        for origin in ("file://", "http://127.0.0.1"):
            self.browser.call("Storage.clearDataForOrigin", origin=origin, storageTypes="all")


def requests(browser: Driven) -> list[str]:
    """What the page asked of anything but itself."""
    sent = [e for e in browser.events if e["method"] == "Network.requestWillBeSent"]
    addresses = [str(e["params"]["request"]["url"]) for e in sent]
    return [a for a in addresses if not a.startswith(("file:", "about:", "blob:"))]


def look_at(browser: Driven, screen: str) -> None:
    """Nothing stands out at the side, nothing is too small for a finger, and axe-core finds nothing."""
    for width in (320, 390, 768, 1280):
        browser.size(width, 900)
        told = browser.value(_OVER)
        assert told["over"] <= 0, (screen, width)
        assert told["small"] == [], (screen, width)
    found: dict[str, Any] = browser.value(
        "axe.run(document, {resultTypes: ['violations']}).then(found => ({rules: "
        "found.passes.length, faults: found.violations.map(each => each.id + ': ' + "
        "each.nodes.slice(0, 3).map(node => node.html.slice(0, 120) + node.failureSummary)"
        ".join(' | '))}))"
    )
    assert found["rules"] >= 10
    assert found["faults"] == [], screen
