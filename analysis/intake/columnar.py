"""Parquet files: typed columns to rows of cells."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from slackwater.analysis.intake.grid import Cell, Row, plain
from slackwater.analysis.intake.problems import Problems
from slackwater.protocol.findings import InputError

ROW_LIMIT = 200_000
COLUMN_LIMIT = 2_000


def read_parquet(data: bytes, problems: Problems) -> tuple[Row, ...]:
    """Read a Parquet file; its column names are row 1, as they would be in a spreadsheet.

    Raises
    ------
    InputError
        When pyarrow is missing, or cannot read the file.
    """
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError:
        problems.error(
            "parquet-unavailable",
            "Parquet files are read with the package pyarrow, which is not installed",
            "install it (pip install pyarrow), or save the table as CSV",
        )
        problems.stop_on_errors()
        raise
    try:
        with pq.ParquetFile(pa.BufferReader(data)) as file:
            _stop_when_too_large(file.metadata.num_rows, file.metadata.num_columns, problems)
            table = file.read()
            names = list(table.column_names)
            columns = [_values(column, pa) for column in table.columns]
    except InputError:
        raise
    except Exception as error:  # pyarrow raises errors of many kinds on a damaged file
        problems.error(
            "parquet-unreadable",
            f"the file starts as Parquet and cannot be read as such: {_first_line(error)}",
            "write the file again, or save the table as CSV",
        )
        problems.stop_on_errors()
        raise
    rows = [Row(1, tuple(names), " | ".join(names))]
    for number, values in enumerate(zip(*columns, strict=True), 2):
        cells = tuple(map(_cell, values))
        rows.append(Row(number, cells, " | ".join(map(plain, cells))))
    return tuple(rows)


def _stop_when_too_large(rows: int, columns: int, problems: Problems) -> None:
    if rows <= ROW_LIMIT and columns <= COLUMN_LIMIT:
        return
    problems.error(
        "table-too-large",
        f"the file has {rows} rows and {columns} columns; a run table has one row a run",
        "reduce the instrument's log to one row a run first",
    )
    problems.stop_on_errors()


def _values(column: Any, pa: Any) -> list[Any]:
    """The values of a column; stamps finer than a microsecond lose what is finer."""
    kind = column.type
    if pa.types.is_timestamp(kind) and kind.unit == "ns":
        column = column.cast(pa.timestamp("us", tz=kind.tz), safe=False)
    elif pa.types.is_dictionary(kind):
        column = column.cast(kind.value_type)
    return list(column.to_pylist())


def _cell(value: Any) -> Cell:
    if value is None or isinstance(value, str | int | float | datetime | date | time | timedelta):
        return value
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, bytes):
        return value.decode("utf-8", "replace")
    return str(value)


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0][:200]
