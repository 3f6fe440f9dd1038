"""A small run table, invented, to be spoiled in one way a test."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

from slackwater.analysis.intake.run_table import RunTable
from slackwater.analysis.intake.tables import read_table
from slackwater.protocol.findings import Finding, InputError, Severity

HEADING = [
    "session",
    "set_point [rpm]",
    "double_run",
    "direction",
    "start",
    "duration [s]",
    "speed_over_ground [kn]",
    "engine_speed [rpm]",
    "fuel_flow [L/h]",
    "set_aside",
    "note",
]
# All figures are invented. The rows are 2 to 9 of the file.
ROWS = [
    "S1|1000|1|out|2026-05-04T09:00:00|60|8.31|1002|12.1||",
    "S1|1000|1|back|2026-05-04T09:03:00|60|7.62|1001|12.3||",
    "S1|2000|1|back|2026-05-04T09:07:00|60|15.13|1998|41.2||",
    "S1|2000|1|out|2026-05-04T09:10:00|60|15.94|2003|40.7||",
    "S2|1000|1|out|2026-05-05T09:00:00|60|8.42|999|12.0||",
    "S2|1000|1|back|2026-05-05T09:03:00|60|7.87|1003|12.2||",
    "S2|2000|1|back|2026-05-05T09:07:00|60|15.36|2001|40.9||",
    "S2|2000|1|out|2026-05-05T09:10:00|60|16.04|1997|41.1||",
]
DECLARED: dict[str, Any] = {
    "measures": {"speed_over_ground": "kn", "engine_speed": "rpm", "fuel_flow": "L/h"},
    "set_point_measure": "engine_speed",
    "set_point_unit": "rpm",
    "sessions": {"S1": "bare", "S2": "fitted"},
    "set_points": (1000.0, 2000.0),
}


class Bench:
    """Makes tables, reads them, and looks for what is told of them."""

    heading = HEADING

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def rows(
        self,
        changes: Mapping[tuple[int, str], str] | None = None,
        *,
        without: Sequence[str] = (),
        heading: Mapping[str, str] | None = None,
    ) -> list[list[str]]:
        """The table as rows of cells.

        `changes` are cells by the number of their row and the name of their column, `without`
        names columns left out, `heading` gives columns another heading.
        """
        names = [h.split(" [")[0] for h in HEADING]
        table = [list(HEADING), *(row.split("|") for row in ROWS)]
        for (number, name), text in (changes or {}).items():
            table[number - 1][names.index(name)] = text
        for name, text in (heading or {}).items():
            table[0][names.index(name)] = text
        keep = [i for i, name in enumerate(names) if name not in without]
        return [[row[i] for i in keep] for row in table]

    def text(
        self,
        changes: Mapping[tuple[int, str], str] | None = None,
        *,
        delimiter: str = ",",
        without: Sequence[str] = (),
        heading: Mapping[str, str] | None = None,
    ) -> str:
        """The table as CSV."""
        rows = self.rows(changes, without=without, heading=heading)
        return "".join(delimiter.join(row) + "\n" for row in rows)

    def read(self, content: str | bytes, name: str = "runs.csv", **declared: Any) -> RunTable:
        """Read a table from its content."""
        path = self.folder / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return read_table(path, **{**DECLARED, **declared})

    def refused(
        self, content: str | bytes, name: str = "runs.csv", **declared: Any
    ) -> tuple[Finding, ...]:
        """Everything told of a table that cannot be used."""
        with pytest.raises(InputError) as caught:
            self.read(content, name, **declared)
        findings = caught.value.findings
        for finding in findings:
            assert finding.place is not None
            assert finding.place.file.endswith(name)
            assert (
                finding.fix
                or finding.severity is not Severity.ERROR
                or "more of" in (finding.message)
            )
        return findings

    def error(self, content: str | bytes, name: str = "runs.csv", **declared: Any) -> Finding:
        """The one error told of a table."""
        errors = [
            f for f in self.refused(content, name, **declared) if f.severity is Severity.ERROR
        ]
        assert len(errors) == 1, "\n".join(f.render() for f in errors)
        return errors[0]

    def told(self, table: RunTable, rule: str) -> Finding:
        """The one finding of a rule on a table that was read."""
        found = [f for f in table.findings if f.rule == rule]
        assert len(found) == 1, f"{rule} among {[f.rule for f in table.findings]}"
        assert found[0].severity is not Severity.ERROR
        return found[0]


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


@pytest.fixture
def write_workbook() -> Callable[..., bytes]:
    """Makes an XLSX workbook of sheets, each a list of rows; `edit` may spoil it."""

    def write(
        sheets: Mapping[str, Sequence[Sequence[Any]]], edit: Callable[[Any], None] | None = None
    ) -> bytes:
        import io

        import openpyxl

        book = openpyxl.Workbook()
        book.remove(book.active)
        for title, rows in sheets.items():
            sheet = book.create_sheet(title)
            for row in rows:
                sheet.append(list(row))
        if edit:
            edit(book)
        stream = io.BytesIO()
        book.save(stream)
        return stream.getvalue()

    return write
