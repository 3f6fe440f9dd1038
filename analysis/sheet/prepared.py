"""A table that is handed out to be filled in: its headings, its rows as far as they are known, as CSV or a workbook."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from slackwater.analysis.wording.office_files import NO_TIME, without_times
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.units.quantity import show_number

#: What a spreadsheet program takes for the start of a formula.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
#: Of cells, as spreadsheet programs show them: labels such as 3-2 or 007 stay what they are.
FORMS = {
    "session": "@",
    "helmsman": "@",
    "set_aside": "@",
    "note": "@",
    "start": "yyyy-mm-dd hh:mm:ss",
}
MOST_OFFERED = (
    253  # [characters] of a list; spreadsheet programs take a file with a longer one for damaged
)
WIDE = {"note": 40, "set_aside": 30, "start": 20}  # [characters]

Cell = str | float | int | None
PreparedRow = Mapping[str, Cell]


@dataclass(frozen=True, slots=True)
class Prepared:
    """A table to be filled in.

    Parameters
    ----------
    title : str
        Of a workbook's sheet.
    head : mapping
        The columns by name, each with its heading.
    rows : sequence of mapping
        Cells by name; what is to be filled in has none.
    offered : mapping
        Columns with the words that a spreadsheet program offers for them; it takes no other.
    """

    title: str
    head: Mapping[str, str]
    rows: Sequence[PreparedRow]
    offered: Mapping[str, Sequence[str]]

    def csv(self) -> str:
        """The table as CSV.

        Raises
        ------
        InputError
            When a text in it starts as a formula does: a CSV file has no way to say that it is none.
        """
        refuse_formulas([*self.head.values(), *(str(row["session"]) for row in self.rows)])
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(self.head.values())
        for row in self.rows:
            writer.writerow([_text(row.get(name)) for name in self.head])
        return out.getvalue()

    def xlsx(self) -> bytes:
        """The table as a workbook of one sheet, every text marked as text."""
        import openpyxl
        from openpyxl.styles import Alignment, Font
        from openpyxl.utils import get_column_letter

        book = openpyxl.Workbook()
        sheet = book.active
        sheet.title = self.title
        for column, (name, heading) in enumerate(self.head.items(), start=1):
            cell = _put(sheet.cell(1, column), heading)
            cell.font = Font(bold=True)
            cell.alignment = Alignment(wrap_text=True, vertical="top")
            wide = WIDE.get(name) or max(11, len(heading) + 2)
            sheet.column_dimensions[get_column_letter(column)].width = wide
            for number, row in enumerate(self.rows, start=2):
                below = _put(sheet.cell(number, column), row.get(name))
                if name in FORMS:
                    below.number_format = FORMS[name]
        sheet.freeze_panes = sheet.cell(2, min(5, len(self.head)))
        for name, words in self.offered.items():
            _offer(sheet, list(self.head).index(name) + 1, words, len(self.rows))
        book.properties.created = book.properties.modified = NO_TIME
        out = io.BytesIO()
        book.save(out)
        return without_times(out.getvalue())


def refuse_formulas(texts: Iterable[str]) -> None:
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


def _put(cell: Any, value: Cell) -> Any:
    """Write a value; a text stays a text even when it starts as a formula does."""
    cell.value = value
    if isinstance(value, str):
        cell.data_type = "s"
        cell.quotePrefix = value.startswith(FORMULA_STARTS)
    return cell


def _offer(sheet: Any, column: int, words: Sequence[str], rows: int) -> None:
    """Let a spreadsheet program offer these words in a column, and nothing else."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    listed = ",".join(words)
    if len(listed) > MOST_OFFERED:
        return
    offered = DataValidation(type="list", formula1=f'"{listed}"', allow_blank=True)
    sheet.add_data_validation(offered)
    letter = get_column_letter(column)
    offered.add(f"{letter}2:{letter}{rows + 1}")
