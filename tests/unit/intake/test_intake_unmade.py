"""Rows prepared for runs that nobody made."""

from __future__ import annotations

from typing import Any

import pytest

from slackwater.protocol.findings import Severity

FILLED = ("start", "duration", "speed_over_ground", "engine_speed", "fuel_flow")


def blank(*rows: int) -> dict[tuple[int, str], str]:
    return {(row, name): "" for row in rows for name in FILLED}


def test_a_double_run_not_made(bench: Any) -> None:
    table = bench.read(bench.text(blank(4, 5)))
    told = bench.told(table, "run-not-made")
    assert told.severity is Severity.WARNING
    assert told.session == "S1"
    assert told.place.line == 4
    assert told.message == (
        "session S1: 2 of 4 runs are not filled in, and taken as not made: 2000 rpm double run 1 "
        "back (row 4), 2000 rpm double run 1 out (row 5)"
    )
    assert "set_aside" in told.fix
    assert table.frame["row"].tolist() == [2, 3, 6, 7, 8, 9]


def test_half_a_double_run_not_made(bench: Any) -> None:
    table = bench.read(bench.text(blank(4)))
    assert "1 of 4 runs is not filled in" in bench.told(table, "run-not-made").message
    assert "row 5" in bench.told(table, "run-without-partner").message


def test_a_session_not_run_yet(bench: Any) -> None:
    table = bench.read(bench.text(blank(6, 7, 8, 9)))
    message = bench.told(table, "run-not-made").message
    assert message == (
        "session S2: none of its 4 runs is filled in (rows 6 to 9); it is taken as not run"
    )


def test_a_sheet_that_nobody_filled_in(bench: Any) -> None:
    error = bench.error(bench.text(blank(*range(2, 10))))
    assert error.rule == "sheet-blank"
    assert "none of the 8 rows is filled in" in error.message


def test_a_reason_makes_it_a_run_set_aside(bench: Any) -> None:
    changes = {**blank(4, 5), (4, "set_aside"): "wind got up", (5, "set_aside"): "wind got up"}
    table = bench.read(bench.text(changes))
    assert "run-not-made" not in [f.rule for f in table.findings]
    assert table.frame["set_aside"].tolist().count("wind got up") == 2


@pytest.mark.parametrize(
    ("name", "value"), [("start", "2026-05-04T09:07:00"), ("duration", "60"), ("note", "alarm")]
)
def test_anything_noted_makes_it_a_run(bench: Any, name: str, value: str) -> None:
    error = bench.error(bench.text({**blank(4), (4, name): value}))
    assert (error.rule, error.run) == ("run-empty", "row 4")


def test_long_lists_are_cut(bench: Any) -> None:
    many = "".join(f"S1,1000,{n},out,,,,,,,\n" for n in range(2, 14))
    message = bench.told(bench.read(bench.text() + many), "run-not-made").message
    assert "12 of 16 runs" in message
    assert message.endswith("and 4 more")
