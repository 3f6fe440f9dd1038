"""Run tables that are in order, in all the ways in which they may be written."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from slackwater.analysis.intake.tables import read_table
from slackwater.protocol.findings import Severity

COLUMNS = (
    *("row", "session", "configuration", "set_point", "double_run", "direction", "heading"),
    *("start", "duration", "speed_over_ground", "engine_speed", "fuel_flow", "set_aside", "note"),
)


def test_the_frame_holds_what_the_file_holds(bench: Any) -> None:
    table = bench.read(bench.text({(3, "note"): "gust", (4, "set_aside"): "wake"}))
    frame = table.frame
    assert [(f.rule, f.run) for f in table.findings] == [("run-without-partner", "row 5")]
    assert tuple(frame.columns) == COLUMNS
    assert frame["row"].tolist() == [2, 3, 4, 5, 6, 7, 8, 9]
    assert frame["session"].tolist() == ["S1"] * 4 + ["S2"] * 4
    assert frame["configuration"].tolist() == ["bare"] * 4 + ["fitted"] * 4
    assert frame["set_point"].tolist() == [1000, 1000, 2000, 2000] * 2
    assert frame["direction"].tolist() == ["out", "back", "back", "out"] * 2
    assert frame["double_run"].dtype == np.int64
    assert frame["start"].dtype == "datetime64[ns]"
    assert frame["start"][1] == pd.Timestamp(2026, 5, 4, 9, 3)
    assert frame["duration"].tolist() == [60.0] * 8
    assert frame["heading"].isna().all()
    assert frame["speed_over_ground"].tolist() == [
        8.31,
        7.62,
        15.13,
        15.94,
        8.42,
        7.87,
        15.36,
        16.04,
    ]
    assert frame["set_aside"].tolist() == ["", "", "wake", "", "", "", "", ""]
    assert frame["note"][1] == "gust"
    assert table.units == {
        "set_point": "rpm",
        "heading": "deg",
        "duration": "s",
        "speed_over_ground": "kn",
        "engine_speed": "rpm",
        "fuel_flow": "L/h",
    }
    assert len(table.sha256) == 64


def test_a_table_in_order_has_no_findings(bench: Any) -> None:
    assert bench.read(bench.text()).findings == ()


def test_nothing_is_lost(bench: Any) -> None:
    table = bench.read(bench.text({(4, "set_aside"): "wake", (9, "set_aside"): "log stopped"}))
    used = (table.frame["set_aside"] == "").sum()
    assert (used, len(table.frame) - used) == (6, 2)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiters_and_line_ends(bench: Any, delimiter: str, end: str) -> None:
    table = bench.read(bench.text(delimiter=delimiter).replace("\n", end).rstrip("\r\n"))
    assert len(table.frame) == 8
    assert table.findings == ()


def test_mixed_line_ends(bench: Any) -> None:
    lines = bench.text().splitlines()
    mixed = "".join(line + ("\n", "\r\n", "\r")[n % 3] for n, line in enumerate(lines))
    assert bench.read(mixed).frame["row"].tolist() == list(range(2, 10))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_encodings(bench: Any, encoding: str) -> None:
    text = bench.text({(2, "note"): "Böe, 11 °C".replace(",", " ")})
    table = bench.read(text.encode(encoding))
    assert table.frame["note"][0] == "Böe  11 °C"
    assert table.findings == ()


def test_windows_1252_is_read_and_told(bench: Any) -> None:
    table = bench.read(bench.text({(3, "note"): "11 °C"}).encode("cp1252"))
    assert table.frame["note"][1] == "11 °C"
    told = bench.told(table, "encoding")
    assert told.severity is Severity.ADVICE
    assert "line 3" in told.message
    assert "Windows-1252" in told.message


def test_quoted_cells_with_line_ends_keep_the_line_number(bench: Any) -> None:
    text = bench.text({(2, "note"): '"first\nsecond, with ""marks"""'})
    table = bench.read(text)
    assert table.frame["note"][0] == 'first\nsecond, with "marks"'
    assert table.frame["row"].tolist() == [2, 4, 5, 6, 7, 8, 9, 10]


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_decimal_commas(bench: Any, delimiter: str) -> None:
    table = bench.read(bench.text(delimiter=delimiter).replace(".", ","))
    assert table.frame["speed_over_ground"][0] == 8.31
    assert table.findings == ()


def test_quoted_decimal_commas_between_commas(bench: Any) -> None:
    rows = bench.rows()
    text = "".join(",".join(f'"{c.replace(".", ",")}"' for c in row) + "\n" for row in rows)
    assert bench.read(text).frame["fuel_flow"].tolist()[:2] == [12.1, 12.3]


# Factors: NIST SP 811, appendix B.8: 1 mi = 1.609344 km, 1 gal = 3.785411784 L; 1 kn = 1.852 km/h.
@pytest.mark.parametrize(
    ("name", "heading", "factor"),
    [
        ("speed_over_ground", "speed_over_ground [km/h]", 1 / 1.852),
        ("speed_over_ground", "speed_over_ground [m/s]", 3.6 / 1.852),
        ("speed_over_ground", "Speed over ground (mph)", 1.609344 / 1.852),
        ("speed_over_ground", "SPEED-OVER-GROUND[knots]", 1.0),
        ("fuel_flow", " Fuel flow  [ gal/h ]", 3.785411784),
        ("fuel_flow", "fuel_flow (l/h)", 1.0),
    ],
)
def test_headings_and_units(bench: Any, name: str, heading: str, factor: float) -> None:
    table = bench.read(bench.text(heading={name: heading}))
    plain = bench.read(bench.text()).frame[name]
    np.testing.assert_allclose(table.frame[name], plain * factor, rtol=1e-12)
    assert table.findings == ()


def test_temperatures_keep_their_offset(bench: Any) -> None:
    # 212 degF is 100 degC, 32 degF is 0 degC.
    text = bench.text({(2, "fuel_flow"): "212", (3, "fuel_flow"): "32"})
    text = text.replace("fuel_flow [L/h]", "exhaust_temperature [degF]")
    measures = {"speed_over_ground": "kn", "exhaust_temperature": "degC"}
    table = bench.read(
        text.replace("engine_speed [rpm]", "note 2"),
        measures=measures,
        signed={"exhaust_temperature"},
    )
    np.testing.assert_allclose(table.frame["exhaust_temperature"][:2], [100, 0], atol=1e-9)


def test_units_and_headings_from_the_trial(bench: Any) -> None:
    text = bench.text(heading={"speed_over_ground": "GPS speed", "fuel_flow": "fuel_flow"})
    table = bench.read(
        text,
        columns={"speed_over_ground": "GPS speed"},
        units={"speed_over_ground": "km/h", "fuel_flow": "gal/h"},
    )
    assert table.frame["speed_over_ground"][0] == pytest.approx(8.31 / 1.852, rel=1e-12)
    assert table.frame["fuel_flow"][0] == pytest.approx(12.1 * 3.785411784, rel=1e-12)
    assert table.findings == ()


def test_a_mapped_heading_may_carry_its_unit(bench: Any) -> None:
    text = bench.text(heading={"speed_over_ground": "GPS speed [km/h]"})
    for own in ("GPS speed", "GPS speed [km/h]"):
        table = bench.read(text, columns={"speed_over_ground": own})
        assert table.frame["speed_over_ground"][0] == pytest.approx(8.31 / 1.852, rel=1e-12)


def test_set_points_survive_conversion(bench: Any) -> None:
    changes = {(n, "set_point"): "14.816" for n in range(2, 10)}  # 8 kn
    changes |= {(n, "double_run"): str(n // 2) for n in range(2, 10)}
    text = bench.text(changes, heading={"set_point": "set_point [km/h]"})
    table = bench.read(
        text, set_point_measure="speed_over_ground", set_point_unit="kn", set_points=(8.0,)
    )
    assert table.frame["set_point"].tolist() == [8.0] * 8


@pytest.mark.parametrize("cell", ["8.31 kn", "8.31kn", "8.31 [kn]", "8.31 knots", " 8.31\u00a0"])
def test_the_unit_of_the_heading_may_stand_in_the_cell(bench: Any, cell: str) -> None:
    assert (
        bench.read(bench.text({(2, "speed_over_ground"): cell})).frame["speed_over_ground"][0]
        == 8.31
    )


@pytest.mark.parametrize("mark", ["", "-", "--", "---", "n/a", "N/A", "#N/A", "na"])
def test_marks_for_a_missing_value(bench: Any, mark: str) -> None:
    table = bench.read(bench.text({(5, "fuel_flow"): mark}))
    assert math.isnan(table.frame["fuel_flow"][3])
    assert table.frame["fuel_flow"].notna().sum() == 7
    assert [f.rule for f in table.findings] == ["value-missing"]
    assert "1 of 8 runs have no fuel_flow (row 5)" in table.findings[0].message


@pytest.mark.parametrize("label", ["NA", "None", "null", "007", "1E2", "n/a", "mean"])
def test_a_label_is_a_label(bench: Any, label: str) -> None:
    changes = {(n, "session"): label for n in range(2, 6)}
    table = bench.read(bench.text(changes), sessions={label: "None", "S2": "fitted"})
    assert table.frame["session"].tolist() == [label] * 4 + ["S2"] * 4
    assert table.frame["configuration"][0] == "None"


def test_leading_zeros_and_whole_numbers_with_a_point(bench: Any) -> None:
    changes = {(2, "set_point"): "01000", (3, "set_point"): "1000.0", (2, "double_run"): "1.0"}
    frame = bench.read(bench.text(changes)).frame
    assert frame["set_point"].tolist()[:2] == [1000, 1000]
    assert frame["double_run"][0] == 1


def test_optional_columns_may_be_absent(bench: Any) -> None:
    text = bench.text(without=["duration", "set_aside", "note", "fuel_flow"])
    table = bench.read(text, measures={"speed_over_ground": "kn", "engine_speed": "rpm"})
    assert table.frame["duration"].isna().all()
    assert set(table.frame["set_aside"]) == {""}
    assert table.findings == ()


def test_without_starts_the_order_of_rows_is_taken_and_told(bench: Any) -> None:
    table = bench.read(bench.text(without=["start"]))
    assert table.frame["start"].isna().all()
    told = bench.told(table, "start-missing")
    assert "order" in told.message
    assert "2026-05-04T09:12:00" in told.fix


def test_one_way_runs_need_no_direction(bench: Any) -> None:
    changes = {(n, "double_run"): str(n) for n in range(2, 10)}
    table = bench.read(bench.text(changes, without=["direction"]), directions="one_way")
    assert set(table.frame["direction"]) == {""}
    assert table.findings == ()


def test_preamble_is_passed_over_and_told(bench: Any) -> None:
    table = bench.read("sep=,\nExport of 4 May\n\n" + bench.text())
    assert table.frame["row"][0] == 5
    told = bench.told(table, "rows-before-heading")
    assert "2 rows" in told.message
    assert "row 4" in told.message


def test_blank_rows_are_counted(bench: Any) -> None:
    lines = bench.text().splitlines()
    table = bench.read("\n".join([*lines[:3], "", ",,,,,,,,,,", *lines[3:], "", ""]))
    assert table.frame["row"].tolist() == [2, 3, 6, 7, 8, 9, 10, 11]
    told = bench.told(table, "blank-rows")
    assert "2 blank rows" in told.message
    assert "row 4" in told.message


def test_a_trailing_separator_adds_no_column(bench: Any) -> None:
    text = bench.text(delimiter=";").replace("\n", ";\n")
    assert bench.read(text).findings == ()


def test_an_unknown_column_is_told(bench: Any) -> None:
    rows = bench.rows()
    text = "\n".join(",".join([*row, "x" if n else "helmsman"]) for n, row in enumerate(rows))
    told = bench.told(bench.read(text), "column-ignored")
    assert told.severity is Severity.WARNING
    assert "'helmsman' is ignored" in told.message
    assert (told.place.line, told.place.column) == (1, text.index("helmsman") + 1)


def test_a_measure_of_the_catalogue_that_is_not_declared_is_ignored_and_told(bench: Any) -> None:
    text = bench.text(heading={"fuel_flow": "fuel_mass_flow [kg/h]"})
    told = bench.told(
        bench.read(text, measures={"speed_over_ground": "kn", "engine_speed": "rpm"}),
        "column-ignored",
    )
    assert "'fuel_mass_flow [kg/h]'" in told.message


def test_a_measure_without_a_column_is_told(bench: Any) -> None:
    text = bench.text(heading={"fuel_flow": "Burn (gal/h)"})
    table = bench.read(text)
    told = bench.told(table, "heading-unknown")
    assert told.severity is Severity.WARNING  # the other measures can be used without it
    assert 'columns: {fuel_flow: "Burn"}' in told.fix
    assert table.frame["fuel_flow"].isna().all()


def test_a_measure_without_a_column_is_told_with_one_of_its_unit(bench: Any) -> None:
    text = bench.text(heading={"fuel_flow": "Meter A (gal/h)"})
    table = bench.read(text)
    told = bench.told(table, "measure-missing")
    assert "fuel_flow" in told.message
    assert told.fix == (
        "is it 'Meter A (gal/h)'? Then say so in the trial: columns: {fuel_flow: \"Meter A\"}"
    )
    assert table.frame["fuel_flow"].isna().all()


def test_configuration_column_that_agrees(bench: Any) -> None:
    rows = bench.rows()
    extra = ["configuration", *["bare"] * 4, *["fitted"] * 4]
    text = "\n".join(",".join([*row, more]) for row, more in zip(rows, extra, strict=True))
    assert bench.read(text).findings == ()


def test_a_run_set_aside_may_be_unreadable(bench: Any) -> None:
    changes = {
        (4, "set_aside"): "log stopped",
        (4, "speed_over_ground"): "inf",
        (4, "fuel_flow"): "#DIV/0!",
        (4, "start"): "?",
        (4, "double_run"): "",
    }
    table = bench.read(bench.text(changes))
    row = table.frame.loc[2]
    assert math.isnan(row["speed_over_ground"])
    assert math.isnan(row["fuel_flow"])
    assert row["engine_speed"] == 1998
    assert row["start"] is pd.NaT
    assert row["double_run"] == 0
    unread = [f for f in table.findings if f.rule == "set-aside-unread"]
    assert [f.run for f in unread] == ["row 4"] * 3
    assert {f.severity for f in unread} == {Severity.ADVICE}


def test_a_path_may_be_text(bench: Any, tmp_path: Path) -> None:
    bench.read(bench.text())
    table = read_table(
        str(tmp_path / "runs.csv"),
        measures={"speed_over_ground": "m/s"},
        set_point_measure="engine_speed",
        set_point_unit="rpm",
        sessions={"S1": "bare", "S2": "fitted"},
    )
    assert table.units["speed_over_ground"] == "m/s"
    # 8.31 kn, 1 kn = 1852/3600 m/s (NIST SP 811, appendix B.8)
    assert table.frame["speed_over_ground"][0] == pytest.approx(8.31 * 1852 / 3600, rel=1e-12)
