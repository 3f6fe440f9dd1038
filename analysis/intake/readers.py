"""The kinds of file that a table of runs may come in: one entry a reader, which owns all that differs.

What a kind is called, which endings and first bytes it has and how it is read stand here and nowhere
else; errors, `check` and whoever looks for tables in a folder ask this list.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from slackwater.analysis.intake.columnar import read_parquet
from slackwater.analysis.intake.dialect import Score, decode, split_rows
from slackwater.analysis.intake.grid import Row
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.workbook import read_workbook

#: Rows of cells, and what separates the cells of a text; empty for the other kinds.
Rows = tuple[tuple[Row, ...], str]


@dataclass(frozen=True, slots=True)
class Reader:
    """One kind of file.

    Attributes
    ----------
    kind : str
        Short name, as `Grid.kind` has it.
    title : str
        What a person calls it, with its article.
    suffixes : tuple of str
        Endings it goes by, small letters with the point; the first is the usual one.
    magic : bytes
        Its first bytes; empty for text, which has none.
    read : callable
        From bytes to rows of cells; what is wrong goes to the problems.
    textual : bool
        Its lines can be shown beside an error.
    """

    kind: str
    title: str
    suffixes: tuple[str, ...]
    magic: bytes
    read: Callable[[bytes, Score, Problems], Rows]
    textual: bool = False


def _text(data: bytes, score: Score, problems: Problems) -> Rows:
    return split_rows(decode(data, problems), score, problems)


def _workbook(data: bytes, score: Score, problems: Problems) -> Rows:
    return read_workbook(data, score, problems), ""


def _parquet(data: bytes, score: Score, problems: Problems) -> Rows:
    return read_parquet(data, problems), ""


READERS: tuple[Reader, ...] = (
    Reader("csv", "text (CSV)", (".csv", ".tsv", ".txt"), b"", _text, textual=True),
    Reader("xlsx", "an XLSX workbook", (".xlsx", ".xlsm"), b"PK\x03\x04", _workbook),
    Reader("parquet", "a Parquet file", (".parquet", ".pq"), b"PAR1", _parquet),
)
SUFFIXES: tuple[str, ...] = tuple(suffix for each in READERS for suffix in each.suffixes)

#: A workbook in the form before XLSX, or one under a password: known, and not read.
OLD_WORKBOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def by_suffix(path: str | Path) -> Reader | None:
    """The reader whose ending a name has; None where no reader knows it."""
    suffix = Path(path).suffix.lower()
    return next((each for each in READERS if suffix in each.suffixes), None)


def by_content(data: bytes) -> Reader:
    """The reader that the first bytes belong to; whatever shows none is taken for text."""
    marked = (each for each in READERS if each.magic and data.startswith(each.magic))
    return next(marked, READERS[0])
