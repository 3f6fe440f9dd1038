"""Scores given on the raters' page, from the cautions to the verdict; nothing on it says what is fitted."""

from __future__ import annotations

import csv
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from driving import Driven
from looking import ROOT
from tablet_crew import STORED, Crew, look_at, make_raters_page, requests

import slackwater
from slackwater.analysis.cli import main

Capture = pytest.CaptureFixture[str]
EXAMPLE = ROOT / "examples" / "ride-felt-blind"
FITTED = ("Ride control off", "Ride control on")


@pytest.fixture(scope="session")
def scored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_raters_page(EXAMPLE / "trial.yaml", tmp_path_factory.mktemp("scored") / "r.html")


@pytest.fixture
def raters(browser: Driven, crew: Crew, scored: Path) -> Iterator[Crew]:
    """The page opened anew, its cautions read."""
    found = Crew(browser, scored)
    found.open()
    found.press("understood")
    yield found
    assert requests(browser) == []


def text_of(browser: Driven) -> str:
    """All that the page shows and all that it tells those who do not see."""
    found: str = browser.value(
        "document.title + document.body.innerText + [...document.querySelectorAll('*')].flatMap("
        "each => [...each.attributes].map(one => one.value)).join(' ')"
    )
    return found


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_scores_pressed_come_back_as_they_were_pressed(
    browser: Driven, raters: Crew, tmp_path: Path, capsys: Capture
) -> None:
    """Five raters score a session; merged with the other sessions they give the example's result."""
    for name in ("trial.yaml", "runs.csv"):
        shutil.copy(EXAMPLE / name, tmp_path)
    rows = rows_of(EXAMPLE / "ratings.csv")
    own = [row for row in rows if row["session"] == "F1"]
    with (tmp_path / "ratings.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, rows[0], lineterminator="\n")
        out.writeheader()
        out.writerows(row for row in rows if row["session"] != "F1")
    raters.press("session 0")
    orders = set()
    for number in range(1, 6):
        raters.press(f"s0p{number}a1")
        mine = [row for row in own if row["rater"] == f"R{number}"]
        orders.add(tuple(browser.value("[...document.querySelectorAll('h2')].map(e => e.id)")))
        for row in mine:
            raters.press(f"{row['item']} {row['score']}")
        raters.press(f"guess {mine[0]['guess']}")
        raters.press("slip-end")
    assert len({tuple(id.split(" ")[1] for id in order) for order in orders}) == 5
    (tmp_path / "aboard.json").write_text(raters.handed_back()[0], encoding="utf-8")
    trial = str(tmp_path / "trial.yaml")
    assert main(["sheet", "--merge", str(tmp_path / "aboard.json"), "--trial", trial]) == 0
    assert capsys.readouterr().out == "F1: 15 ratings added\n"
    merged = rows_of(tmp_path / "ratings.csv")
    assert sorted(map(str, merged)) == sorted(map(str, rows))
    got, wanted = slackwater.analyse(trial), slackwater.analyse(EXAMPLE / "trial.yaml")
    for one, other in zip(
        got.comparisons.itertuples(), wanted.comparisons.itertuples(), strict=True
    ):
        assert (one.quantity, one.verdict) == (other.quantity, other.verdict)
        assert one.change == pytest.approx(other.change, rel=1e-9, abs=1e-12, nan_ok=True)


def test_no_screen_names_what_is_fitted_but_the_guess_at_the_end(
    browser: Driven, raters: Crew
) -> None:
    seen = []
    for key in ("nav-start", "nav-sessions", "session 0", "s0p1a1", "ride 3", "noise_felt 4"):
        raters.press(key)
        seen.append(text_of(browser))
    raters.press("steering_effort 2")
    last = text_of(browser)
    for title in FITTED:
        assert last.count(title) == 1
        browser.value("document.querySelector('.choices').remove()")
        assert title not in text_of(browser)
        browser.value("refresh(true)")
    raters.press("guess unsure")
    raters.press("slip-end")
    seen.append(text_of(browser))
    for key in ("s0p1a1", "nav-hand"):
        raters.press(key)
        seen.append(text_of(browser))
    for text in seen:
        assert not any(title in text for title in FITTED)
        assert not re.search(r"ABBA|baseline|modified", text)
    # Nor is there a way to what others scored: no history, nothing taken back, no score of one who is done.
    for absent in ("nav-history", "undo", "nav-session"):
        assert not browser.value(f"document.querySelector('[data-key={absent}]')")
    raters.press("nav-sessions")
    raters.press("session 0")
    raters.press("s0p1a1")
    assert not browser.value("document.querySelector('[aria-pressed]')")


def test_a_score_is_mended_and_every_press_stays_on_record(browser: Driven, raters: Crew) -> None:
    raters.press("session 0")
    raters.press("s0p2a1")
    for key in ("ride 3", "ride 5", "ride 5", "steering_effort 1"):
        raters.press(key)
    assert browser.value("document.querySelector('[data-key=slip-end]').disabled")
    assert browser.value("document.querySelector('[data-kept=ride]').textContent") == "stored"
    raters.open()  # a reload comes back to the slip
    assert browser.value("app.run") == "s0p2a1"
    raters.press("noise_felt 7")
    raters.press("guess off")
    raters.press("slip-end")
    raters.press("s0p2a1")
    raters.press("mend-scores")
    raters.press("noise_felt 6")
    raters.press("slip-end")
    raters.press("s0p3a1")
    raters.press("no-score")
    raters.press("unwell")
    handed = json.loads(raters.handed_back()[0])
    assert (handed["head"], handed["rows"], handed["sessions"]) == ({}, [], [])
    rows = handed["ratings"]["rows"]
    assert [(r["item"], r["score"], r["guess"]) for r in rows[:3]] == [
        ("ride", "5", "off"), ("steering_effort", "1", "off"), ("noise_felt", "6", "off"),
    ]  # fmt: skip
    assert [(r["score"], r["set_aside"]) for r in rows[3:]] == [("", "unwell or hurt")] * 3
    ride = [e["value"] for e in handed["journal"] if (e["run"], e["name"]) == ("s0p2a1", "ride")]
    assert ride == ["3", "5"]


def test_the_keyboard_scores(browser: Driven, raters: Crew) -> None:
    def go_to(key: str) -> None:
        for _ in range(80):
            if browser.value(f"document.activeElement.dataset.key === {json.dumps(key)}"):
                return
            browser.key("Tab")
        raise AssertionError(key)

    for key in ("session 0", "s0p1a1", "ride 4"):
        go_to(key)
        browser.key("Enter")
        browser.until(STORED)
    browser.until("cell(app.state.byId.get('s0p1a1'), 'ride') === '4'")


def test_the_raters_screens_at_every_width_by_day_and_night(
    browser: Driven, raters: Crew, axe: str
) -> None:
    browser.value(f"{axe}; 1")
    for colours in ("night", "day"):
        raters.press(colours)
        raters.press("nav-sessions")
        raters.press("session 0")
        look_at(browser, f"raters by {colours}")
        raters.press("s0p1a1")
        if colours == "night":
            for key in ("ride 3", "noise_felt 4", "steering_effort 2", "guess on"):
                raters.press(key)
        raters.press("no-score")
        look_at(browser, f"a slip by {colours}")


def test_a_rating_that_is_not_blind_says_so(browser: Driven, crew: Crew, tmp_path: Path) -> None:
    text = (ROOT / "protocols" / "blind-rating.yaml").read_text("utf-8")
    text = re.sub(r"\n  blind: true\n  kept_blind:.*\n  guess: true.*", "\n  blind: false", text)
    (tmp_path / "mine.yaml").write_text(text, encoding="utf-8")
    own = (EXAMPLE / "trial.yaml").read_text("utf-8")
    own = own.replace("protocol: blind-rating", "protocol: mine.yaml")
    (tmp_path / "trial.yaml").write_text(own, encoding="utf-8")
    known = Crew(browser, make_raters_page(tmp_path / "trial.yaml", tmp_path / "r.html"))
    known.open()
    for key in ("understood", "session 0", "s0p1a1"):
        known.press(key)
    assert "NOT BLIND" in browser.value("document.querySelector('main').innerText")
    for key in ("ride 3", "noise_felt 4", "steering_effort 2"):
        known.press(key)
    assert not browser.value("document.querySelector('.choices')")  # nobody asks for a guess
    known.press("slip-end")


def test_hostile_words_do_nothing(browser: Driven, crew: Crew, tmp_path: Path) -> None:
    """In a title, a question, an anchor and an answer to choose."""
    nasty = json.dumps("\"'><img src=x onerror=alert(1)></script><script>alert(2)</script>{{7*7}}")
    text = (ROOT / "protocols" / "blind-rating.yaml").read_text("utf-8")
    for old in ("title: Ride\n", "asks: How did she take the waves?\n"):
        text = text.replace(old, f"{old.partition(' ')[0]} {nasty}\n")
    text = text.replace("4: firm", f"4: {nasty}")
    (tmp_path / "mine.yaml").write_text(text, encoding="utf-8")
    own = (
        (EXAMPLE / "trial.yaml")
        .read_text("utf-8")
        .replace("{title: Ride control on}", f"{{title: {nasty}}}")
    )
    own = own.replace("protocol: blind-rating", "protocol: mine.yaml")
    (tmp_path / "trial.yaml").write_text(own, encoding="utf-8")
    found = Crew(browser, make_raters_page(tmp_path / "trial.yaml", tmp_path / "r.html"))
    found.open()
    for key in ("understood", "session 0", "s0p1a1", "ride 4", "noise_felt 4", "steering_effort 2"):
        found.press(key)
    assert browser.value("document.body.innerText").count("onerror=alert(1)") == 4
    found.press("guess on")
    assert browser.value("document.images.length") == 0
    assert browser.value("document.querySelectorAll('script').length") == 3
    assert not [e for e in browser.events if e["method"] == "Page.javascriptDialogOpening"]
    assert requests(browser) == []


def test_a_rehearsal_of_scores_is_marked_and_never_passes(
    browser: Driven, crew: Crew, scored: Path, tmp_path: Path, capsys: Capture
) -> None:
    practice = Crew(browser, scored)
    practice.open()
    practice.press("rehearsal-start")
    browser.until("typeof app === 'object' && app.rehearsal && app.store !== null")
    browser.until(STORED)
    for key in ("understood", "session 0", "s0p4a1", "invent", "slip-end"):
        practice.press(key)
    assert "REHEARSAL" in browser.value("document.querySelector('.invented').textContent")
    rows = list(csv.DictReader(browser.value("tableText('ratings')").splitlines()))
    assert [row["note"] for row in rows] == ["INVENTED"] * 3
    assert all(1 <= int(row["score"]) <= 7 for row in rows)
    text = (EXAMPLE / "trial.yaml").read_text("utf-8").replace("invented: true\n", "")
    (tmp_path / "trial.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "aboard.json").write_text(practice.handed_back()[0], encoding="utf-8")
    command = ["sheet", "--merge", str(tmp_path / "aboard.json")]
    assert main([*command, "--trial", str(tmp_path / "trial.yaml")]) == 2
    assert "row-invented" in capsys.readouterr().err
    practice.press("nav-start")
    practice.press("rehearsal-end")
    browser.until("typeof app === 'object' && !app.rehearsal && app.store !== null")
    browser.until(STORED)
