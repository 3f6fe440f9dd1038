"""How large a table of runs may be, whatever kind of file it comes in.

A small file can unpack to anything, so what counts is what has been decoded. A trial of forty sessions
with seven set points and forty double runs has 22,400 rows of eleven cells.
"""

from __future__ import annotations

import time
from typing import NoReturn

from slackwater.analysis.intake.problems import Problems

SIZE_LIMIT = 20_000_000  # of the file [bytes]
UNPACKED_LIMIT = 50_000_000  # of a workbook's parts together [bytes]
ROW_LIMIT = 50_000
COLUMN_LIMIT = 500
CELL_LIMIT = 1_000_000  # rows times columns
EMPTY_LIMIT = 20_000_000  # cells of a workbook that are there and hold nothing
TEXT_LIMIT = 20_000_000  # of all cells together [characters]
LINE_LIMIT = 40_000  # of one row of a text table [characters]
TIME_LIMIT = 30.0  # to decode one file [s]
_EVERY = 256  # rows between two looks at the clock


class Decoded:
    """What of a table has been decoded so far; stops the reading at the first limit that is passed."""

    def __init__(self, problems: Problems) -> None:
        self._problems = problems
        self._began = time.monotonic()
        self._rows = self._cells = self._text = self._empty = 0

    def row(self, number: int, width: int, characters: int = 0) -> None:
        """Count a row.

        Raises
        ------
        InputError
        """
        self._rows += 1
        self._cells += width
        self._text += characters
        if width > COLUMN_LIMIT:
            self.stop(f"row {number} reaches to column {width}; the limit is {COLUMN_LIMIT}")
        if number > ROW_LIMIT:
            self.stop(f"there are more than {ROW_LIMIT} rows")
        self.whole(self._cells, self._text)
        if self._rows % _EVERY == 0 and time.monotonic() - self._began > TIME_LIMIT:
            self.stop(f"reading it takes more than {TIME_LIMIT:g} s")

    def empty(self, cells: int) -> None:
        """Count cells that are there and may hold nothing; sheets have them by the million.

        Raises
        ------
        InputError
        """
        self._empty += cells
        if self._empty > EMPTY_LIMIT:
            self.stop(f"a sheet has more than {EMPTY_LIMIT // 1_000_000} million empty cells")

    def shape(self, rows: int, columns: int) -> None:
        """Look at a size that the file tells beforehand.

        Raises
        ------
        InputError
        """
        if columns > COLUMN_LIMIT:
            self.stop(f"there are {columns} columns; the limit is {COLUMN_LIMIT}")
        if rows > ROW_LIMIT:
            self.stop(f"there are {rows} rows; the limit is {ROW_LIMIT}")
        self.whole(rows * columns, 0)

    def whole(self, cells: int, characters: int) -> None:
        """Look at the size of the whole.

        Raises
        ------
        InputError
        """
        if cells > CELL_LIMIT:
            self.stop(f"rows times columns come to more than {CELL_LIMIT} cells")
        if characters > TEXT_LIMIT:
            self.stop(f"its cells hold more than {TEXT_LIMIT // 1_000_000} million characters")

    def stop(self, what: str) -> NoReturn:
        """Refuse the table.

        Raises
        ------
        InputError
        """
        self._problems.error(
            "table-too-large",
            f"{what}; a run table has one row a run",
            "reduce the instrument's log to one row a run first, and delete stray cells far from "
            "the table",
        )
        self._problems.stop_on_errors()
        raise AssertionError("an error stops the reading")
