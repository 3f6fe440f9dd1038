"""The HTML report: one file that fetches nothing, escapes everything and is the same every time."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest
from invented_result import invented, untestable, without_tables

from slackwater.analysis.result.result import Result, table

EVIL = "<script>alert(1)</script> & \"q\" $x_1$ 'a'"
FETCHING = {"src", "srcset", "data", "action", "poster", "background", "xlink:href"}
VOID = {"meta", "link", "br", "hr", "img", "input"}


class Page(HTMLParser):
    """Tags, attributes and text of a page; fails on tags that do not close."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: Counter[str] = Counter()
        self.attributes: list[tuple[str, str, str]] = []
        self.words: list[str] = []
        self._open: list[str] = []
        self.feed(text)
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not self._open or self._open[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def of(self, name: str) -> list[str]:
        return [value for _, found, value in self.attributes if found == name]


@pytest.fixture(scope="module")
def html() -> str:
    return invented().to_html()


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def test_the_answer_comes_first(page: Page) -> None:
    answer = "Gain at 2 of 8 set points (2600 and 3000 rpm, +2.8 to +3.0 %)"
    assert answer in page.text
    assert page.text.index(answer) < page.text.index("The figure that answers")


def test_every_part_is_there(page: Page) -> None:
    for part in (
        "noise floor 1.1 %",
        "a vessel crossed ahead and the helm was moved",
        "session S4 was sailed in 9 kn of wind",
        "run 17 was recorded for 48 s",
        "the course lay in the lee of the breakwater",
        "JCGM 100:2008",
        "0123456789abcdef" * 4,
        "fedcba9876543210" * 4,
        "ab" * 32,
        "local rules",
    ):
        assert part in page.text, part


def test_nothing_is_fetched(html: str, page: Page) -> None:
    assert not re.search(r"https?:|//[a-z]|url\((?!#)|@import|data:", html)
    assert not FETCHING & {name for _, name, _ in page.attributes}
    assert all(value.startswith("#") for value in page.of("href"))
    assert page.tags["script"] == page.tags["link"] == page.tags["img"] == page.tags["iframe"] == 0


def test_ids_are_unique_and_every_reference_has_its_target(html: str, page: Page) -> None:
    ids = page.of("id")
    assert len(ids) == len(set(ids))
    used = {value[1:] for value in page.of("href")}
    assert len(used) == 10  # the contents
    assert used <= set(ids)
    assert not re.findall(r"url\(#([^)]+)\)", html)


def test_pictures_have_an_alternative_in_words(page: Page) -> None:
    pictures = [tag for tag, name, value in page.attributes if (name, value) == ("role", "img")]
    assert len(pictures) == page.tags["svg"] == 3 + 3 + 6 + 3
    labels = [value for tag, name, value in page.attributes if (tag, name) == ("svg", "aria-label")]
    assert len(labels) == len(pictures)
    assert any("gain at 2 of 8 set points" in label for label in labels)
    assert page.tags["details"] == 3 + 1 + 3


def test_text_in_pictures_is_text(html: str) -> None:
    svg = re.findall(r"<svg.*?</svg>", html, re.DOTALL)[0]
    assert "2600 rpm</text>" in svg
    assert "within noise</text>" in svg


def test_no_folder_no_time_and_no_nan(html: str, page: Page) -> None:
    assert "/somewhere/private" not in html
    assert "trial.yaml, line 31" in page.text
    assert not re.search(r"\b(nan|NaN|inf|None|NaT)\b", html)
    assert "<dc:date>" not in html


def test_same_input_same_bytes(html: str) -> None:
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); from invented_result import invented; "
        "sys.stdout.reconfigure(encoding='utf-8', newline=''); "
        "sys.stdout.write(invented().to_html())"
    )
    here = str(__import__("pathlib").Path(__file__).parent)
    done = subprocess.run(
        [sys.executable, "-c", code, here], capture_output=True, check=True, timeout=60
    )
    assert done.stdout.decode("utf-8") == html


def _hostile() -> Result:
    full = invented()
    finding = replace(full.findings[0], message=EVIL, fix=EVIL, source=EVIL)
    aside = [{**full.records("set_aside")[0], "reason": EVIL}]
    sessions = [{**row, "session": f"{row['session']}{EVIL}"} for row in full.records("current")]
    values = full.records("session_values")
    for row in values:
        row["session"] = f"{row['session']}{EVIL}"
    return replace(
        full,
        title=EVIL,
        boat=EVIL,
        configurations={"bare": EVIL, "fitted": f"B {EVIL}"},
        set_aside=table("set_aside", aside),
        current=table("current", sessions),
        session_values=table("session_values", values),
        deviations=(finding,),
        findings=(finding,),
        method=(EVIL,),
        sources=(EVIL,),
        waivers=(EVIL,),
    )


def test_names_from_files_are_escaped() -> None:
    html = _hostile().to_html()
    page = Page(html)
    assert page.tags["script"] == 0
    assert "<script" not in html
    assert page.text.count(EVIL) >= 10


@pytest.mark.parametrize("make", [untestable, without_tables])
def test_with_little_in_it(make: Any) -> None:
    html = make().to_html()
    page = Page(html)
    assert not re.search(r"\b(nan|NaN|inf|None|NaT)\b", html)
    assert "No current was estimated." in page.text


def test_no_verdict_is_said_first() -> None:
    text = Page(without_tables().to_html()).text
    assert text.index("No configurations were compared") < text.index("No current was estimated")


def test_what_was_measured_and_not_compared_is_shown() -> None:
    page = Page(replace(invented(), comparisons=table("comparisons")).to_html())
    assert "Measured, not compared" in page.text
    assert page.tags["svg"] == 3 + 6


def test_same_quantity_at_set_points_and_at_speeds() -> None:
    full = invented()

    def at_speed(name: str) -> list[dict[str, Any]]:
        rows = [row for row in full.records(name) if row["quantity"] == "economy"]
        speeds = {at: float(n) for n, at in enumerate(dict.fromkeys(r["at"] for r in rows), 10)}
        moved = [
            {**row, "at": f"{speeds[row['at']]:g} kn", "position": speeds[row["at"]]}
            for row in rows
        ]
        return full.records(name) + moved

    names = ("comparisons", "set_points", "session_values")
    result = replace(full, **{name: table(name, at_speed(name)) for name in names})
    html = result.to_html()
    # The sessions are drawn once, at the set points.
    assert Page(html).tags["svg"] == 4 + 4 + 6 + 3
    assert "Within noise at all 8 speeds." in Page(html).text


def test_one_quantity_without_set_points() -> None:
    full = invented()
    rows = [
        {**row, "quantity": "range", "at": "tank to reserve", "position": None, "unit": "nmi"}
        for row in full.records("comparisons")
        if row["quantity"] == "speed" and row["at"] == "2600 rpm"
    ]
    values = [
        {**row, "quantity": "range", "at": "tank to reserve", "position": None, "unit": "nmi"}
        for row in full.records("session_values")
        if row["quantity"] == "speed" and row["at"] == "2600 rpm"
    ]
    result = replace(
        full,
        comparisons=table("comparisons", rows),
        session_values=table("session_values", values),
        set_points=table("set_points"),
    )
    page = Page(result.to_html())
    assert "Gain, +3.0 % (+1.9 to +4.0 %)." in page.text
    assert page.tags["svg"] == 1 + 6 + 1
