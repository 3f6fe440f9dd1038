"""Collecting everything that is wrong with a table, so that one reading names all of it."""

from __future__ import annotations

import csv
from collections import Counter

from slackwater.analysis.intake.grid import EXCERPT_LENGTH, Row, excerpt, visible
from slackwater.protocol.findings import Finding, InputError, Place, Severity

REPEATS = 12  # findings of one rule that are told one by one


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
        self._findings: list[Finding] = []
        self._count: Counter[tuple[str, Severity]] = Counter()

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
        self._count[rule, severity] += 1
        if self._count[rule, severity] > REPEATS:
            return
        if row is None:
            place = Place(self.file)
        else:
            column = None if index is None else cell_column(row.text, self.delimiter, index)
            place = Place(self.file, row.number, column, excerpt(row.text))
        message, fix = visible(message), visible(fix)  # they quote the file
        run = None if row is None else f"row {row.number}"
        self._findings.append(Finding(rule, severity, message, fix, place, source, session, run))

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
        return sum(n for (_, severity), n in self._count.items() if severity is Severity.ERROR)

    def findings(self) -> tuple[Finding, ...]:
        """All findings: those on the whole file first, then row by row, then what was cut."""

        def order(finding: Finding) -> tuple[int, bool]:
            line = (finding.place.line or 0) if finding.place else 0
            return line, finding.severity is not Severity.ERROR

        return tuple(sorted(self._findings, key=order)) + tuple(
            Finding(rule, severity, f"{count - REPEATS} more of the same", place=Place(self.file))
            for (rule, severity), count in self._count.items()
            if count > REPEATS
        )

    def stop_on_errors(self) -> None:
        """Raise everything found so far, if an error is among it.

        Raises
        ------
        InputError
            With every finding, warnings and advice too: they often say why an error is there.
        """
        if self.errors:
            raise InputError(self.findings())


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
