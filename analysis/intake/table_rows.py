"""The rows of a table below its headings, each told for what it is before a cell of it is read."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Protocol

from slackwater.analysis.intake.dialect import ragged, repeated_heading
from slackwater.analysis.intake.grid import Grid, Row, is_blank, quoted
from slackwater.analysis.intake.header import is_units_row
from slackwater.analysis.intake.headings import Column
from slackwater.analysis.intake.problems import Problems

#: The fault of a table that holds none of what its rows are.
NONE = {"run": "no-runs", "rating": "no-ratings", "try": "no-tries"}


class SetAside(Protocol):
    """What a row tells that may be left out."""

    @property
    def set_aside(self) -> str:
        """Why it is left out; empty where it counts."""
        ...


def table_rows(
    grid: Grid,
    header: Row,
    columns: Mapping[str, Column],
    problems: Problems,
    noun: str = "run",
) -> list[Row]:
    """The rows below the heading that can be read, each with a cell for every heading.

    `noun` is what a row of the table is.
    """
    below = [row for row in grid.rows if row.number > header.number]
    filled = [row for row in below if not row.blank]
    if not filled:
        problems.error(
            NONE[noun],
            f"below the heading in row {header.number} there is no {noun}",
            f"add one row a {noun}",
            row=header,
        )
        problems.stop_on_errors()
    if len(filled) < len(below):
        blank = next(row.number for row in below if row.blank)
        problems.advice(
            "blank-rows", f"{len(below) - len(filled)} blank rows were passed over (row {blank})"
        )
    width = len(header.cells)
    nameless = any(is_blank(cell) for cell in header.cells)
    rows = []
    for row in filled:
        if repeated_heading(row, header, problems):
            continue
        if grid.kind == "csv" and ragged(row, header, grid.delimiter, problems):
            continue
        full = Row(row.number, (*row.cells, *[None] * (width - len(row.cells))), row.text)
        if row is filled[0] and is_units_row(full, columns):
            _tell_units_row(full, columns, problems, noun)
            continue
        if nameless or len(row.cells) > width:
            _check_nameless(full, header, problems)
        rows.append(full)
    return rows


def tell_none_counts(made: Collection[SetAside], problems: Problems, noun: str) -> None:
    """Tell that every row of a table beside the runs is set aside, so that nothing of it counts."""
    if made and all(each.set_aside for each in made):
        problems.warning(
            NONE[noun],
            f"all {len(made)} rows are set aside, so that no {noun} counts",
            "leave set_aside empty in the rows that count",
        )


def _tell_units_row(row: Row, columns: Mapping[str, Column], problems: Problems, noun: str) -> None:
    name, column = next((n, c) for n, c in columns.items() if c.unit and row.cells[c.index])
    problems.error(
        "units-row",
        f"row {row.number} holds units, not a {noun}",
        f"write each unit into the heading, such as '{name} [{row.cells[column.index]}]', and "
        "delete the row",
        row=row,
    )


def _check_nameless(row: Row, header: Row, problems: Problems) -> None:
    """Tell a value that stands in a column without a heading."""
    for index, cell in enumerate(row.cells):
        named = index < len(header.cells) and not is_blank(header.cells[index])
        if named or is_blank(cell):
            continue
        problems.error(
            "cell-without-heading",
            f"row {row.number} holds {quoted(cell)} in column {index + 1}, which has no heading",
            "give the column a heading, or clear the cell",
            row=row,
            index=index,
        )
        return
