"""A run table's file: found, read, and told for what it is by its suffix and by its content."""

from __future__ import annotations

import difflib
import hashlib
from pathlib import Path

from slackwater.analysis.intake.dialect import Score
from slackwater.analysis.intake.grid import Grid
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.readers import OLD_WORKBOOK, Reader, by_content, by_suffix
from slackwater.analysis.intake.table_limits import SIZE_LIMIT
from slackwater.protocol.files.reading import NotRegular, TooLong, read_bytes


def read_grid(path: Path, score: Score, problems: Problems, data: bytes | None = None) -> Grid:
    """Read a run table of any kind into rows of cells.

    Parameters
    ----------
    path : Path
        A .csv (.tsv, .txt), .xlsx (.xlsm) or .parquet file.
    score : callable
        How much a row of texts looks like the heading of a run table; 0 when it does not.
    problems : Problems
        Takes what is wrong.
    data : bytes, optional
        The table itself, where it stands in no file.

    Raises
    ------
    InputError
        When the file cannot be opened, is not what its suffix says, or holds nothing.
    """
    if data is None:
        data = _read_bytes(path, problems)
        reader = _reader(path, data, problems)
    else:
        reader = by_content(data)
    rows, delimiter = reader.read(data, score, problems)
    last = max((n for n, row in enumerate(rows, 1) if not row.blank), default=0)
    if not last:
        problems.error(
            "empty-file",
            "the file holds no rows" if data else "the file is empty (0 bytes)",
            "it needs a heading row, with a column session, and a row below it for each run (of other "
            "tables, for each score or try)",
        )
        problems.stop_on_errors()
    return Grid(
        problems.file, hashlib.sha256(data).hexdigest(), reader.kind, rows[:last], delimiter
    )


def provenance_beside(table: str | Path) -> Path:
    """The file that tells where the rows of a run table come from, where there is one."""
    path = Path(table)
    return path.with_name(f"{path.stem}.provenance.json")


def _read_bytes(path: Path, problems: Problems) -> bytes:
    message, fix = "", "give the path of a .csv, .xlsx or .parquet file"
    try:
        return read_bytes(path, SIZE_LIMIT)
    except NotRegular:
        message = "this is not a regular file"
        if path.is_dir():
            message = "this is a folder, not a file"
            fix = _inside(path) or fix
    except TooLong:
        message = (
            f"the file has more than {SIZE_LIMIT / 1e6:.0f} MB, which is the limit; "
            "a run table has one row a run"
        )
        fix = "reduce the instrument's log to one row a run first"
    except FileNotFoundError:
        message, fix = "there is no such file", _neighbours(path) or fix
    except PermissionError:
        message, fix = "no permission to read this file", "change its permissions, or close it"
    except (OSError, ValueError) as error:
        message = f"the file cannot be read: {error}"
    problems.error("file-unreadable", message, fix)
    problems.stop_on_errors()
    return b""


def _inside(folder: Path) -> str:
    """The tables in a folder that was named in place of one of them."""
    try:
        inside = sorted(p.name for p in folder.iterdir() if by_suffix(p))
    except OSError:
        return ""
    return f"name one of the tables in it: {', '.join(inside[:5])}" if inside else ""


def _neighbours(path: Path) -> str:
    """A way out for a file that is missing: the one that may be meant."""
    try:
        there = sorted(p.name for p in path.parent.iterdir() if by_suffix(p))
    except OSError:
        return f"there is no folder '{path.parent}' either; check the path"
    close = difflib.get_close_matches(path.name, there, n=1)
    if close:
        return f"did you mean '{close[0]}'?"
    return f"tables in that folder: {', '.join(there[:5])}" if there else ""


def _reader(path: Path, data: bytes, problems: Problems) -> Reader:
    """The reader of a file; an error when its suffix says one thing and its content another."""
    suffix = path.suffix.lower()
    named, real = by_suffix(path), by_content(data)
    if data.startswith(OLD_WORKBOOK):
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
            f"save it as CSV, XLSX or Parquet; by its content it is {real.title}",
        )
    elif data and real is not named:
        problems.error(
            "file-kind",
            f"the name ends in {suffix}, but the content is {real.title}",
            f"rename it to *{real.suffixes[0]}, or save it as {named.suffixes[0]}",
        )
    problems.stop_on_errors()
    return named or real
