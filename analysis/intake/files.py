"""A run table's file: found, read, and told for what it is by its suffix and by its content."""

from __future__ import annotations

import difflib
import hashlib
from pathlib import Path

from slackwater.analysis.intake.columnar import read_parquet
from slackwater.analysis.intake.dialect import Score, decode, split_rows
from slackwater.analysis.intake.grid import Grid, Row
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.workbook import read_workbook

KINDS = {
    ".csv": "csv",
    ".tsv": "csv",
    ".txt": "csv",
    ".xlsx": "xlsx",
    ".xlsm": "xlsx",
    ".parquet": "parquet",
    ".pq": "parquet",
}
NAMES = {
    "csv": "text (CSV)",
    "xlsx": "an XLSX workbook",
    "parquet": "a Parquet file",
    "ole": "a workbook in the old .xls form, or one under a password",
}
SUFFIX = {"csv": ".csv", "xlsx": ".xlsx", "parquet": ".parquet"}
SIZE_LIMIT = 50_000_000  # [bytes]; a table of one row a run is far smaller


def read_grid(path: Path, score: Score, problems: Problems) -> Grid:
    """Read a run table of any kind into rows of cells.

    Parameters
    ----------
    path : Path
        A .csv (.tsv, .txt), .xlsx (.xlsm) or .parquet file.
    score : callable
        How much a row of texts looks like the heading of a run table; 0 when it does not.
    problems : Problems
        Takes what is wrong.

    Raises
    ------
    InputError
        When the file cannot be opened, is not what its suffix says, or holds nothing.
    """
    data = _read_bytes(path, problems)
    kind = _kind(path, data, problems)
    rows: tuple[Row, ...]
    delimiter = ""
    if kind == "csv":
        rows, delimiter = split_rows(decode(data, problems), score, problems)
    elif kind == "xlsx":
        rows = read_workbook(data, score, problems)
    else:
        rows = read_parquet(data, problems)
    last = max((n for n, row in enumerate(rows, 1) if not row.blank), default=0)
    if not last:
        problems.error(
            "empty-file",
            "the file holds no rows" if data else "the file is empty (0 bytes)",
            "it needs a heading row and one row a run: session, set_point [unit], direction, …",
        )
        problems.stop_on_errors()
    return Grid(problems.file, hashlib.sha256(data).hexdigest(), kind, rows[:last], delimiter)


def _read_bytes(path: Path, problems: Problems) -> bytes:
    message, fix = "", "give the path of a .csv, .xlsx or .parquet file"
    try:
        if path.is_dir():
            message = "this is a folder, not a file"
            inside = sorted(p.name for p in path.iterdir() if p.suffix.lower() in KINDS)
            if inside:
                fix = f"name one of the tables in it: {', '.join(inside[:5])}"
        elif path.exists() and not path.is_file():
            message = "this is not a regular file"
        elif path.exists() and path.stat().st_size > SIZE_LIMIT:
            message = (
                f"the file has {path.stat().st_size / 1e6:.0f} MB, the limit is "
                f"{SIZE_LIMIT / 1e6:.0f} MB; a run table has one row a run"
            )
            fix = "reduce the instrument's log to one row a run first"
        else:
            return path.read_bytes()
    except FileNotFoundError:
        message, fix = "there is no such file", _neighbours(path) or fix
    except PermissionError:
        message, fix = "no permission to read this file", "change its permissions, or close it"
    except (OSError, ValueError) as error:
        message = f"the file cannot be read: {error}"
    problems.error("file-unreadable", message, fix)
    problems.stop_on_errors()
    return b""


def _neighbours(path: Path) -> str:
    """A way out for a file that is missing: the one that may be meant."""
    try:
        there = sorted(p.name for p in path.parent.iterdir() if p.suffix.lower() in KINDS)
    except OSError:
        return f"there is no folder '{path.parent}' either; check the path"
    close = difflib.get_close_matches(path.name, there, n=1)
    if close:
        return f"did you mean '{close[0]}'?"
    return f"tables in that folder: {', '.join(there[:5])}" if there else ""


def _kind(path: Path, data: bytes, problems: Problems) -> str:
    """What the file is; an error when its suffix says one thing and its content another."""
    suffix = path.suffix.lower()
    named, real = KINDS.get(suffix), _content(data)
    if real == "ole":
        locked = "EncryptedPackage".encode("utf-16-le") in data
        problems.error(
            "workbook-locked" if locked else "file-kind",
            "the workbook is under a password and cannot be read"
            if locked
            else "this is a workbook in the old .xls form, which is not read",
            "save it without a password" if locked else "save it as .xlsx or as CSV",
        )
    elif named is None:
        problems.error(
            "file-kind",
            f"files named *{suffix or ' (no suffix)'} are not read as run tables",
            f"save it as CSV, XLSX or Parquet; by its content it is {NAMES[real]}",
        )
    elif data and real != named:
        problems.error(
            "file-kind",
            f"the name ends in {suffix}, but the content is {NAMES[real]}",
            f"rename it to *{SUFFIX[real]}, or save it as {SUFFIX[named]}",
        )
    problems.stop_on_errors()
    return named or real


def _content(data: bytes) -> str:
    """The kind that the first bytes show; whatever shows none is taken for text."""
    if data.startswith(b"PK\x03\x04"):
        return "xlsx"
    if data.startswith(b"PAR1"):
        return "parquet"
    if data.startswith(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"):
        return "ole"
    return "csv"
