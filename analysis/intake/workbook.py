"""XLSX workbooks: the sheet that holds the runs, its merged cells and formulas watched."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from datetime import date, datetime, time, timedelta
from itertools import zip_longest
from typing import Any

from slackwater.analysis.intake.dialect import Score
from slackwater.analysis.intake.grid import Cell, Row, Uncomputed, plain
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.table_limits import UNPACKED_LIMIT, Decoded
from slackwater.protocol.findings import InputError

SHEET_PART = re.compile(r"xl/worksheets/[^/]+\.xml")
MERGED = re.compile(
    rb"<(?:\w+:)?mergeCell\s[^>]*?ref=[\"']([A-Z]{1,3}[0-9]+):([A-Z]{1,3}[0-9]+)[\"']"
)
MOST_ROWS = 1_048_576  # that a sheet can have, by the format (ECMA-376, as its programs document)
MOST_TOLD = 20  # merged ranges that are told


def read_workbook(data: bytes, score: Score, problems: Problems) -> tuple[Row, ...]:
    """Read the sheet that holds the runs.

    It is the first sheet, or the only one with a heading that names the session. Values are
    those that the spreadsheet program last saved; nothing is computed here.

    Raises
    ------
    InputError
        When the file is no workbook, no sheet or more than one can be meant, or cells are merged.
    """
    try:
        formulas, merged = _peek(data)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # on styles and extensions, which are not read
            sheets = _sheets(data, problems, values=True)
            name = _choose(sheets, score, problems)
            if name and formulas:
                others = _sheets(data, problems, values=False)[name]
                sheets[name] = _with_formulas(sheets[name], others)
            ranges = _merged(data, name, _heading(sheets[name], score)) if name and merged else []
    except InputError:
        raise
    except Exception as error:  # openpyxl raises errors of many kinds on a damaged file
        problems.error("workbook-unreadable", _why(error), "save it again as .xlsx, or as CSV")
        problems.stop_on_errors()
        raise
    problems.stop_on_errors()
    for text in ranges:
        problems.error(
            "merged-cells",
            f"sheet '{name}' has merged cells at {text}; only the first of them holds the value, "
            "the rows beside it hold none",
            "unmerge the cells and write the value in every row",
        )
    return tuple(
        Row(number, cells, " | ".join(map(plain, cells)))
        for number, cells in enumerate(sheets.get(name or "", []), 1)
    )


class _NotAWorkbook(Exception):
    """What was found wrong with the archive itself."""


def _why(error: Exception) -> str:
    if isinstance(error, _NotAWorkbook):
        return str(error)
    told = (str(error).splitlines() or [""])[0][:200].strip("'\"")
    return f"the workbook cannot be read ({told or type(error).__name__}); it is damaged or cut off"


def _peek(data: bytes) -> tuple[bool, bool]:
    """Whether any sheet has formulas, and merged cells: most have neither, and are read faster."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        infos = archive.infolist()
        if "xl/workbook.xml" not in (names := {info.filename for info in infos}):
            hint = "; it is an OpenDocument file" if "mimetype" in names else ""
            raise _NotAWorkbook(f"the file is an archive without a workbook in it{hint}")
        if sum(info.file_size for info in infos) > UNPACKED_LIMIT:
            raise _NotAWorkbook(
                f"the workbook unpacks to more than {UNPACKED_LIMIT / 1e6:.0f} MB; "
                "a run table has one row a run"
            )
        parts = [archive.read(name) for name in names if SHEET_PART.fullmatch(name)]
    return any(b"<f" in part for part in parts), any(b"<mergeCell" in part for part in parts)


def _sheets(data: bytes, problems: Problems, *, values: bool) -> dict[str, list[tuple[Cell, ...]]]:
    """All worksheets by name, in their order, as rows of cells."""
    import openpyxl

    decoded = Decoded(problems)
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=values)
    try:
        return {sheet.title: _rows(sheet, decoded) for sheet in book.worksheets}
    finally:
        book.close()


def _rows(sheet: Any, decoded: Decoded) -> list[tuple[Cell, ...]]:
    """The rows of a sheet, padded to one width; blank ones behind the last are left out."""
    sheet.reset_dimensions()  # programs write wrong ones, and cells beyond them would be lost
    rows: list[tuple[Cell, ...]] = []
    blank = 0
    for number, row in enumerate(sheet.iter_rows(values_only=True), 1):
        if number > MOST_ROWS:
            decoded.stop(f"sheet '{sheet.title}' has rows beyond the {MOST_ROWS} that a sheet has")
        decoded.empty(len(row))
        width = next((n for n in range(len(row), 0, -1) if row[n - 1] is not None), 0)
        if not width:
            blank += 1
            continue
        cells = tuple(map(_cell, row[:width]))
        decoded.row(number, width, sum(len(cell) for cell in cells if isinstance(cell, str)))
        rows += [()] * blank
        rows.append(cells)
        blank = 0
    widest = max(map(len, rows), default=0)
    decoded.whole(len(rows) * widest, 0)
    return [row + (None,) * (widest - len(row)) for row in rows]


def _cell(value: Any) -> Cell:
    if value is None or isinstance(value, str | int | float | datetime | date | time | timedelta):
        return value
    return str(value)


def _choose(
    sheets: dict[str, list[tuple[Cell, ...]]], score: Score, problems: Problems
) -> str | None:
    """The sheet that holds the runs."""
    names = list(sheets)
    if not names:
        problems.error(
            "workbook-sheets",
            "the workbook has no worksheet",
            "put the runs in the first sheet, one row a run",
        )
        return None
    fit = [n for n in names if any(score([plain(c) for c in row]) for row in sheets[n])]
    if len(fit) > 1 and names[0] not in fit:
        problems.error(
            "workbook-sheets",
            f"{len(fit)} sheets have a heading with a session column "
            f"({', '.join(fit)}), and the first sheet ('{names[0]}') is none of them",
            "put the sheet with the runs first, or delete the others",
        )
        return None
    name = names[0] if not fit or names[0] in fit else fit[0]
    others = [n for n in fit if n != name]
    if others:
        problems.warning(
            "workbook-sheets",
            f"the runs were read from the first sheet, '{name}'; "
            f"not read, though they have a session column: {', '.join(others)}",
            "put all runs in one sheet, or delete the others",
        )
    elif len(names) > 1:
        problems.advice(
            "workbook-sheets", f"the runs were read from sheet '{name}' of {len(names)} sheets"
        )
    return name


def _with_formulas(
    values: list[tuple[Cell, ...]], formulas: list[tuple[Cell, ...]]
) -> list[tuple[Cell, ...]]:
    """Mark the cells that hold a formula and no value of it."""
    marked = []
    # Rows and columns that hold nothing but formulas end the one earlier than the other.
    wide = max((len(row) for row in (*values[:1], *formulas[:1])), default=0)
    for row, others in zip_longest(values, formulas, fillvalue=()):
        cells: list[Cell] = [*row, *[None] * (wide - len(row))]
        for at, (value, formula) in enumerate(zip(cells, others, strict=False)):
            if value is None and isinstance(formula, str) and formula.startswith("="):
                cells[at] = Uncomputed(formula)
        marked.append(tuple(cells))
    return marked


def _heading(rows: list[tuple[Cell, ...]], score: Score) -> int:
    """The number of the heading row; 1 when there is none."""
    return next((n for n, row in enumerate(rows, 1) if score([plain(c) for c in row])), 1)


def _merged(data: bytes, name: str, heading: int) -> list[str]:
    """The merged ranges of a sheet that reach below its heading; a merged title does no harm.

    They are read off the sheet's own text: a range over a whole sheet, spread out into its cells,
    fills any memory.
    """
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True)
    try:
        part = str(book[name]._worksheet_path)
    finally:
        book.close()
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        found = MERGED.findall(archive.read(part))
    below = [
        f"{first.decode()}:{last.decode()}" for first, last in found if _row_of(last) > heading
    ]
    return below[:MOST_TOLD]


def _row_of(reference: bytes) -> int:
    return int(reference.lstrip(b"ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
