"""Files that are not what they should be, and the kinds other than text."""

from __future__ import annotations

import datetime as dt
import io
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from slackwater.protocol.findings import InputError, Severity


def typed(rows: list[list[str]]) -> list[list[Any]]:
    """The cells of a table as a spreadsheet holds them."""

    def value(text: str, name: str) -> Any:
        if not text:
            return None
        if name == "start":
            return dt.datetime.fromisoformat(text)
        return float(text) if "[" in name or name == "double_run" else text

    head = rows[0]
    return [list(head), *([value(c, h) for c, h in zip(r, head, strict=True)] for r in rows[1:])]


# --- the file itself ------------------------------------------------------------------------------


def refuse(bench: Any, path: Path) -> Any:
    from slackwater.analysis.intake.tables import read_table

    with pytest.raises(InputError) as caught:
        read_table(
            path,
            measures={"speed_over_ground": "kn"},
            set_point_measure="engine_speed",
            set_point_unit="rpm",
            sessions={"S1": "bare"},
        )
    (finding,) = caught.value.findings
    assert finding.place.file == str(path)
    assert finding.fix
    return finding


def test_no_file(bench: Any, tmp_path: Path) -> None:
    bench.read(bench.text())
    error = refuse(bench, tmp_path / "run.csv")
    assert (error.rule, error.message) == ("file-unreadable", "there is no such file")
    assert error.fix == "did you mean 'runs.csv'?"
    assert "no folder" in refuse(bench, tmp_path / "data" / "runs.csv").fix


def test_a_folder(bench: Any, tmp_path: Path) -> None:
    bench.read(bench.text())
    error = refuse(bench, tmp_path)
    assert "a folder" in error.message
    assert "runs.csv" in error.fix


def test_no_permission(bench: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def denied(path: Path, most: int) -> bytes:
        raise PermissionError(13, "Permission denied", str(path))

    bench.read(bench.text())
    # In place of the system's own refusal, since the tests may run as a user who may all.
    monkeypatch.setattr("slackwater.analysis.intake.files.read_bytes", denied)
    assert "no permission" in refuse(bench, tmp_path / "runs.csv").message


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_not_a_regular_file(bench: Any, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "runs.csv")
    assert "not a regular file" in refuse(bench, tmp_path / "runs.csv").message


def test_a_name_that_no_file_can_have(bench: Any, tmp_path: Path) -> None:
    assert refuse(bench, tmp_path / "a\0.csv").rule == "file-unreadable"


def test_a_file_that_is_too_large(
    bench: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.read(bench.text())
    monkeypatch.setattr("slackwater.analysis.intake.files.SIZE_LIMIT", 100)
    assert "one row a run" in refuse(bench, tmp_path / "runs.csv").message


@pytest.mark.parametrize(
    ("name", "start", "says", "way"),
    [
        ("runs.csv", b"PK\x03\x04", "content is an XLSX workbook", "rename it to *.xlsx"),
        ("runs.csv", b"PAR1", "content is a Parquet file", "rename it to *.parquet"),
        ("runs.parquet", b"session", "content is text (CSV)", "rename it to *.csv"),
        ("runs.xlsx", b"session", "content is text (CSV)", "rename it to *.csv"),
        ("runs.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "old .xls form", "as .xlsx"),
        ("runs.ods", b"PK\x03\x04", "*.ods are not read", "CSV, XLSX or Parquet"),
        ("runs", b"session", "(no suffix)", "CSV, XLSX or Parquet"),
    ],
)
def test_a_suffix_that_the_content_belies(
    bench: Any, name: str, start: bytes, says: str, way: str
) -> None:
    error = bench.error(start + b" more", name)
    assert error.rule == "file-kind"
    assert says in error.message
    assert way in error.fix


def test_a_workbook_under_a_password(bench: Any) -> None:
    content = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le")
    error = bench.error(content, "runs.xlsx")
    assert error.rule == "workbook-locked"
    assert "without a password" in error.fix


# Case 76, and NUL bytes.
def test_bytes_that_are_no_text(bench: Any) -> None:
    assert bench.error(b"session,note\nS1,\x81\xff\n").rule == "encoding"
    assert bench.error(b"\xff\xfes\x00e\x00s").rule == "encoding"
    error = bench.error(bench.text({(4, "note"): "a\0b"}))
    assert (error.rule, error.place.line) == ("nul-bytes", 4)
    assert bench.error(bench.text().encode("utf-16-le")).rule == "nul-bytes"


# Case 75.
@pytest.mark.parametrize(
    ("note", "says"),
    [('"wake', "row 4 is never closed"), ('"wake"s', "row 4 do not pair up")],
)
def test_quotation_marks(bench: Any, note: str, says: str) -> None:
    error = bench.error(bench.text({(4, "note"): note}))
    assert (error.rule, error.run) == ("quotes", "row 4")
    assert says in error.message
    assert '""' in error.fix


# --- XLSX -----------------------------------------------------------------------------------------


def test_a_workbook(bench: Any, write_workbook: Callable[..., bytes]) -> None:
    changes = {(4, "set_aside"): "wake", (9, "note"): "calm"}
    table = bench.read(write_workbook({"Runs": typed(bench.rows(changes))}), "runs.xlsx")
    same = bench.read(bench.text(changes))
    pd.testing.assert_frame_equal(table.frame, same.frame)
    assert [f.rule for f in table.findings] == ["run-without-partner"]
    assert table.findings[0].place.line == 5
    assert table.findings[0].place.excerpt.startswith("S1 | 2000 | 1 | out | 2026-05-04 09:10:00")


def test_a_workbook_with_rows_above_and_between(
    bench: Any, write_workbook: Callable[..., bytes]
) -> None:
    rows = typed(bench.rows())
    content = write_workbook({"Runs": [["Sea trial"], [], rows[0], rows[1], [], *rows[2:]]})
    table = bench.read(content, "runs.xlsx")
    assert table.frame["row"].tolist() == [4, 6, 7, 8, 9, 10, 11, 12]
    assert {f.rule for f in table.findings} == {"rows-before-heading", "blank-rows"}


def test_the_sheet_with_the_runs_is_found(bench: Any, write_workbook: Callable[..., bytes]) -> None:
    rows = typed(bench.rows())
    notes = [["What was fitted"], ["interceptors"]]
    table = bench.read(write_workbook({"Notes": notes, "Runs": rows}), "runs.xlsx")
    assert "sheet 'Runs'" in bench.told(table, "workbook-sheets").message
    table = bench.read(write_workbook({"Runs": rows, "Old": rows}), "runs.xlsx")
    told = bench.told(table, "workbook-sheets")
    assert told.severity is Severity.WARNING
    assert "not read" in told.message
    assert "Old" in told.message
    error = bench.error(write_workbook({"Notes": notes, "A": rows, "B": rows}), "runs.xlsx")
    assert error.rule == "workbook-sheets"
    assert "(A, B)" in error.message
    error = bench.error(write_workbook({"Notes": notes}), "runs.xlsx")
    assert error.rule == "heading-missing"


def test_formulas_without_a_value(bench: Any, write_workbook: Callable[..., bytes]) -> None:
    rows = typed(bench.rows())
    rows[3][8] = "=3.4*12"
    error = bench.error(write_workbook({"Runs": rows}), "runs.xlsx")
    assert (error.rule, error.run) == ("cell-formula", "row 4")
    assert "'=3.4*12'" in error.message
    assert "open and save" in error.fix


def test_merged_cells(bench: Any, write_workbook: Callable[..., bytes]) -> None:
    rows = typed(bench.rows())

    def merge(book: Any) -> None:
        book["Runs"].merge_cells("A2:A5")

    findings = bench.refused(write_workbook({"Runs": rows}, merge), "runs.xlsx")
    errors = [f for f in findings if f.rule == "merged-cells"]
    assert len(errors) == 1
    assert "A2:A5" in errors[0].message
    assert "unmerge" in errors[0].fix
    assert [f.run for f in findings if f.rule == "session-missing"] == ["row 3", "row 4", "row 5"]

    def merge_title(book: Any) -> None:
        book["Runs"].insert_rows(1, 2)
        book["Runs"].merge_cells("A1:K2")
        book["Runs"]["A1"] = "Sea trial"

    table = bench.read(write_workbook({"Runs": rows}, merge_title), "runs.xlsx")
    assert table.frame["row"].tolist() == list(range(4, 12))


# Cases 63, 64 and 65.
@pytest.mark.parametrize(
    ("column", "value", "rule", "says"),
    [
        (0, dt.datetime(2026, 2, 3), "label-date", "spreadsheets make dates of labels"),
        (0, 7, "session-unknown", "'7'"),
        (4, 46146.4, "start-serial", "day number"),
        (4, 0.38, "start-serial", "fraction of a day"),
        (4, dt.time(9, 7), "start-without-date", "no date"),
        (4, True, "cell-not-number", "'TRUE'"),
        (5, dt.time(0, 1), "cell-clock", "a time"),
        (6, dt.time(0, 15, 8), "cell-clock", "a time"),
        (6, dt.datetime(2026, 1, 15), "cell-clock", "a date"),
        (6, True, "cell-not-number", "'TRUE'"),
        (6, "#DIV/0!", "cell-broken-formula", "broken"),
        (9, False, "set-aside-reason", "'FALSE'"),
    ],
)
def test_cells_that_a_spreadsheet_has_changed(
    bench: Any,
    write_workbook: Callable[..., bytes],
    column: int,
    value: Any,
    rule: str,
    says: str,
) -> None:
    rows = typed(bench.rows())
    rows[3][column] = value
    error = bench.error(write_workbook({"Runs": rows}), "runs.xlsx")
    assert (error.rule, error.run) == (rule, "row 4")
    assert says in error.message + error.fix


def test_session_numbers(bench: Any, write_workbook: Callable[..., bytes]) -> None:
    rows = typed(bench.rows())
    for row in rows[1:]:
        row[0] = int(row[0][1:])
    table = bench.read(
        write_workbook({"Runs": rows}), "runs.xlsx", sessions={"1": "bare", "2": "fitted"}
    )
    assert table.frame["session"].tolist() == ["1"] * 4 + ["2"] * 4


@pytest.mark.parametrize("cut", [4, 100, 3000])
def test_a_damaged_workbook(bench: Any, write_workbook: Callable[..., bytes], cut: int) -> None:
    content = write_workbook({"Runs": typed(bench.rows())})
    error = bench.error(content[:cut], "runs.xlsx")
    assert error.rule == "workbook-unreadable"
    assert "damaged or cut off" in error.message


def test_an_archive_that_is_no_workbook(bench: Any) -> None:
    import zipfile

    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
    error = bench.error(stream.getvalue(), "runs.xlsx")
    assert "OpenDocument" in error.message


# --- Parquet --------------------------------------------------------------------------------------


def as_parquet(frame: pd.DataFrame) -> bytes:
    stream = io.BytesIO()
    frame.to_parquet(stream)
    return stream.getvalue()


def as_frame(rows: list[list[str]]) -> pd.DataFrame:
    head, *body = typed(rows)
    return pd.DataFrame(body, columns=head)


def test_parquet(bench: Any) -> None:
    changes = {(4, "set_aside"): "wake", (5, "fuel_flow"): ""}
    frame = as_frame(bench.rows(changes)).astype({"double_run": "int32", "session": "category"})
    table = bench.read(as_parquet(frame), "runs.parquet")
    pd.testing.assert_frame_equal(table.frame, bench.read(bench.text(changes)).frame)


def test_parquet_stamps_of_every_unit_and_zone(bench: Any) -> None:
    frame = as_frame(bench.rows())
    want = frame["start"].astype("datetime64[ns]")
    for dtype in ("datetime64[ms]", "datetime64[us]", "datetime64[ns]"):
        table = bench.read(as_parquet(frame.astype({"start": dtype})), "runs.parquet")
        assert (table.frame["start"] == want).all()
    zoned = frame.assign(start=want.dt.tz_localize("UTC"))
    assert (bench.read(as_parquet(zoned), "runs.parquet").frame["start"] == want).all()


def test_parquet_rows_are_counted_from_the_names(bench: Any) -> None:
    frame = as_frame(bench.rows())
    frame.loc[2, "speed_over_ground [kn]"] = float("inf")
    error = bench.error(as_parquet(frame), "runs.parquet")
    assert (error.rule, error.run, error.place.line) == ("cell-not-finite", "row 4", 4)


def test_parquet_damaged(bench: Any) -> None:
    content = as_parquet(as_frame(bench.rows()))
    error = bench.error(content[: len(content) // 2], "runs.parquet")
    assert error.rule == "parquet-unreadable"


def test_parquet_without_pyarrow(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    content = as_parquet(as_frame(bench.rows()))
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    error = bench.error(content, "runs.parquet")
    assert error.rule == "parquet-unavailable"
    assert "pip install pyarrow" in error.fix
