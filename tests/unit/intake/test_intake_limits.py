"""Small files that would fill any machine are refused in a moment and in little memory."""

from __future__ import annotations

import io
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.table_limits import (
    CELL_LIMIT,
    COLUMN_LIMIT,
    EMPTY_LIMIT,
    LINE_LIMIT,
    ROW_LIMIT,
    SIZE_LIMIT,
    TEXT_LIMIT,
    Decoded,
)
from slackwater.protocol.findings import InputError

EXAMPLE = Path(__file__).parents[3] / "examples" / "workboat-interceptors"
HEAD = (
    "session,set_point [rpm],double_run,direction,start,duration [s],speed_over_ground [kn],"
    "engine_speed [rpm],fuel_flow [L/h],set_aside,note"
)
ROW = "S1,1000,1,out,,60,8.4,1000,10,,\n"
MOST_MEMORY = 600_000  # [kB]


def workbook(after: bytes, inside: bytes = b"") -> bytes:
    """A workbook of a heading and a run, with more put into and behind its sheet."""
    import openpyxl

    book = openpyxl.Workbook()
    book.active.append(HEAD.split(","))
    book.active.append(["S1", 1000, 1, "out", None, 60, 8.4, 1000, 10])
    plain, made = io.BytesIO(), io.BytesIO()
    book.save(plain)
    with (
        zipfile.ZipFile(plain) as read,
        zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as written,
    ):
        for name in read.namelist():
            data = read.read(name)
            if name == "xl/worksheets/sheet1.xml":
                data = data.replace(b"</sheetData>", inside + b"</sheetData>" + after)
            written.writestr(name, data)
    return made.getvalue()


def parquet(rows: int, note: str = "", columns: int = 0) -> bytes:
    values: dict[str, object] = {
        name: ["S1"] * rows if name == "session" else [1.0] * rows for name in HEAD.split(",")[:9]
    }
    values["direction"] = ["out"] * rows
    # Kept once here as well, since the peak of this process would count as that of its child.
    once = pa.DictionaryArray.from_arrays(pa.repeat(pa.scalar(0, pa.int32()), rows), [note])
    values["note"] = once
    values |= {f"c{number}": pa.nulls(rows, pa.float64()) for number in range(columns)}
    out = io.BytesIO()
    pq.write_table(pa.table(values), out, compression="zstd")
    return out.getvalue()


def nested() -> bytes:
    out = io.BytesIO()
    pq.write_table(pa.table({"session": pa.array([["a"] * 1000] * 20_000)}), out)
    return out.getvalue()


def cells(reference: str, count: int, value: str = "<v>1</v>") -> bytes:
    rows = (f'<row r="{n}"><c r="{reference}{n}">{value}</c></row>' for n in range(3, count + 3))
    return "".join(rows).encode()


BOMBS: dict[str, tuple[Callable[[], bytes], str]] = {
    "merged.xlsx": (
        lambda: workbook(b'<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>'),
        "merged-cells",
    ),
    "last-column.xlsx": (lambda: workbook(b"", cells("XFD", 6_000)), "table-too-large"),
    "empty-cells.xlsx": (lambda: workbook(b"", cells("XFD", 20_000, "")), "table-too-large"),
    "far-row.xlsx": (
        lambda: workbook(b"", b'<row r="4294967290"><c r="A4294967290"><v>1</v></c></row>'),
        "table-too-large",
    ),
    "unpacks.xlsx": (lambda: workbook(b" " * 60_000_000), "workbook-unreadable"),
    "notes.parquet": (lambda: parquet(200_000, "x" * 20_000), "table-too-large"),
    "long-notes.parquet": (lambda: parquet(ROW_LIMIT - 1, "x" * 20_000), "table-too-large"),
    "columns.parquet": (lambda: parquet(20_000, "", 1_900), "table-too-large"),
    "nested.parquet": (nested, "parquet-nested"),
    "newlines.csv": (lambda: b"\n" * (SIZE_LIMIT - 1), "table-too-large"),
    "returns.csv": (lambda: b"\r" * (SIZE_LIMIT - 1), "table-too-large"),
    "large.csv": (lambda: b"\n" * 49_000_000, "file-unreadable"),
    "columns.csv": (lambda: (b"," * 1_000_000 + b"\n") * 3, "table-too-large"),
    "many-columns.csv": (lambda: (b"," * 30_000 + b"\n") * 200, "table-too-large"),
    "rows.csv": (lambda: (HEAD + "\n" + ROW * (ROW_LIMIT + 1)).encode(), "table-too-large"),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A trial for each bomb, beside it."""
    folder = tmp_path_factory.mktemp("bombs")
    (folder / "protocol.yaml").write_bytes((EXAMPLE / "protocol.yaml").read_bytes())
    trial = (EXAMPLE / "trial.yaml").read_text("utf-8")
    for name, (make, _) in BOMBS.items():
        (folder / name).write_bytes(make())
        (folder / f"{name}.yaml").write_text(trial.replace("runs.csv", name), "utf-8")
    return folder


#: Runs a command and says its exit code and its peak memory [kB]. A process in between, since what
#: the tests themselves have used would count as the child's.
MEASURE = """
import resource, subprocess, sys
done = subprocess.run(sys.argv[1:], stdout=2)
print(done.returncode, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="other systems count memory otherwise")
def test_none_of_them_fills_the_memory(folder: Path) -> None:
    """One process meets them all, so its peak is that of the worst."""
    words = [sys.executable, "-m", "slackwater", "check", *(f"{name}.yaml" for name in BOMBS)]
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, *words],
        cwd=folder,
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    code, peak = map(int, done.stdout.split())
    assert code == 1, done.stderr
    assert peak < MOST_MEMORY
    for name, (_, rule) in BOMBS.items():
        lines = done.stderr.splitlines()
        assert any(name in line and f"[{rule}]" in line for line in lines), name


@pytest.mark.parametrize(
    ("rows", "width", "characters"),
    [
        (ROW_LIMIT + 1, 1, 0),
        (1, COLUMN_LIMIT + 1, 0),
        (CELL_LIMIT // COLUMN_LIMIT + 1, COLUMN_LIMIT, 0),
        (2, 1, TEXT_LIMIT // 2 + 1),
    ],
)
def test_one_more_than_the_limit(rows: int, width: int, characters: int) -> None:
    decoded = Decoded(Problems("runs.csv"))
    for number in range(1, rows):
        decoded.row(number, width, characters)
    with pytest.raises(InputError, match="table-too-large"):
        decoded.row(rows, width, characters)


def test_empty_cells_count_too() -> None:
    decoded = Decoded(Problems("runs.xlsx"))
    decoded.empty(EMPTY_LIMIT)
    with pytest.raises(InputError, match="empty cells"):
        decoded.empty(1)


def test_the_clock_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    decoded = Decoded(Problems("runs.csv"))
    monkeypatch.setattr("slackwater.analysis.intake.table_limits.TIME_LIMIT", -1.0)
    for number in range(1, 256):
        decoded.row(number, 1)
    with pytest.raises(InputError, match="takes more than"):
        decoded.row(256, 1)


def test_a_long_line_is_no_table() -> None:
    from slackwater.analysis.intake.dialect import split_rows

    with pytest.raises(InputError, match="characters; the limit is"):
        split_rows("x" * (LINE_LIMIT + 2), lambda cells: 0, Problems("runs.csv"))


def test_blank_rows_behind_the_last_are_no_rows(tmp_path: Path) -> None:
    """Spreadsheets keep formatted rows by the ten thousand behind the table."""
    from slackwater.analysis.intake.workbook import read_workbook

    data = workbook(b"", cells("A", ROW_LIMIT + 10, ""))
    rows = read_workbook(data, lambda cells: int("session" in cells), Problems("runs.xlsx"))
    assert len(rows) == 2
