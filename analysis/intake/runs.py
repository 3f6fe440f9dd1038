"""Runs as a table has them, and what they are read against."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from slackwater.analysis.intake.grid import Row


@dataclass(slots=True)
class Run:
    """One run as the table has it; all numbers in working units, NaN where there is none."""

    row: Row
    session: str
    configuration: str
    set_aside: str
    note: str = ""
    set_point: float = math.nan
    double_run: int = 0  # 0: not numbered
    direction: str = ""
    heading: float = math.nan
    start: datetime | None = None
    duration: float = math.nan
    values: dict[str, float] = field(default_factory=dict)

    @property
    def used(self) -> bool:
        """Whether the run takes part in the analysis."""
        return not self.set_aside


@dataclass(frozen=True, slots=True)
class Rules:
    """What a run is read against.

    Parameters
    ----------
    sessions : mapping
        Configuration of each session, by its id.
    positive : collection of str
        Measures, and the measure held at the set points as "set_point", that are above zero in
        every run that can be used.
    set_points : sequence of float
        Declared set points, in the working unit; empty when they are not known.
    reciprocal : bool
        Whether runs go both ways, so that each needs a direction.
    directions : mapping
        The file's own words for `out` and `back`, in small letters.
    dates : str
        How starts are written that are not year-month-day, as the trial's `dates` has it.
    days : mapping
        Day of each session whose day is known.
    rows_of_possible : mapping
        Working unit of each measure, of the duration and of the set point, and the row that says
        what values they can have at all.
    invented : bool
        Whether the trial says that its figures are made up; else no row may say so.
    """

    sessions: Mapping[str, str]
    positive: Collection[str]
    set_points: Sequence[float]
    reciprocal: bool
    directions: Mapping[str, str] = field(default_factory=dict)
    dates: str = "year first"
    days: Mapping[str, date] = field(default_factory=dict)
    rows_of_possible: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    invented: bool = False
