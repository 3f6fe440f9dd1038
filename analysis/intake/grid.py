"""The grid: what every kind of run table is first turned into, rows of numbered cells."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

EXCERPT_LENGTH = 160  # characters of a row that a finding shows
CELL_LENGTH = 40  # characters of a cell that a message quotes
BLANKS = " \t\r\n\u00a0\u2007\u202f\u200b\ufeff"  # with the spaces that spreadsheets put in


@dataclass(frozen=True, slots=True)
class Uncomputed:
    """A spreadsheet cell that holds a formula, in a file that does not hold its value."""

    formula: str


Cell = str | int | float | bool | datetime | date | time | timedelta | Uncomputed | None


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table.

    Parameters
    ----------
    number : int
        As a person counts rows in the file: the first is 1. In a CSV file it is the number of
        the line on which the row starts.
    cells : tuple of Cell
        Text in a CSV file; typed values in a workbook or a Parquet file.
    text : str
        The row as a finding shows it, on one line.
    """

    number: int
    cells: tuple[Cell, ...]
    text: str

    @property
    def blank(self) -> bool:
        """Whether no cell of the row holds anything."""
        return all(is_blank(cell) for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Grid:
    """All rows of a table, and what the file says about itself.

    Parameters
    ----------
    file, sha256 : str
        The file's name as it was given, and the digest of its bytes.
    kind : str
        "csv", "xlsx" or "parquet".
    rows : tuple of Row
        From the first row that holds anything, trailing blank rows left out.
    delimiter : str
        What separates the cells of a CSV file; empty in the other kinds.
    """

    file: str
    sha256: str
    kind: str
    rows: tuple[Row, ...]
    delimiter: str = ""


def is_blank(cell: Cell) -> bool:
    """Whether a cell holds nothing that a person would see."""
    return cell is None or (isinstance(cell, str) and not cell.strip(BLANKS))


def clean(text: str) -> str:
    """Text without the spaces, seen or unseen, around it."""
    return text.strip(BLANKS)


def visible(text: str) -> str:
    """Text on one line, every character that a terminal would act on replaced."""
    if text.isprintable():
        return text
    return "".join(_seen(c) for c in text)


def _seen(character: str) -> str:
    if character.isprintable() or character == "\t":
        return character
    return " " if unicodedata.category(character) == "Zs" else "\u00b7"


def excerpt(text: str) -> str:
    """A row's text as a finding shows it: on one line and of bounded length."""
    text = visible(text)
    return text if len(text) <= EXCERPT_LENGTH else text[: EXCERPT_LENGTH - 1] + "…"


def plain(cell: Cell) -> str:
    """A cell as the text that a person would type for it."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return clean(cell)
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, float):
        return f"{cell:.15g}"
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ")
    if isinstance(cell, Uncomputed):
        return cell.formula
    return str(cell)


def quoted(cell: Cell) -> str:
    """A cell as a message quotes it: visible, in quotation marks and of bounded length."""
    text = visible(plain(cell))
    if len(text) > CELL_LENGTH:
        text = text[: CELL_LENGTH - 1] + "…"
    return f"'{text}'"
