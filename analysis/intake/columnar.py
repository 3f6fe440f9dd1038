"""Parquet files: typed columns to rows of cells."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from slackwater.analysis.intake.grid import Cell, Row, plain, quoted
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.table_limits import Decoded
from slackwater.protocol.findings import InputError


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
            decoded = Decoded(problems)
            decoded.shape(file.metadata.num_rows, file.metadata.num_columns)
            _stop_on_nested(file.schema_arrow, pa, problems)
        # A text that repeats is stored once and stays so until its whole length is known.
        texts = [f.name for f in file.schema_arrow if pa.types.is_string(f.type)]
        with pq.ParquetFile(pa.BufferReader(data), read_dictionary=texts) as file:
            table = file.read()
            decoded.whole(0, sum(_characters(column, pa) for column in table.columns))
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


def _stop_on_nested(schema: Any, pa: Any, problems: Problems) -> None:
    """Refuse columns of lists and the like before they are read: each cell could hold millions."""
    nested = [field.name for field in schema if pa.types.is_nested(field.type)]
    if nested:
        problems.error(
            "parquet-nested",
            f"column {quoted(nested[0])} holds {schema.field(nested[0]).type} in each cell, and not "
            "one value",
            "write one value in each cell, or leave the column out",
        )
        problems.stop_on_errors()


def _characters(column: Any, pa: Any) -> int:
    """How much text the cells of a column hold together, each counted at its whole length."""
    import pyarrow.compute as pc

    total = 0
    for chunk in column.chunks:
        kind = chunk.type.value_type if pa.types.is_dictionary(chunk.type) else chunk.type
        if not (pa.types.is_large_string(kind) or pa.types.is_string(kind) or _binary(kind, pa)):
            continue
        if pa.types.is_dictionary(chunk.type):
            lengths = pc.binary_length(chunk.dictionary)
            total += pc.sum(pc.cast(pc.take(lengths, chunk.indices), pa.int64())).as_py() or 0
        else:
            total += pc.sum(pc.cast(pc.binary_length(chunk), pa.int64())).as_py() or 0
    return total


def _binary(kind: Any, pa: Any) -> bool:
    return bool(pa.types.is_binary(kind) or pa.types.is_large_binary(kind))


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
