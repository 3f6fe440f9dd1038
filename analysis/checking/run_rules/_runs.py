"""What the rules on runs share: runs in the order made, double runs, and the place of a row."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from slackwater.analysis.intake.grid import excerpt
from slackwater.analysis.intake.problems import cell_column
from slackwater.analysis.intake.readers import by_suffix
from slackwater.analysis.intake.table_limits import SIZE_LIMIT
from slackwater.protocol.files.reading import read_bytes
from slackwater.protocol.findings import Place
from slackwater.protocol.units.quantity import Quantity, show_number

if TYPE_CHECKING:
    from slackwater.analysis.intake.rating_table import RatingTable
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.analysis.intake.tries import TryTable
    from slackwater.protocol.declared.trial import Trial

_EPOCH = datetime(1970, 1, 1)
_DELIMITERS = ",;\t|"


@dataclass(frozen=True, slots=True)
class RunMade:
    """A run, in plain Python: rules are quicker to read without frames.

    `start` is in seconds of the table's clock, NaN when absent; `values` holds what was measured.
    """

    row: int
    session: str
    configuration: str
    set_point: float
    double_run: int
    direction: str
    heading: float
    start: float
    duration: float
    used: bool
    values: dict[str, float]

    @property
    def end(self) -> float:
        """When it ended. [s]"""
        return self.start + (self.duration if math.isfinite(self.duration) else 0.0)


@dataclass(frozen=True, slots=True)
class DoubleRun:
    """The runs of one number at one set point in one session."""

    session: str
    configuration: str
    set_point: float
    number: int
    runs: tuple[RunMade, ...]

    @property
    def row(self) -> int:
        """The row of its first run."""
        return self.runs[0].row

    @property
    def used(self) -> bool:
        """Whether both directions are there and in use."""
        return self.pair() is not None

    def pair(self) -> tuple[RunMade, RunMade] | None:
        """Its runs out and back; None unless there is one of each in use."""
        used = [run for run in self.runs if run.used and run.direction]
        if len(used) != 2 or used[0].direction == used[1].direction:
            return None
        return (used[0], used[1]) if used[0].direction == "out" else (used[1], used[0])


@dataclass(frozen=True, slots=True, eq=False)
class _Of:
    """A table by its identity: frames have no hash, and every rule asks for the same table."""

    table: RunTable

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Of) and self.table is other.table

    def __hash__(self) -> int:
        return id(self.table)


def runs_of(table: RunTable) -> tuple[RunMade, ...]:
    """All runs of a table in the order of its rows."""
    return _runs_of(_Of(table))


@lru_cache(maxsize=1)
def _runs_of(key: _Of) -> tuple[RunMade, ...]:
    table = key.table
    columns = table.columns
    measures = [
        name
        for name in table.units
        if name not in ("set_point", "heading", "duration") and name in columns
    ]
    return tuple(
        RunMade(
            row=columns["row"][i],
            session=columns["session"][i],
            configuration=columns["configuration"][i],
            set_point=columns["set_point"][i],
            double_run=columns["double_run"][i],
            direction=columns["direction"][i],
            heading=columns["heading"][i],
            start=_seconds(columns["start"][i]),
            duration=columns["duration"][i],
            used=columns["set_aside"][i] == "",
            values={name: columns[name][i] for name in measures},
        )
        for i in range(len(table))
    )


def _seconds(start: datetime | None) -> float:
    """A time on the table's clock. [s]"""
    return math.nan if start is None else (start - _EPOCH).total_seconds()


def by_session(runs: Sequence[RunMade]) -> dict[str, list[RunMade]]:
    """The runs of each session in the order made: by the clock where every run has a start."""
    sessions: dict[str, list[RunMade]] = {}
    for run in runs:
        sessions.setdefault(run.session, []).append(run)
    for group in sessions.values():
        if all(math.isfinite(run.start) for run in group):
            group.sort(key=lambda run: run.start)
    return sessions


def sessions_of(table: RunTable) -> dict[str, list[RunMade]]:
    """The runs of each session of a table; made once, so that nobody may change them."""
    return _sessions_of(_Of(table))


@lru_cache(maxsize=1)
def _sessions_of(key: _Of) -> dict[str, list[RunMade]]:
    return by_session(runs_of(key.table))


def double_runs(group: Sequence[RunMade]) -> list[DoubleRun]:
    """The double runs of one session, in the order in which they began."""
    found: dict[tuple[float, int], list[RunMade]] = {}
    for run in group:
        if run.double_run and math.isfinite(run.set_point):
            found.setdefault((run.set_point, run.double_run), []).append(run)
    return [
        DoubleRun(runs[0].session, runs[0].configuration, set_point, number, tuple(runs))
        for (set_point, number), runs in found.items()
    ]


def all_double_runs(table: RunTable) -> dict[str, list[DoubleRun]]:
    """The double runs of every session; made once for a table, so that nobody may change them."""
    return _all_double_runs(_Of(table))


@lru_cache(maxsize=1)
def _all_double_runs(key: _Of) -> dict[str, list[DoubleRun]]:
    return {name: double_runs(group) for name, group in sessions_of(key.table).items()}


def set_point_text(trial: Trial, value: float) -> str:
    """A set point with its unit."""
    return str(Quantity(value, trial.protocol.set_point_unit))


def at_set_points(trial: Trial, values: Iterator[float] | Sequence[float]) -> list[str]:
    """Set points with their unit, each once, in ascending order."""
    return [set_point_text(trial, value) for value in sorted(set(values))]


def nearest_declared(trial: Trial, value: float) -> float | None:
    """The declared set point that a run's set point is, to rounding; None when it is none."""
    for declared in trial.protocol.set_point_values:
        if abs(declared - value) <= 1e-6 * max(abs(declared), abs(value)):
            return declared
    return None


def speed_measure(trial: Trial) -> str:
    """The measure that tells the speed; empty when none does."""
    names = ("speed_over_ground", "speed_through_water")
    return next((name for name in names if name in trial.protocol.told), "")


def row_place(
    trial: Trial, table: RunTable | RatingTable | TryTable, row: int, name: str = ""
) -> Place:
    """The place of a row, and of one of its cells where the table is a text file."""
    lines = _lines(table.file, table.sha256)
    if not 0 < row <= len(lines):
        return Place(table.file, row)
    text = lines[row - 1]
    own = trial.columns.get(name, name)
    column = _column(lines, row, own if isinstance(own, str) else own[0]) if name else None
    return Place(table.file, row, column, excerpt(text))


@lru_cache(maxsize=4)
def _lines(file: str, sha256: str) -> tuple[str, ...]:
    reader = by_suffix(file)
    if reader is None or not reader.textual:
        return ()
    try:
        text = read_bytes(file, SIZE_LIMIT).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return ()  # in an older encoding; the row number has to do
    return tuple(text.splitlines())


def _column(lines: Sequence[str], row: int, name: str) -> int | None:
    for line in lines[: row - 1]:
        delimiter = max(_DELIMITERS, key=line.count)
        heads = next(csv.reader([line], delimiter=delimiter), [])
        folded = [head.split("[")[0].strip().replace(" ", "_").casefold() for head in heads]
        wanted = name.split("[")[0].strip().replace(" ", "_").casefold()
        if wanted in folded:
            return cell_column(lines[row - 1], delimiter, folded.index(wanted))
    return None


def number(value: float) -> str:
    """A number to five digits, as messages show it."""
    return show_number(float(f"{value:.5g}"))
