"""When runs started: formats that are refused, and clocks that cannot be right."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pandas as pd
import pytest

from slackwater.protocol.findings import Severity


@pytest.mark.parametrize(
    "cell",
    ["2026-05-04T09:07", "2026-05-04 09:07:00", "2026-05-04T09:07:00.000", "20260504T090700"],
)
def test_forms_of_iso_8601(bench: Any, cell: str) -> None:
    table = bench.read(bench.text({(4, "start"): cell}))
    assert table.frame["start"][2] == pd.Timestamp(2026, 5, 4, 9, 7)
    assert table.findings == ()


# Cases 25, 31, 33 to 35 and 63.
@pytest.mark.parametrize(
    ("cell", "rule", "says", "way"),
    [
        ("06/02/15", "start-day-month", "2015-02-06 (day first) or 2015-06-02", "2026-05-04T09:12"),
        ("06/02/15 06:29am", "start-day-month", "day first", "year-month-day"),
        ("01/03/2021 12:56 p.m.", "start-day-month", "2021-03-01 (day first)", "year-month-day"),
        ("13/03/2021 12:56", "start-day-month", "up to the 12th", "year-month-day"),
        ("01.01.1970 00:04:23", "start-day-month", "1970-01-01", "year-month-day"),
        ("1970-01-01T00:04:23", "start-clock-unset", "1970", "leave the cell empty"),
        ("1970-01-01T00:04:23Z", "start-clock-unset", "1970", "leave the cell empty"),
        ("9999-12-31T23:59:59-12:00", "start-clock-unset", "9999", "leave the cell empty"),
        ("2026-02-30T09:00:00", "start-format", "day", "correct it"),
        ("2026-05-04T25:00:00", "start-format", "hour", "correct it"),
        ("2016-02-28-19:57:01", "start-format", "ISO 8601", "2026-05-04T09:12:00"),
        ("2017-09-25 17:22:24.1 GMT+02:00", "start-format", "ISO 8601", "+02:00"),
        ("45822.4274", "start-serial", "day number of a spreadsheet", "format the column"),
        ("0.38", "start-serial", "fraction of a day", "format the column"),
        ("0.00145139", "start-serial", "fraction of a day", "format the column"),
        ("2026-05-04", "start-without-time", "no time of day", "write the time too"),
        ("20260504", "start-without-time", "no time of day", "write the time too"),
        ("09:07:00", "start-without-date", "no date", "write the date too"),
        ("51:12.0", "start-without-date", "a time that has passed", "write the date too"),
        ("#VALUE!", "cell-broken-formula", "broken formula", "mend the formula"),
        ("yesterday", "start-format", "ISO 8601", "2026-05-04T09:12:00"),
    ],
)
def test_starts(bench: Any, cell: str, rule: str, says: str, way: str) -> None:
    error = bench.error(bench.text({(4, "start"): cell}))
    assert error.rule == rule
    assert error.run == "row 4"
    assert error.message.startswith("row 4, start: ")
    assert says in error.message
    assert way in error.fix


# Case 33.
def test_zones_and_none_mixed(bench: Any) -> None:
    error = bench.error(bench.text({(4, "start"): "2026-05-04T07:07:00Z"}))
    assert (error.rule, error.run) == ("start-zone-mixed", "row 4")
    assert "hours apart" in error.message
    assert "Z, +02:00" in error.fix
    changes = {(n, "start"): f"2026-05-0{4 + n // 6}T09:{n:02d}:10+02:00" for n in range(2, 10)}
    changes[5, "start"] = "2026-05-04T09:05:10"
    error = bench.error(bench.text(changes))
    assert (error.rule, error.run) == ("start-zone-mixed", "row 5")
    assert "no zone" in error.message


def test_one_zone_keeps_its_clock(bench: Any) -> None:
    table = bench.read(bench.text().replace(":00,60,", ":00+02:00,60,"))
    assert table.frame["start"][0] == pd.Timestamp(2026, 5, 4, 9, 0)
    assert table.findings == ()


def test_several_zones_are_brought_to_utc(bench: Any) -> None:
    text = bench.text().replace(":00,60,", ":00+02:00,60,")
    text = text.replace("2026-05-05T09:10:00+02:00", "2026-05-05T08:10:00+01:00")
    table = bench.read(text)
    assert table.frame["start"][0] == pd.Timestamp(2026, 5, 4, 7, 0)
    assert table.frame["start"][7] == pd.Timestamp(2026, 5, 5, 7, 10)
    assert "UTC" in bench.told(table, "start-zone").message


# Case 27: the week counter of satellite time has ten bits (IS-GPS-200), so 1024 weeks are lost.
def test_starts_on_another_day_than_the_trial_says(bench: Any) -> None:
    days = {"S1": dt.date(2026, 5, 4), "S2": dt.date(2045, 12, 19)}
    table = bench.read(bench.text(), days=days)
    told = bench.told(table, "start-other-day")
    assert (told.severity, told.run, told.session) == (Severity.WARNING, "row 6", "S2")
    assert "2026-05-05" in told.message
    assert "2045-12-19" in told.message
    assert "1024 weeks" in told.message
    days["S2"] = dt.date(2026, 5, 8)
    told = bench.told(bench.read(bench.text(), days=days), "start-other-day")
    assert "1024" not in told.message
    days["S2"] = dt.date(2026, 5, 6)  # a zone off at most
    assert bench.read(bench.text(), days=days).findings == ()


# Case 24.
def test_midnight_without_a_new_date(bench: Any) -> None:
    starts = ["2026-05-04T23:54", "2026-05-04T23:57", "2026-05-04T00:01", "2026-05-04T00:04"]
    table = bench.read(bench.text({(n, "start"): s for n, s in enumerate(starts, 2)}))
    told = bench.told(table, "clock-backwards")
    assert (told.run, told.session) == ("row 4", "S1")
    assert "past midnight the date has to go up by a day" in told.message


# Cases 28 and 36.
def test_a_clock_that_steps_back(bench: Any) -> None:
    table = bench.read(bench.text({(5, "start"): "2026-05-04T09:06:00"}))
    told = bench.told(table, "clock-backwards")
    assert told.severity is Severity.WARNING
    assert (told.run, told.session) == ("row 5", "S1")
    assert "0:01:00 before row 4" in told.message
    assert "order of the runs" in told.fix


def test_rows_out_of_order_are_told_once_a_session(bench: Any) -> None:
    lines = bench.text().splitlines()
    table = bench.read("\n".join([lines[0], *reversed(lines[1:])]))
    told = [f for f in table.findings if f.rule == "clock-backwards"]
    assert [f.session for f in told] == ["S2", "S1"]
    assert "2 more steps back" in told[0].message


# Case 29.
def test_two_runs_at_one_instant(bench: Any) -> None:
    table = bench.read(bench.text({(5, "start"): "2026-05-04T09:07:00"}))
    told = bench.told(table, "runs-overlap")
    assert told.run == "row 5"
    assert "rows 4 and 5 start at the same instant" in told.message


def test_runs_that_overlap(bench: Any) -> None:
    table = bench.read(bench.text({(4, "duration"): "200"}))
    told = bench.told(table, "runs-overlap")
    assert told.severity is Severity.WARNING
    assert (told.run, told.session) == ("row 5", "S1")
    assert "180 s after row 4" in told.message
    assert "200 s" in told.message


def test_sessions_do_not_overlap_each_other(bench: Any) -> None:
    changes = {(n, "start"): f"2026-05-04T09:0{n - 5}:30" for n in range(6, 10)}
    assert bench.read(bench.text(changes)).findings == ()


def test_some_starts_missing(bench: Any) -> None:
    table = bench.read(bench.text({(4, "start"): "", (7, "start"): "--"}))
    told = bench.told(table, "start-missing")
    assert "2 runs have no start (rows 4, 7)" in told.message
    assert table.frame["start"].isna().sum() == 2


def test_all_starts_at_midnight(bench: Any) -> None:
    changes = {(n, "start"): "2026-05-04T00:00:00" for n in range(2, 10)}
    errors = [f for f in bench.refused(bench.text(changes)) if f.severity is Severity.ERROR]
    assert [f.rule for f in errors] == ["start-without-time"]
    assert errors[0].run == "row 2"
