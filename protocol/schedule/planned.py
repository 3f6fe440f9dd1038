"""What a schedule is made of: sessions, runs and the circumstances that they have to respect."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Literal

from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.schedule.fuel_stops import Fuel

SetPointOrder = Literal["shuffled", "ascending", "descending"]


class ScheduleError(ValueError):
    """A trial that cannot be laid out as asked; carries its mend."""

    def __init__(self, message: str, fix: str) -> None:
        self.message, self.fix = message, fix
        super().__init__(message)


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What the schedule has to respect. The times assumed are common practice.

    Parameters
    ----------
    first_day : date or None
        None leaves the days numbered.
    opens, closes : time
        First and last light that runs may be made in.
    change : float
        To take one configuration off and fit the next. [s]
    turn : float
        From the end of a run to the start of the next: to turn and come back on the course. [s]
    fill : float
        To fill up with fuel. [s]
    course : float or None
        Heading of the runs out. [deg]
    """

    first_day: date | None = None
    opens: time = time(8, 0)
    closes: time = time(18, 0)
    change: float = 3600.0
    turn: float = 60.0
    fill: float = 1800.0
    course: float | None = None


@dataclass(frozen=True, slots=True)
class Seat:
    """A session before it has its runs: its name, what is fitted, and its day where that is set."""

    id: str
    configuration: str
    letter: str
    date: date | None = None


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """One run to be made.

    Parameters
    ----------
    number : int
        Within the session, from 1.
    set_point : float
        [Pattern.unit]
    double_run : int
        Within session and set point, from 1.
    direction : str
        "out" or "back".
    heading : float or None
        [deg]
    at : float
        From the start of the session to when the boat is on the course and settles. [s]
    fill_before : float
        Fuel to take in before this run. [L]
    """

    number: int
    set_point: float
    double_run: int
    direction: str
    heading: float | None
    at: float
    fill_before: float = 0.0


@dataclass(frozen=True, slots=True)
class PlannedSession:
    """One session to be run; `day` counts from 1, `lasts` is to the end of its last run. [s]"""

    id: str
    configuration: str
    letter: str
    day: int
    date: date | None
    begins: time
    lasts: float
    runs: tuple[PlannedRun, ...]
    fuel: float | None = None  # burned [L]
    fill_before: float = 0.0  # [L]
    fit_again: bool = False  # the session before, on the same day, had the same configuration

    def clock(self, seconds: float) -> time:
        """The time of day so long after the session's start."""
        return clock_of(seconds_of(self.begins) + seconds)

    @property
    def ends(self) -> time:
        """When its last run ends."""
        return self.clock(self.lasts)


@dataclass(frozen=True, slots=True)
class Pattern:
    """What a protocol says of the runs of a session."""

    set_points: tuple[float, ...]
    unit: str
    measure: str
    reciprocal: bool
    double_runs: int
    alternate: bool
    set_point_order: SetPointOrder
    settle: float
    record: float

    @classmethod
    def of(cls, protocol: Protocol) -> Pattern:
        """The pattern that a protocol declares."""
        runs = protocol.runs
        return cls(
            set_points=protocol.set_point_values,
            unit=protocol.set_point_unit,
            measure=protocol.set_point_measure,
            reciprocal=runs.directions == "reciprocal",
            double_runs=runs.double_runs,
            alternate=runs.first_direction == "alternate",
            set_point_order=runs.set_point_order,
            settle=runs.steady.settle.to("s").value,
            record=runs.steady.record.to("s").value,
        )

    @property
    def run_time(self) -> float:
        """At the set point, settling and recording. [s]"""
        return self.settle + self.record


@dataclass(frozen=True, slots=True)
class Schedule:
    """A trial laid out; the same protocol, seed and circumstances always give the same one."""

    seed: int
    pattern: Pattern
    circumstances: Circumstances
    by_day: bool
    sessions: tuple[PlannedSession, ...]
    fuel: Fuel | None = None
    notes: tuple[str, ...] = field(default=())

    @property
    def order(self) -> str:
        """The letters of the sessions in order."""
        return "".join(session.letter for session in self.sessions)

    @property
    def days(self) -> int:
        """How many days are needed."""
        return len({session.day for session in self.sessions})

    @property
    def runs(self) -> int:
        """How many runs there are in all."""
        return sum(len(session.runs) for session in self.sessions)


def seconds_of(clock: time) -> float:
    """A time of day as seconds after midnight."""
    return clock.hour * 3600.0 + clock.minute * 60.0 + clock.second


def clock_of(seconds: float) -> time:
    """Seconds after midnight as a time of day; past midnight it starts anew."""
    return (datetime.min + timedelta(seconds=seconds)).time()


def hours(seconds: float) -> str:
    """A length of time as people say it: "3 h 05 min".

    Examples
    --------
    >>> hours(11100.0), hours(2700.0)
    ('3 h 05 min', '45 min')
    """
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"
