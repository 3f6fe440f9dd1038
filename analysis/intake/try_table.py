"""Tables of tries: a row for each try of a manoeuvre, every row of it accounted for."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.intake.cells import decimal_mark
from slackwater.analysis.intake.files import read_grid
from slackwater.analysis.intake.grid import Row, plain, quoted
from slackwater.analysis.intake.header import find_header
from slackwater.analysis.intake.headings import Column, Wanted, close_name, read_headings
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.table_rows import table_rows, tell_none_counts
from slackwater.analysis.intake.tries import Asked, TryTable
from slackwater.analysis.intake.try_reading import TryReader
from slackwater.protocol.declared.manoeuvres_agreement import TRY_COLUMNS

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Trial

NEEDED = ("session", "manoeuvre", "try")


@dataclass(frozen=True, slots=True)
class _Headings(Wanted):
    """What the headings of a table of tries are read against."""

    @property
    def names(self) -> tuple[str, ...]:
        return (*TRY_COLUMNS, *self.measures)

    def unit(self, name: str) -> str:
        return self.measures.get(name, "")


def read_tries(trial: Trial) -> TryTable | None:
    """The tries of a trial; None where its protocol has no manoeuvres, or it names no table.

    Raises
    ------
    InputError
        With everything that keeps the table from being used, row by row.
    """
    if not trial.protocol.manoeuvres or trial.manoeuvres is None:
        return None
    return read_try_table(trial.folder / trial.manoeuvres, asked_of(trial))


def asked_of(trial: Trial) -> Asked:
    """What the table of a trial is read against."""
    protocol = trial.protocol
    return Asked(
        protocol.manoeuvres,
        {session.id: session.configuration for session in trial.sessions},
        {word.casefold(): way for word, way in trial.directions.items()},
        {name: str(unit) for name, unit in trial.units.items() if name in protocol.tried},
        {
            name: own
            for name, own in trial.columns.items()
            if name in protocol.tried and isinstance(own, str)
        },
        trial.invented,
    )


def read_try_table(path: Path, asked: Asked, data: bytes | None = None) -> TryTable:
    """Read a table of tries.

    Parameters
    ----------
    path : Path
        A .csv (.tsv, .txt), .xlsx (.xlsm) or .parquet file with the columns session, manoeuvre,
        direction and try, one of each value with its unit, and where they are wanted helmsman,
        set_aside and note.
    asked : Asked
        What the protocol has tried.
    data : bytes, optional
        The table itself, where it stands in no file; findings then call it by `path`.

    Raises
    ------
    InputError
        With everything that keeps the table from being used, row by row.
    """
    problems = Problems(str(path))
    wanted = _Headings(asked.values, "", asked.units, asked.columns, reciprocal=False)
    grid = read_grid(path, wanted.score, problems, data)
    if not any(wanted.score([plain(cell) for cell in row.cells]) for row in grid.rows):
        problems.error(
            "heading-missing",
            f"no row has a heading 'session'; row {grid.rows[0].number} is shown",
            f"the first row names the columns: {', '.join((*NEEDED, *_headed(asked)))}",
            row=next(row for row in grid.rows if not row.blank),
        )
        problems.stop_on_errors()
    header = find_header(grid.rows, wanted, problems)
    found, unknown = read_headings(header, wanted, problems)
    _tell_headings(found, unknown, header, asked, problems)
    problems.stop_on_errors()
    rows = table_rows(grid, header, found, problems, noun="try")
    _tell_no_sessions(asked, rows, problems)
    numbers = [column.index for column in found.values() if column.unit]
    decimal, sure = decimal_mark(row.cells[index] for row in rows for index in numbers)
    reader = TryReader(found, asked, problems, decimal)
    if not sure:
        reader.tell_unsure_mark(rows, numbers)
    tries = tuple(made for row in rows if (made := reader.read(row)) is not None)
    problems.stop_on_errors()
    tell_none_counts(tries, problems, "try")
    return TryTable(tries, grid.file, grid.sha256, problems.findings())


def _headed(asked: Asked) -> list[str]:
    """Headings of the values, as they are to be written."""
    return [f"{name} [{unit}]" for name, unit in asked.values.items()]


def _tell_no_sessions(asked: Asked, rows: list[Row], problems: Problems) -> None:
    if asked.sessions:
        return
    problems.error(  # told once, not once a row
        "no-sessions",
        "the trial names no session yet, so no try can belong to one",
        "write each session down in the trial, under 'sessions:', with its id and configuration",
        row=rows[0],
    )
    problems.stop_on_errors()


def _tell_headings(
    found: Mapping[str, Column],
    unknown: Collection[tuple[int, str]],
    header: Row,
    asked: Asked,
    problems: Problems,
) -> None:
    """Columns that are needed and not there, and columns that are not read."""
    needed = list(NEEDED)
    if any(len(each.ways) > 1 for each in asked.manoeuvres.values()):
        needed.insert(2, "direction")
    lacking = [name for name in needed if name not in found]
    values = [name for name in asked.values if name not in found]
    for index, heading in unknown:
        near = close_name(heading, [*lacking, *values])
        fix = f"did you mean '{near}'?" if near else "it does no harm"
        told = problems.error if near else problems.warning
        told(
            "heading-unknown" if near else "column-ignored",
            f"column {quoted(heading)} is no column of a table of tries"
            + ("" if near else ", and is not read"),
            fix,
            row=header,
            index=index,
        )
    for name in lacking:
        problems.error(
            "column-missing",
            f"no column is headed {name}",
            f"a table of tries has the columns {', '.join((*needed, *_headed(asked)))}; helmsman, "
            "set_aside and note where they are wanted",
            row=header,
        )
    if len(values) == len(asked.values):
        problems.error(
            "column-missing",
            "no column is headed by a value of any manoeuvre",
            f"head one {' or '.join(_headed(asked)[:6])}",
            row=header,
        )
