"""A table as the other kinds of file that are read."""

from __future__ import annotations

import io


def _number(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text


def workbook(rows: list[list[str]]) -> bytes:
    import openpyxl

    from slackwater.analysis.wording.office_files import NO_TIME, without_times

    book, out = openpyxl.Workbook(), io.BytesIO()
    for row in rows:
        book.active.append([_number(cell) for cell in row])
    book.properties.created = NO_TIME
    book.save(out)
    return without_times(out.getvalue())  # the same input whenever it is made


def parquet(rows: list[list[str]]) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    out = io.BytesIO()
    columns = {
        name: [row[n] if n < len(row) else None for row in rows[1:]]
        for n, name in enumerate(rows[0])
    }
    pq.write_table(pa.table(columns), out)
    return out.getvalue()
