"""The run table with its rows prepared: what the crew fill in, and what `analyse` reads again."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from slackwater.analysis.wording.office_files import NO_TIME, without_times
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.units.quantity import show_number

if TYPE_CHECKING:
    from slackwater.analysis.sheet.contents import SheetContents

#: What a spreadsheet program takes for the start of a formula.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")

Cell = str | float | int | None


def headings(
    contents: SheetContents,
    columns: Mapping[str, str | Sequence[str]] | None = None,
    units: Mapping[str, str] | None = None,
) -> dict[str, str]:
    """The columns of the run table by name, each with its heading.

    Parameters
    ----------
    contents : SheetContents
    columns, units : mapping, optional
        The trial's own headings and units, so that the table is the one that it describes.
    """
    columns, units = columns or {}, units or {}
    known = {
        "session": "",
        "set_point": contents.schedule.pattern.unit,
        "double_run": "",
        "direction": "",
        **({"heading": "deg"} if contents.schedule.circumstances.course is not None else {}),
        "start": "",
        "duration": "s",
        **{reading.name: reading.unit for reading in contents.readings},
        "set_aside": "",
        "note": "",
    }
    found = {}
    for name, unit in known.items():
        named = columns.get(name, name)
        unit = units.get(name, unit)
        for number, own in enumerate([named] if isinstance(named, str) else named):
            bare = unit and not own.rstrip().endswith(("]", ")"))
            # The columns of several engines stand side by side.
            key = f"{name} {number + 1}" if number else name
            found[key] = f"{own} [{unit}]" if bare else own
    return found


def prepared_rows(contents: SheetContents) -> list[dict[str, Cell]]:
    """A row for every run, in the order planned; what is measured is left blank.

    Nothing that the crew have to see for themselves is filled in beforehand: neither the time nor
    the duration nor the heading that was steered.
    """
    rows: list[dict[str, Cell]] = []
    for session in contents.schedule.sessions:
        for run in session.runs:
            rows.append(
                {
                    "session": session.id,
                    "set_point": run.set_point,
                    "double_run": run.double_run,
                    "direction": run.direction,
                }
            )
    return rows


def to_csv(contents: SheetContents, head: Mapping[str, str]) -> str:
    """The prepared table as CSV.

    Raises
    ------
    InputError
        When a text in it starts as a formula does: a CSV file has no way to say that it is none.
    """
    rows = prepared_rows(contents)
    refuse_formulas([*head.values(), *(str(row["session"]) for row in rows)])
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head.values())
    for row in rows:
        writer.writerow([_text(row.get(name)) for name in head])
    return out.getvalue()


def refuse_formulas(texts: Sequence[str]) -> None:
    """Refuse texts that start as a formula does: a CSV file has no way to say that they are none.

    Raises
    ------
    InputError
    """
    for text in dict.fromkeys(texts):
        if text.startswith(FORMULA_STARTS):
            raise InputError(
                [
                    Finding(
                        "cell-formula",
                        Severity.ERROR,
                        f"'{text}' would be taken for a formula by spreadsheet programs",
                        "rename it in the trial, or write the table as .xlsx, which can say that "
                        "it is a text",
                    )
                ]
            )


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    return cell if isinstance(cell, str) else show_number(float(cell))


def to_xlsx(contents: SheetContents, head: Mapping[str, str]) -> bytes:
    """The prepared table as a workbook of one sheet, every text marked as text."""
    import openpyxl
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "runs"
    rows = prepared_rows(contents)
    for column, (name, heading) in enumerate(head.items(), start=1):
        cell = _put(sheet.cell(1, column), heading)
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        wide = {"note": 40, "set_aside": 30, "start": 20}.get(name, 0)
        sheet.column_dimensions[get_column_letter(column)].width = wide or max(11, len(heading) + 2)
        for number, row in enumerate(rows, start=2):
            below = _put(sheet.cell(number, column), row.get(name))
            if name in ("session", "set_aside", "note"):
                below.number_format = "@"  # labels such as 3-2 or 007 stay what they are
            elif name == "start":
                below.number_format = "yyyy-mm-dd hh:mm:ss"
    sheet.freeze_panes = sheet.cell(2, min(5, len(head)))
    _allow_directions(sheet, list(head), len(rows))
    book.properties.created = book.properties.modified = NO_TIME
    out = io.BytesIO()
    book.save(out)
    return without_times(out.getvalue())


def _put(cell: Any, value: Cell) -> Any:
    """Write a value; a text stays a text even when it starts as a formula does."""
    cell.value = value
    if isinstance(value, str):
        cell.data_type = "s"
        cell.quotePrefix = value.startswith(FORMULA_STARTS)
    return cell


def _allow_directions(sheet: Any, names: list[str], rows: int) -> None:
    """Let a spreadsheet program offer out and back, and nothing else."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    offered = DataValidation(type="list", formula1='"out,back"', allow_blank=True)
    letter = get_column_letter(names.index("direction") + 1)
    sheet.add_data_validation(offered)
    offered.add(f"{letter}2:{letter}{rows + 1}")
