"""Run tables (CSV, XLSX, Parquet) to one frame, with everything found wrong along the way."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slackwater.analysis.intake.checks import (
    check_blank_starts,
    check_blank_values,
    check_clock,
    check_copies,
    check_days,
    check_rounding,
    check_sessions,
    check_wild,
)
from slackwater.analysis.intake.computed import with_computed
from slackwater.analysis.intake.direction_words import tell_direction_words
from slackwater.analysis.intake.files import read_grid
from slackwater.analysis.intake.grid import Row
from slackwater.analysis.intake.header import find_header
from slackwater.analysis.intake.headings import Column, Wanted, read_headings
from slackwater.analysis.intake.pairing import (
    check_double_runs,
    directions_from_headings,
    number_double_runs,
)
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.row_reading import RowReader
from slackwater.analysis.intake.run_table import RunTable
from slackwater.analysis.intake.runs import Rules, Run
from slackwater.analysis.intake.table_rows import table_rows
from slackwater.analysis.intake.timestamps import check_midnights, settle_zones
from slackwater.analysis.intake.unknown_headings import tell_unknown
from slackwater.analysis.intake.unmade import tell_unmade
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.findings import Finding, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Trial


def read_table(
    path: str | Path,
    *,
    measures: Mapping[str, str],
    set_point_measure: str,
    set_point_unit: str,
    sessions: Mapping[str, str],
    units: Mapping[str, str] | None = None,
    columns: Mapping[str, str | Sequence[str]] | None = None,
    combine: Mapping[str, str] | None = None,
    directions: str = "reciprocal",
    set_points: Sequence[float] = (),
    signed: Collection[str] = (),
    days: Mapping[str, date] | None = None,
    direction_words: Mapping[str, str] | None = None,
    dates: str = "year first",
    data: bytes | None = None,
    invented: bool = False,
) -> RunTable:
    """Read a run table.

    Parameters
    ----------
    path : path
        A .csv (.tsv, .txt), .xlsx (.xlsm) or .parquet file.
    measures : mapping
        Working unit of each declared measure.
    set_point_measure, set_point_unit : str
        What the set points are of, and their working unit.
    sessions : mapping
        Configuration of each session of the trial, by the session's id.
    units, columns : mapping, optional
        The trial's own: units of columns whose heading has none, headings of columns by name,
        several where each engine has a column.
    combine : mapping, optional
        "sum" or "mean" of the engines' columns, by measure.
    directions : str
        "reciprocal" or "one_way".
    set_points : sequence of float, optional
        Declared set points [set_point_unit], to tell thousands set apart from decimals.
    signed : collection of str, optional
        Measures that can be zero or negative in a run that is used, such as trim.
    days : mapping, optional
        Day of each session whose day is known.
    direction_words : mapping, optional
        The file's own words for `out` and `back`.
    dates : str
        How starts are written: "year first", "day first", "month first", "of the session".
    data : bytes, optional
        The table itself, where it stands in no file; findings then call it by `path`.
    invented : bool
        Whether the trial says that its figures are made up; else rows that say so are refused.

    Raises
    ------
    InputError
        With everything that keeps the table from being used, row by row, and what else was found.
    """
    problems = Problems(str(path))
    reciprocal = directions == "reciprocal"
    wanted = Wanted(measures, set_point_unit, units or {}, columns or {}, reciprocal, combine or {})
    grid = read_grid(Path(path), wanted.score, problems, data)
    header = find_header(grid.rows, wanted, problems)
    found, unknown = read_headings(header, wanted, problems)
    tell_unknown(unknown, found, header, wanted, problems)
    positive = {name for name in measures if name not in signed}
    if set_point_measure not in signed:
        positive.add("set_point")
    words = {word.casefold(): way for word, way in (direction_words or {}).items()}
    spans = {name: (wanted.unit(name), name) for name in (*measures, "duration")}
    spans["set_point"] = (set_point_unit, set_point_measure)
    rules = Rules(
        sessions, positive, set_points, reciprocal, words, dates, days or {}, spans, invented
    )
    rows = table_rows(grid, header, found, problems)
    if not sessions:
        # Told once, not once a row.
        problems.error(
            "no-sessions",
            "the trial names no session yet, so no run can belong to one",
            "write each session down in the trial, under 'sessions:', with its id and configuration",
            row=rows[0] if rows else header,
        )
        problems.stop_on_errors()
    runs = _read_runs(rows, found, wanted, rules, problems)
    _settle_starts(runs, problems)
    if reciprocal or "heading" in found:
        directions_from_headings(runs, problems)
    if "double_run" not in found and not problems.errors:
        number_double_runs(runs, reciprocal=reciprocal, problems=problems)
    check_double_runs(runs, reciprocal=reciprocal, problems=problems)
    check_copies(runs, problems)
    if not problems.errors:
        check_days(runs, days or {}, problems)
        _look_closer(runs, found, wanted, rules, problems)
    problems.stop_on_errors()
    working = {name: wanted.unit(name) for name in ("set_point", "heading", "duration", *measures)}
    return RunTable(_columns(runs, measures), working, grid.file, grid.sha256, problems.findings())


def _look_closer(
    runs: Sequence[Run],
    columns: Mapping[str, Column],
    wanted: Wanted,
    rules: Rules,
    problems: Problems,
) -> None:
    """What is only worth telling when every row could be read."""
    check_clock(runs, problems)
    check_blank_starts(runs, problems)
    check_blank_values(runs, problems)
    if "start" not in columns:
        problems.advice(
            "start-missing",
            "there is no column start: the rows are taken to stand in the order of the runs, and "
            "a drift through the day cannot be told from a change",
            "add a column start with date and time, such as 2026-05-04T09:12:00",
        )
    check_wild(runs, rules.positive, problems)
    check_sessions(runs, rules.sessions, problems)
    measured = {name: column for name, column in columns.items() if name in wanted.measures}
    check_rounding(runs, measured, problems)


def read_runs(trial: Trial, name: str | Path = "", data: bytes | None = None) -> RunTable:
    """Read a table of a trial's runs: the one that it names, or one that stands in no file.

    Parameters
    ----------
    trial : Trial
    name : str or Path
        What findings call a table that stands in no file.
    data : bytes, optional
        That table.

    Raises
    ------
    InputError
        With everything that keeps the table from being used.
    """
    protocol = trial.protocol
    declared = {name: protocol.measure(name) for name in protocol.measures}
    held = declared.get(protocol.set_point_measure) or MEASURES.get(protocol.set_point_measure)
    signed = {name for name, measure in declared.items() if measure.scale == "difference"}
    if held is not None and held.scale == "difference":
        signed.add(held.name)
    table = read_table(
        trial.folder / trial.runs if data is None else name,
        measures={name: measure.unit for name, measure in declared.items()},
        set_point_measure=protocol.set_point_measure,
        set_point_unit=protocol.set_point_unit,
        sessions={session.id: session.configuration for session in trial.sessions},
        units={each: unit for each, unit in trial.units.items() if each not in protocol.tried},
        columns={each: own for each, own in trial.columns.items() if each not in protocol.tried},
        combine={name: measure.combine for name, measure in declared.items()},
        directions=protocol.runs.directions,
        set_points=protocol.set_point_values,
        signed=signed,
        days={session.id: session.date for session in trial.sessions if session.date},
        direction_words=trial.directions,
        dates=trial.dates,
        data=data,
        invented=trial.invented,
    )
    return with_computed(table, protocol)


def _read_runs(
    rows: Sequence[Row],
    columns: Mapping[str, Column],
    wanted: Wanted,
    rules: Rules,
    problems: Problems,
) -> list[Run]:
    reader = RowReader(columns, wanted.measures, rules, problems)
    reader.settle_decimal_mark(rows)
    if "direction" in columns:
        reader.told_directions = tell_direction_words(rows, columns["direction"], rules, problems)
    runs = [run for row in rows if (run := reader.read(row)) is not None]
    tell_unmade(reader.unmade, runs, wanted.unit("set_point"), problems)
    if not problems.errors and not any(run.used for run in runs):
        problems.error(
            "no-runs",
            f"all {len(runs)} runs are set aside",
            "leave set_aside empty in the rows of runs that count",
        )
    elif not problems.errors and sum(run.used for run in runs) == 1:
        problems.warning(
            "one-run",
            f"the table has one run that is used (row {next(r for r in runs if r.used).row.number})"
            ": nothing can be compared",
            "add the other runs, one row a run",
        )
    return runs


def _settle_starts(runs: Sequence[Run], problems: Problems) -> None:
    stamped = [run for run in runs if run.start is not None]
    stamps = [(run.row, run.start) for run in stamped if run.start is not None]
    for run, start in zip(stamped, settle_zones(stamps, problems), strict=True):
        run.start = start
    check_midnights([(run.row, run.start) for run in stamped if run.start is not None], problems)


def no_runs(trial: Trial, why: str = "") -> RunTable:
    """A table without a run, for a trial that has something else to tell, and a warning that says so."""
    why = why or f"the trial names no runs and there is no '{trial.runs}'"
    protocol = trial.protocol
    measures = {name: protocol.measure(name).unit for name in protocol.measures}
    units = {"set_point": protocol.set_point_unit, "heading": "deg", "duration": "s", **measures}
    told_of = list(trial.beside) or ["manoeuvres"]  # without a table they come out of its logs
    told = Finding(
        f"{told_of[0]}-alone",
        Severity.WARNING,
        f"{why}: its {' and '.join(told_of)} are told alone, without the speed that the boat made and without the current",
        "name the table of runs under 'runs:', if there is one",
        trial.document.place(("trial",)),
    )
    return RunTable(_columns((), measures), units, "", "", (told,), in_file=False)


def _columns(runs: Sequence[Run], measures: Mapping[str, str]) -> dict[str, list[Any]]:
    """The runs column by column, as a run table has them."""
    data: dict[str, list[Any]] = {
        "row": [run.row.number for run in runs],
        "session": [run.session for run in runs],
        "configuration": [run.configuration for run in runs],
        "set_point": [run.set_point for run in runs],
        "double_run": [run.double_run for run in runs],
        "direction": [run.direction for run in runs],
        "heading": [run.heading for run in runs],
        "start": [run.start for run in runs],
        "duration": [run.duration for run in runs],
    }
    for name in measures:
        data[name] = [run.values.get(name, float("nan")) for run in runs]
    data["set_aside"] = [run.set_aside for run in runs]
    data["note"] = [run.note for run in runs]
    return data
