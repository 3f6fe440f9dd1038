"""Cells and rows that cannot be read; each message names the row and the way out."""

from __future__ import annotations

import re
from typing import Any

import pytest

from slackwater.protocol.findings import Severity


# Cases 58, 61, 63, 66, 67 and 80.
@pytest.mark.parametrize(
    ("cell", "rule", "says", "way"),
    [
        ("#DIV/0!", "cell-broken-formula", "broken formula", "mend the formula"),
        ("#REF!", "cell-broken-formula", "broken formula", "mend the formula"),
        ("#VALUE!", "cell-broken-formula", "broken formula", "mend the formula"),
        ("nan", "cell-not-finite", "finite", "leave the cell empty"),
        ("inf", "cell-not-finite", "finite", "leave the cell empty"),
        ("-Infinity", "cell-not-finite", "finite", "leave the cell empty"),
        ("1e400", "cell-not-finite", "finite", "leave the cell empty"),
        ("-0.0", "cell-not-positive", "not above zero", "set_aside"),
        ("0", "cell-not-positive", "not above zero", "set_aside"),
        ("-8.31", "cell-not-positive", "not above zero", "set_aside"),
        ("−8.31", "cell-not-positive", "not above zero", "set_aside"),
        ("8.31 mph", "cell-other-unit", "'mph'", "without 'mph'"),
        ("8.31 m", "cell-other-unit", "'m'", "convert it"),
        ("1 299.5", "cell-thousands", "thousands", "write 1299.5"),
        ("1\u00a0299.5", "cell-thousands", "thousands", "write 1299.5"),
        ("1'299.99", "cell-thousands", "thousands", "write 1299.99"),
        ("fast", "cell-not-number", "not a number", "write a number"),
        ("8.3 - 8.5", "cell-not-number", "not one number", "one number"),
        ("8.3/8.5", "cell-not-number", "not one number", "one number"),
        ("1_000", "cell-other-unit", "'_000'", "write the number alone"),
        ("٨.٣", "cell-not-number", "not a number", "write a number"),
        ("0x1F", "cell-other-unit", "'x1F'", "write the number alone"),
        ("51:12.0", "cell-clock", "a time", "125.4 for 2 min 5.4 s"),
        ("00:02:30.6", "cell-clock", "a time", "pace"),
        ("2026-05-04", "cell-clock", "a date", "as a number"),
    ],
)
def test_numbers(bench: Any, cell: str, rule: str, says: str, way: str) -> None:
    text = bench.text({(4, "speed_over_ground"): cell})
    error = bench.error(text)
    assert error.rule == rule
    assert error.run == "row 4"
    assert error.session == "S1"
    assert error.message.startswith("row 4, speed_over_ground: ")
    assert says in error.message
    assert way in error.fix
    assert "set_aside" in error.fix
    line = text.splitlines()[3]
    assert error.place.line == 4
    assert error.place.excerpt == line.replace("\u00a0", " ")
    assert error.place.column == len("S1,2000,1,back,2026-05-04T09:07:00,60,") + 1


@pytest.mark.parametrize("cell", ['"1.299,99"', '"1,299.99"', '"1,299,000"'])
def test_thousands_in_quotes(bench: Any, cell: str) -> None:
    error = bench.error(bench.text({(4, "engine_speed"): cell}))
    assert (error.rule, error.run) == ("cell-thousands", "row 4")
    assert f"write {'1299000' if cell.count(',') == 2 else '1299.99'}:" in error.fix


def test_two_decimal_marks(bench: Any) -> None:
    text = bench.text({(4, "engine_speed"): "1,998"}, delimiter=";")
    error = bench.error(text)
    assert (error.rule, error.run) == ("cell-decimal-mark", "row 4")
    assert "comma" in error.message
    comma = bench.text(delimiter=";").replace(".", ",").replace("15,13", "15.13")
    error = bench.error(comma)
    assert (error.rule, error.run) == ("cell-decimal-mark", "row 4")
    assert "point" in error.message


def test_commas_that_may_be_either(bench: Any) -> None:
    changes = {(n, "fuel_flow"): f"1{n}" for n in range(2, 10)}
    changes |= {(n, "speed_over_ground"): f"1{n}" for n in range(2, 10)}
    changes |= {(n, "engine_speed"): f"1,00{n}" for n in range(2, 10)}
    error = bench.error(bench.text(changes, delimiter=";"))
    assert (error.rule, error.run) == ("cell-thousands", "row 2")
    assert "'1,002'" in error.message
    assert "may have a decimal comma or its thousands set apart" in error.message


def test_a_set_point_with_thousands_set_apart(bench: Any) -> None:
    error = bench.error(bench.text({(5, "set_point"): "2.000"}))
    assert (error.rule, error.run) == ("cell-thousands", "row 5")
    assert "the protocol has 2000" in error.message
    assert error.fix.startswith("write 2000")


def test_engine_speed_and_set_point_above_zero(bench: Any) -> None:
    for name in ("engine_speed", "set_point"):
        error = bench.error(bench.text({(3, name): "0"}))
        assert (error.rule, error.run) == ("cell-not-positive", "row 3")


def test_signed_measures_may_be_zero_or_below(bench: Any) -> None:
    text = bench.text({(2, "fuel_flow"): "-0.0", (3, "fuel_flow"): "-2.5"})
    text = text.replace("fuel_flow [L/h]", "trim [deg]")
    measures = {"speed_over_ground": "kn", "engine_speed": "rpm", "trim": "deg"}
    table = bench.read(text, measures=measures, signed={"trim"})
    assert table.frame["trim"].tolist()[:2] == [0.0, -2.5]


# Cases 57 and 56.
def test_decimal_commas_between_commas(bench: Any) -> None:
    lines = bench.text().splitlines()
    lines[3] = lines[3].replace("15.13", "15,13")
    error = bench.error("\n".join(lines))
    assert (error.rule, error.run) == ("decimal-comma", "row 4")
    assert "12 cells" in error.message
    assert "15,13" in error.message
    assert "semicolons" in error.fix


def test_decimal_commas_between_commas_throughout(bench: Any) -> None:
    findings = bench.refused(bench.text().replace(".", ","))
    first, second = (f for f in findings if f.rule == "decimal-comma")
    assert (first.run, second.run) == ("row 2", "row 3")
    assert second.message.endswith("; and 6 more like it: rows 4 to 9")


# Case 59.
def test_ragged_rows(bench: Any) -> None:
    lines = bench.text().splitlines()
    lines[2] = lines[2].removesuffix(",,")
    lines[4] += ",wake, then gust"
    errors = bench.refused("\n".join(lines))
    assert [(f.rule, f.run) for f in errors] == [("ragged-row", "row 3"), ("ragged-row", "row 5")]
    assert "9 cells" in errors[0].message
    assert "needs" not in errors[0].message
    assert "give the row 11 cells" in errors[0].fix
    assert "13 cells" in errors[1].message
    assert 'quotation marks ("...")' in errors[1].fix


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_blank_cells_at_the_end_do_not_hide_a_shift(bench: Any, delimiter: str) -> None:
    # The heading lost two cells; what is left over at the end of each row is blank.
    rows = bench.rows()
    del rows[0][9], rows[0][5]
    errors = bench.refused("\n".join(map(delimiter.join, rows)))
    assert [f.run for f in errors] == ["row 2", "row 3"]
    assert errors[1].message.endswith("; and 6 more like it: rows 4 to 9")
    assert "row 2 has 11 cells, the heading in row 1 has 9" in errors[0].message


def test_a_value_under_no_heading(bench: Any) -> None:
    rows = bench.rows()
    text = "\n".join(
        ",".join([*row[:-1], "x" if n == 4 else "", row[-1]]) for n, row in enumerate(rows)
    )
    error = bench.error(text)
    assert (error.rule, error.run) == ("cell-without-heading", "row 5")


# Cases 62, 64 and 65.
@pytest.mark.parametrize(
    ("label", "known", "meant"),
    [
        ("S3", ["S1", "S2"], ""),
        ("s1", ["S1", "S2"], "S1"),
        ("7", ["007", "S1", "S2"], "007"),
        ("S01", ["S1", "S2"], "S1"),
        ("3-Feb", ["3-2", "S1", "S2"], ""),
        ("100", ["1E2", "S1", "S2"], ""),
    ],
)
def test_a_session_that_is_not_known(bench: Any, label: str, known: list[str], meant: str) -> None:
    error = bench.error(bench.text({(4, "session"): label}), sessions=dict.fromkeys(known, "bare"))
    assert (error.rule, error.run) == ("session-unknown", "row 4")
    assert f"'{label}'" in error.message
    assert (f"did you mean '{meant}'" if meant else known[0]) in error.fix


def test_a_row_without_a_session(bench: Any) -> None:
    error = bench.error(bench.text({(4, "session"): ""}))
    assert (error.rule, error.run) == ("session-missing", "row 4")
    assert "summary" in error.fix


# Case 72.
@pytest.mark.parametrize("label", ["mean", "Mean:", "TOTAL", "Average speed", "St.dev", "median"])
def test_summary_rows(bench: Any, label: str) -> None:
    if label == "St.dev":
        label = "std"
    text = bench.text() + f"{label},,,,,,11.8,,26,,\n"
    error = bench.error(text)
    assert (error.rule, error.run) == ("summary-row", "row 10")
    assert "delete it" in error.fix


def test_a_summary_row_labelled_elsewhere(bench: Any) -> None:
    error = bench.error(bench.text() + ",,,mean,,,11.8,,26,,\n")
    assert (error.rule, error.run) == ("summary-row", "row 10")


def test_a_run_without_any_value(bench: Any) -> None:
    changes = {(4, n): "" for n in ("speed_over_ground", "engine_speed", "fuel_flow")}
    error = bench.error(bench.text(changes))
    assert (error.rule, error.run) == ("run-empty", "row 4")
    assert "set_aside" in error.fix


@pytest.mark.parametrize("cell", ["no", "0", "1", "x", "yes", "FALSE", "-", "#N/A", "2.5"])
def test_set_aside_without_a_reason(bench: Any, cell: str) -> None:
    error = bench.error(bench.text({(4, "set_aside"): cell}))
    assert (error.rule, error.run) == ("set-aside-reason", "row 4")
    assert "crossed a wake" in error.fix


def test_a_configuration_that_is_not_the_trials(bench: Any) -> None:
    rows = bench.rows()
    extra = ["configuration", *["bare"] * 4, "fitted", "bare", "fitted", "fitted"]
    text = "\n".join(",".join([*row, more]) for row, more in zip(rows, extra, strict=True))
    error = bench.error(text)
    assert (error.rule, error.run) == ("configuration-conflict", "row 7")
    assert "session S2 has 'fitted'" in error.message


# Case 70.
@pytest.mark.parametrize(
    ("cell", "rule", "way"),
    [
        ("N", "direction-unknown", "directions: {N: out, …: back}"),
        ("outt", "direction-unknown", "did you mean 'out'"),
        ("", "direction-missing", "out or back"),
        ("-", "direction-missing", "out or back"),
    ],
)
def test_directions(bench: Any, cell: str, rule: str, way: str) -> None:
    error = bench.error(bench.text({(4, "direction"): cell}))
    assert (error.rule, error.run) == (rule, "row 4")
    assert way in error.fix


@pytest.mark.parametrize("cell", ["", "0", "1.5", "-1", "a", "9999999999"])
def test_double_run_numbers(bench: Any, cell: str) -> None:
    error = bench.error(bench.text({(4, "double_run"): cell}))
    assert error.run == "row 4"
    assert error.rule in {"double-run-number", "cell-not-number"}


@pytest.mark.parametrize("cell", ["0", "0.000694", "-60"])
def test_durations(bench: Any, cell: str) -> None:
    error = bench.error(bench.text({(4, "duration"): cell}))
    assert (error.rule, error.run) == ("duration-short", "row 4")
    assert "fraction of a day" in error.message


# Case 79.
@pytest.mark.parametrize(
    ("content", "rule", "says"),
    [
        ("", "empty-file", "0 bytes"),
        ("\ufeff", "empty-file", "no rows"),
        ("\n\n , \n", "empty-file", "no rows"),
        ("session,set_point [rpm],direction,speed_over_ground [kn]\n", "no-runs", "no run"),
    ],
)
def test_nothing_to_read(bench: Any, content: str, rule: str, says: str) -> None:
    errors = [f for f in bench.refused(content) if f.severity is Severity.ERROR]
    assert [f.rule for f in errors] == [rule]
    assert says in errors[0].message
    assert re.search("one row a run|a row below it for each run", errors[0].fix)


def test_all_runs_set_aside(bench: Any) -> None:
    error = bench.error(bench.text({(n, "set_aside"): "fog" for n in range(2, 10)}))
    assert error.rule == "no-runs"
    assert "all 8 runs are set aside" in error.message


def test_every_error_is_told_at_once(bench: Any) -> None:
    changes = {
        (2, "session"): "S9",
        (3, "speed_over_ground"): "inf",
        (4, "start"): "04/05/26 09:07",
        (5, "fuel_flow"): "40.7 gal/h",
        (5, "engine_speed"): "#REF!",
    }
    errors = [f for f in bench.refused(bench.text(changes)) if f.severity is Severity.ERROR]
    assert [(f.run, f.rule) for f in errors] == [
        ("row 2", "session-unknown"),
        ("row 3", "cell-not-finite"),
        ("row 4", "start-day-month"),
        ("row 5", "cell-broken-formula"),
        ("row 5", "cell-other-unit"),
    ]


def test_many_errors_of_one_kind_are_cut(bench: Any) -> None:
    lines = bench.text().splitlines()
    rows = [lines[1].replace("S1", "X") for _ in range(30)]
    errors = bench.refused("\n".join([lines[0], *rows, *lines[1:]]))
    assert [f.run for f in errors] == ["row 2", "row 3"]
    assert errors[-1].message.endswith("; and 28 more like it: rows 4 to 31")
    assert errors[-1].rule == "session-unknown"


def test_control_characters_do_not_reach_the_terminal(bench: Any) -> None:
    error = bench.error(bench.text({(4, "session"): "S1\x1b[2J\u202e"}))
    assert "\x1b" not in error.render()
    assert "\u202e" not in error.render()


def test_long_rows_are_cut(bench: Any) -> None:
    error = bench.error(bench.text({(4, "note"): "x" * 5000, (4, "session"): "y" * 5000}))
    assert len(error.render()) < 900
