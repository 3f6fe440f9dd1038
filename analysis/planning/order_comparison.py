"""A schedule against the naive order, on simulated drift and tide, through the way of any trial.

Nothing differs between the two configurations in these simulations, and no noise is put in: what
the analysis reports as a change is what the order let through of the drift or of the tide.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.making import Instrument, SweepAxis, measured
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.reduction.reduction import reduce_runs, take_current_out
from slackwater.analysis.verdict.judgement import judge_sweep
from slackwater.analysis.verdict.terms import Terms
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.schedule.making import session_draft
from slackwater.protocol.schedule.planned import PlannedSession, Schedule, Seat, seconds_of

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

SIZE = 0.01  # of each drift, over its whole length [1]
TIDE = 1.0  # amplitude along the course [kn]
TIDE_PERIOD = 12.42 * 3600  # [s], the principal lunar semidiurnal tide
PHASES = 6  # of the tide that are tried; the worst counts
SPEEDS = (8.0, 30.0)  # invented: at the lowest and the highest set point [kn]
SOME_DAY = date(2001, 1, 1)  # for a schedule without dates; only differences count


@dataclass(frozen=True, slots=True)
class Row:
    """What one disturbance does to the change that is reported.

    Parameters
    ----------
    disturbance : str
        In words.
    planned, naive : float
        Root mean square over the set points of the change in speed that is reported where there
        is none, in the order planned and in the naive one; for the row on the curve, of what the
        mean of all sessions strays from the true curve, apart from its level. [fraction]
    """

    disturbance: str
    planned: float
    naive: float


@dataclass(frozen=True, slots=True)
class _Clock:
    """When every run of a table is made, as the disturbances see it."""

    seconds: Array  # since midnight of the first day
    trial: Array  # 0 at the first run of the trial, 1 at the last
    session: Array  # 0 at the first run of its session, 1 at the last


def naive_order(schedule: Schedule) -> Schedule:
    """The same days and hours, used as a trial is often run.

    All sessions with one configuration before any with the next, set points upward in each, and
    every double run out first.
    """
    pattern = replace(schedule.pattern, alternate=False, set_point_order="ascending")
    fitted = sorted((s.letter, s.configuration) for s in schedule.sessions)
    upward = sorted(range(len(pattern.set_points)), key=pattern.set_points.__getitem__)
    sessions = []
    for session, (letter, configuration) in zip(schedule.sessions, fitted, strict=True):
        seat = Seat(session.id, configuration, letter, session.date)
        draft = session_draft(seat, pattern, upward, 0, schedule.circumstances, schedule.fuel)
        sessions.append(
            replace(session, letter=letter, configuration=configuration, runs=draft.runs)
        )
    return replace(schedule, pattern=pattern, sessions=tuple(sessions))


def compare_orders(schedule: Schedule, current: str) -> tuple[Row, ...]:
    """What drift and tide do to the comparison, in the order planned and in the naive one.

    Parameters
    ----------
    schedule : Schedule
    current : str
        How the protocol takes the current out.

    Returns
    -------
    tuple of Row
        Empty where fewer than two configurations are compared, or where the runs go one way and
        give no speed through the water.
    """
    if len(set(schedule.order)) < 2 or not schedule.pattern.reciprocal:
        return ()
    orders = (_Simulation(schedule, current), _Simulation(naive_order(schedule), current))
    rows = []
    percent = f"{SIZE:.0%}".replace("%", " %")
    for title, drift in (
        (f"speed drifts by {percent} through the trial, evenly", lambda c: c.trial),
        (f"speed drifts by {percent} through the trial, faster and faster", lambda c: c.trial**2),
        (f"speed drifts by {percent} through each session", lambda c: c.session),
        (
            f"the same, and more from session to session (up to {percent})",
            lambda c: c.trial * c.session,
        ),
    ):
        planned, naive = (order.drifting(drift) for order in orders)
        rows.append(Row(title, planned, naive))
    if len(schedule.pattern.set_points) > 2:
        planned, naive = (order.bent(lambda c: c.session) for order in orders)
        title = f"curve along the set points, speed drifting by {percent} through each session"
        rows.append(Row(title, planned, naive))
    planned, naive = (order.in_tide() for order in orders)
    rows.append(Row(f"tide of {TIDE:g} kn along the course, worst hour", planned, naive))
    return tuple(rows)


class _Simulation:
    """Run tables of one schedule, and the change that the analysis finds in them."""

    def __init__(self, schedule: Schedule, current: str) -> None:
        self.schedule = schedule
        frame, self.clock = _table(schedule)
        self.sorted = reduce_runs(frame, method=current, one_way=False)
        level = np.interp(frame["set_point"], *self._axis())
        self.through: Array = np.asarray(level, dtype=np.float64)
        self.sign = np.where(frame["direction"] == "out", 1.0, -1.0)
        self.fitted = {session.id: session.letter for session in schedule.sessions}

    def drifting(self, drift: Callable[[_Clock], Array]) -> float:
        """The change reported when speed through the water drifts."""
        return self._change(self.through * np.exp(SIZE * drift(self.clock)))

    def in_tide(self) -> float:
        """The change reported in a tide, at the worst of the phases tried."""
        found = []
        for phase in np.arange(PHASES) * 2 * np.pi / PHASES:
            tide = TIDE * np.sin(2 * np.pi * self.clock.seconds / TIDE_PERIOD + phase)
            found.append(self._change(self.through + self.sign * tide))
        return max(found)

    def bent(self, drift: Callable[[_Clock], Array]) -> float:
        """How far a drift bends the curve along the set points, mean of all sessions."""
        table = self._session_values(self.through * np.exp(SIZE * drift(self.clock)))
        true = np.interp(table.positions, *self._axis())
        off = np.nanmean(table.on_scale(), axis=0) - np.log(true)
        return float(np.std(off))

    def _axis(self) -> tuple[list[float], tuple[float, float]]:
        points = sorted(self.schedule.pattern.set_points)
        return [points[0], points[-1] + 1e-9], SPEEDS

    def _session_values(self, over_ground: Array) -> SessionValues:
        pattern = self.schedule.pattern
        frame = self.sorted.frame.assign(speed_over_ground=over_ground)
        reduction = take_current_out(replace(self.sorted, frame=frame))
        values = measured(
            reduction,
            {"speed_over_ground": MEASURES["speed_over_ground"]},
            {"speed_over_ground": Instrument("kn")},
            SweepAxis(pattern.measure, pattern.unit),
            tuple(self.fitted),
        )
        return values["speed"]

    def _change(self, over_ground: Array) -> float:
        table = self._session_values(over_ground)
        letters = list(self.fitted.values())
        baseline, modified = sorted(set(letters))[:2]
        judged = judge_sweep(table, letters, baseline, modified, Terms(simultaneous=False))
        changes = [row.change for row in judged.rows if row.change is not None]
        return float(np.sqrt(np.mean(np.square(changes))))


def _table(schedule: Schedule) -> tuple[pd.DataFrame, _Clock]:
    """The run table of a schedule as the intake would hand it on, speeds still to come."""
    import pandas as pd

    pattern = schedule.pattern
    rows, seconds, inside = [], [], []
    for session in schedule.sessions:
        midnight = _midnight(session)
        own = [run.at for run in session.runs]
        for run in session.runs:
            clock = seconds_of(session.begins) + run.at + pattern.settle
            start = midnight + timedelta(seconds=clock)
            rows.append((session.id, run.set_point, run.double_run, run.direction, start))
            seconds.append(
                (start - datetime.combine(SOME_DAY, datetime.min.time())).total_seconds()
            )
            inside.append(run.at / own[-1] if own[-1] else 0.0)
    frame = pd.DataFrame(
        rows, columns=["session", "set_point", "double_run", "direction", "start"]
    ).assign(row=np.arange(2, len(rows) + 2), heading=np.nan, duration=pattern.record, set_aside="")
    frame["start"] = frame["start"].astype("datetime64[ns]")
    when = np.array(seconds)
    length = max(float(np.ptp(when)), 1.0)
    return frame, _Clock(when, (when - when.min()) / length, np.array(inside))


def _midnight(session: PlannedSession) -> datetime:
    day = session.date or SOME_DAY + timedelta(days=session.day - 1)
    return datetime.combine(day, datetime.min.time())


def as_text(rows: Sequence[Row]) -> list[str]:
    """The table as lines of plain text."""
    if not rows:
        return []
    width = max(len(row.disturbance) for row in rows)
    head = f"{'':<{width}}  this order  naive order"
    return [
        head,
        *(
            f"{row.disturbance:<{width}}  {100 * row.planned:8.2f} %  {100 * row.naive:9.2f} %"
            for row in rows
        ),
    ]
