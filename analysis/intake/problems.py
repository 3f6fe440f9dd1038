"""Collecting everything that is wrong with a table, so that one reading names all of it."""

from __future__ import annotations

import csv
from collections import defaultdict
from dataclasses import dataclass, field, replace
from itertools import pairwise

from slackwater.analysis.intake.grid import EXCERPT_LENGTH, Row, excerpt, visible
from slackwater.protocol.findings import Finding, InputError, Place, Severity

SINGLE = 4  # findings of one rule on one column that are told one by one
ROWS = 12  # stretches of rows that are listed


@dataclass(slots=True)
class _Alike:
    """Findings of one rule on one column: the first few, and the rows of all others."""

    told: list[Finding] = field(default_factory=list)
    rows: list[int] = field(default_factory=list)
    count: int = 0

    def findings(self) -> list[Finding]:
        """All of a few; else the first two, with the rows of the others."""
        if self.count <= SINGLE:
            return self.told
        first, second, *others = self.told
        rows = [f.place.line for f in others if f.place and f.place.line] + self.rows
        where = f": rows {spans(rows)}" if rows else ""
        message = f"{second.message}; and {self.count - 2} more like it{where}"
        return [first, replace(second, message=message)]


class Problems:
    """The findings on one table, in the making.

    Parameters
    ----------
    file : str
        The table's name, as findings show it.
    """

    def __init__(self, file: str) -> None:
        self.file = file
        self.delimiter = ""  # of a CSV file, once it is known; it gives findings their column
        self._alike: dict[tuple[str, Severity, int | None], _Alike] = defaultdict(_Alike)

    def add(
        self,
        rule: str,
        severity: Severity,
        message: str,
        fix: str = "",
        *,
        row: Row | None = None,
        index: int | None = None,
        session: str | None = None,
        source: str = "",
    ) -> None:
        """Add a finding, on a row when one is given and on the cell `index` (from 0) of it."""
        alike = self._alike[rule, severity, index]
        alike.count += 1
        if len(alike.told) == SINGLE:
            alike.rows += [] if row is None else [row.number]
            return
        if row is None:
            place = Place(self.file)
        else:
            column = None if index is None else cell_column(row.text, self.delimiter, index)
            place = Place(self.file, row.number, column, excerpt(row.text))
        message, fix = visible(message), visible(fix)  # they quote the file
        run = None if row is None else f"row {row.number}"
        alike.told.append(Finding(rule, severity, message, fix, place, source, session, run))

    def error(
        self,
        rule: str,
        message: str,
        fix: str,
        *,
        row: Row | None = None,
        index: int | None = None,
        session: str | None = None,
    ) -> None:
        """Add an error: the table cannot be used as it is."""
        self.add(rule, Severity.ERROR, message, fix, row=row, index=index, session=session)

    def warning(
        self,
        rule: str,
        message: str,
        fix: str = "",
        *,
        row: Row | None = None,
        index: int | None = None,
        session: str | None = None,
        source: str = "",
    ) -> None:
        """Add a warning: the table can be used, and probably says something it should not."""
        self.add(
            rule,
            Severity.WARNING,
            message,
            fix,
            row=row,
            index=index,
            session=session,
            source=source,
        )

    def advice(
        self,
        rule: str,
        message: str,
        fix: str = "",
        *,
        row: Row | None = None,
        index: int | None = None,
        session: str | None = None,
    ) -> None:
        """Add advice: something that was done with the table and is not to pass in silence."""
        self.add(rule, Severity.ADVICE, message, fix, row=row, index=index, session=session)

    @property
    def errors(self) -> int:
        """How many things so far keep the table from being used."""
        return sum(a.count for (_, s, _), a in self._alike.items() if s is Severity.ERROR)

    def findings(self) -> tuple[Finding, ...]:
        """All findings: those on the whole file first, then row by row; many alike as one."""

        def order(finding: Finding) -> tuple[int, bool]:
            line = (finding.place.line or 0) if finding.place else 0
            return line, finding.severity is not Severity.ERROR

        return tuple(sorted((f for a in self._alike.values() for f in a.findings()), key=order))

    def stop_on_errors(self) -> None:
        """Raise everything found so far, if an error is among it.

        Raises
        ------
        InputError
            With every finding, warnings and advice too: they often say why an error is there.
        """
        if self.errors:
            raise InputError(self.findings())


def spans(numbers: list[int]) -> str:
    """Numbers as stretches: 3 to 7, 9 and 12 to 20."""
    ends = sorted(set(numbers))
    breaks = [i for i, (one, next_) in enumerate(pairwise(ends), 1) if next_ != one + 1]
    parts = [ends[i:j] for i, j in pairwise([0, *breaks, len(ends)])]
    texts = [f"{p[0]} to {p[-1]}" if len(p) > 2 else ", ".join(map(str, p)) for p in parts]
    if len(texts) > ROWS:
        return f"{', '.join(texts[:ROWS])} and so on"
    return " and ".join([", ".join(texts[:-1]), texts[-1]]) if len(texts) > 1 else texts[0]


def cell_column(text: str, delimiter: str, index: int) -> int | None:
    """Where a cell starts in the text of a CSV row, counted from 1; None when it is not shown."""
    if not delimiter:
        return None
    at, quotes = 0, False
    for position, character in enumerate(text):
        if at == index:
            return position + 1 if position < EXCERPT_LENGTH - 1 else None
        if character == csv.excel.quotechar:
            quotes = not quotes
        elif character == delimiter and not quotes:
            at += 1
    return len(text) + 1 if at == index and len(text) < EXCERPT_LENGTH - 1 else None
