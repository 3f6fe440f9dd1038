"""What a query on the store gave, as text, JSON or CSV."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

from slackwater.analysis.report.audit.csv import safe_cell
from slackwater.analysis.report.text_table import Sheet, columns
from slackwater.analysis.result.result import plain
from slackwater.analysis.wording.json_text import to_json
from slackwater.analysis.wording.words import count_of

if TYPE_CHECKING:
    import pandas as pd


def as_json(frame: pd.DataFrame) -> str:
    """A list of objects, null for what is missing."""
    return to_json([dict(zip(frame.columns, row, strict=True)) for row in _rows(frame)])


def as_csv(frame: pd.DataFrame) -> str:
    """Comma-separated values, in which no cell becomes a formula."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([safe_cell(str(name)) for name in frame.columns])
    for row in _rows(frame):
        writer.writerow([safe_cell(_cell(value)) for value in row])
    return stream.getvalue()


def as_text(frame: pd.DataFrame, most: int) -> str:
    """A table in columns, cut after `most` rows with the number of those left out."""
    rows = tuple(tuple(_cell(value) for value in row) for row in _rows(frame.head(most)))
    figures = frozenset(i for i, kind in enumerate(frame.dtypes) if kind.kind in "iuf")
    text = columns(Sheet("rows", tuple(str(name) for name in frame.columns), rows, figures))
    left = len(frame) - most
    more = f"\nand {count_of(left, 'more row')}" if left > 0 else ""
    return f"{text}{more}\n"


def _rows(frame: pd.DataFrame) -> list[list[Any]]:
    lists = [[_plain(value) for value in frame[name].tolist()] for name in frame.columns]
    return [list(row) for row in zip(*lists, strict=True)]


def _plain(value: Any) -> Any:
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    if isinstance(value, dict):
        return {str(key): _plain(each) for key, each in value.items()}
    return plain(value)


def _cell(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:.6g}"
    return "" if value is None else str(value)
