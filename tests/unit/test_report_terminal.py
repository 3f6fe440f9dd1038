"""The report on a terminal: the answer first, 80 columns, nothing that is not a number."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import Any

import pytest
from invented_result import invented, untestable, without_tables

from slackwater.analysis.report.trial import sentences as wording
from slackwater.analysis.report.trial.blocks import blocks, places
from slackwater.analysis.report.trial.terminal import render, render_for
from slackwater.analysis.result.result import table
from slackwater.analysis.wording.characters import encodable, printable

NOT_A_NUMBER = re.compile(r"\b(nan|NaN|inf|None|NaT)\b")
ALL = pytest.mark.parametrize(
    "make",
    [invented, untestable, without_tables, lambda: invented(20)],
    ids=["invented", "untestable", "without tables", "twenty set points"],
)


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def _flat(text: str) -> str:
    return " ".join(text.split())


def test_the_first_line_is_the_answer() -> None:
    text = _flat(render(invented()))
    assert text.startswith(
        "Interceptors fitted against As delivered, speed: gain at 2 of 8 set points "
        "(2600 and 3000 rpm, +2.8 to +3.0 %); within noise at 5; untestable at 1."
    )


def test_worth_reason_floor_and_deviations_stand_before_the_tables() -> None:
    head = _flat(render(invented()).split("\nSpeed: ")[0])
    assert "The difference exceeds 1 % at 2600 and 3000 rpm." in head
    assert "Untestable at 4000 rpm: only one session with the baseline reached this" in head
    assert "scatter between sessions of 0.81 % would account for it" in head
    assert "3 sessions against 3; noise floor 1.1 %." in head
    assert "departs from its protocol in 2 matters (1 warning, 1 piece of advice)" in head


@ALL
def test_plain_fits_80_columns_and_holds_no_escape(make: Any) -> None:
    text = render(make(), full=True) + render(make())
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "\x1b" not in text
    assert not NOT_A_NUMBER.search(text)
    assert "\u00a0" not in text


def test_set_points_are_not_broken_over_lines() -> None:
    text = render(invented(), full=True)
    assert len(re.findall(r"^ *(?:1000|1400|2600) rpm ", text, re.MULTILINE)) == 9


def test_a_row_of_the_table() -> None:
    row = next(line for line in render(invented()).splitlines() if line.startswith("2600 rpm"))
    assert row.split() == (
        ["2600", "rpm", "16.49", "16.98", "+3.0", "+1.9", "to", "+4.0", "1.1", "gain", "exceeds"]
    )


def test_wider_terminals_are_used() -> None:
    wide = render(invented(), width=118)
    assert max(len(line) for line in wide.splitlines()) > 100
    assert max(len(line) for line in wide.splitlines()) <= 118


def test_untestable_says_so_once_and_gives_the_difference_of_the_day() -> None:
    text = _flat(render(untestable(), full=True))
    assert "speed: untestable at all 8 set points: one session a configuration" in text
    assert text.count("one session a configuration and no noise from earlier trials") == 1
    assert "On the day the difference was −0.3 to +3.0 %" in text
    assert "No current was estimated." in text


def test_nothing_compared() -> None:
    assert render(without_tables()).startswith("No configurations were compared")


def test_what_was_measured_and_not_compared_is_shown() -> None:
    text = render(replace(invented(), comparisons=table("comparisons")), full=True)
    assert "Speed: measured, not compared" in text
    row = next(line for line in text.splitlines() if line.startswith("2600 rpm  As delivered"))
    assert row.split()[4:] == ["16.49", "16.37", "to", "16.62", "3"]


def test_colour_only_on_a_terminal_and_not_against_the_reader(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert "\x1b[" in render_for(invented(), _Terminal())
    assert "\x1b[" not in render_for(invented(), io.StringIO())
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b[" not in render_for(invented(), _Terminal())


def test_names_cannot_steer_the_terminal() -> None:
    result = replace(
        invented(), configurations={"bare": "[red]bare[/red]", "fitted": "fit\x1b[2Jted\u202e"}
    )
    text = render(result)
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert r"fit\x1b[2Jted\x202e against [red]bare[/red]" in _flat(text)


def test_long_lists_are_cut_and_the_rest_counted() -> None:
    row = invented().records("set_aside")[0]
    result = replace(invented(), set_aside=table("set_aside", [row] * 40))
    assert "and 28 more; the HTML and JSON reports hold them all" in render(result, full=True)


def test_places_in_words() -> None:
    block = blocks(invented())[0]
    rows = list(block.rows)
    assert places(block, rows[:1]) == "1000\u00a0rpm"
    assert places(block, rows[:2]) == "1000 and 1400\u00a0rpm"
    assert places(block, rows[1:5]) == "1400 to 2600\u00a0rpm"
    assert places(block, [rows[0], *rows[3:6]]) == "1000 and 2200 to 3000\u00a0rpm"


def _single(**changes: Any) -> str:
    rows = [
        {**row, "at": "top speed", "position": None, **changes}
        for row in invented().records("comparisons")
        if row["quantity"] == "speed" and row["at"] == "2600 rpm"
    ]
    result = replace(invented(), comparisons=table("comparisons", rows))
    return wording.headline(blocks(result)[0]).replace("\u00a0", " ")


def test_a_single_comparison_gives_its_interval() -> None:
    assert _single() == "gain, +3.0 % (+1.9 to +4.0 %)"
    assert _single(at="15 kn", position=15.0) == "gain at 15 kn, +3.0 % (+1.9 to +4.0 %)"


def test_quantities_without_a_better_side_and_fractions() -> None:
    text = _single(
        verdict="lower", change=-0.021, low=-0.03, high=-0.012, scale="difference", unit="1"
    )
    assert text == "lower, −2.10 percentage points (−3.00 to −1.20 percentage points)"


def test_equivalent_names_its_bound() -> None:
    rows = invented().records("comparisons")
    for row in rows:
        row.update(verdict="equivalent", worth="less than")
    result = replace(invented(), comparisons=table("comparisons", rows))
    text = wording.headline(blocks(result)[0]).replace("\u00a0", " ")
    assert text == "equivalent at all 8 set points (inside ±1 %)"


def test_streams_without_the_signs_get_plain_ones() -> None:
    assert encodable("−3.1 ± 0.2 %", "ascii") == "-3.1 +/- 0.2 %"
    assert encodable("−3.1", "utf-8") == "−3.1"
    assert printable("a\tb\nc\x07") == r"a b c\x07"
