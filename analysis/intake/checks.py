"""What a table of runs shows only when its rows are held against each other."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

from slackwater.analysis.intake.headings import Column
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.runs import Run

WILD = 3.0  # times the median of the same set point; no current and no trim does that
FEW_RUNS = 12  # in use, below which medians of the trial as a whole say little
COARSE_STEP = 0.5  # [unit of the file]
FEWEST = 4  # values below which rounding cannot be told from chance
ROLLOVER = 7 * 1024  # [days]; the week counter of satellite time has ten bits (IS-GPS-200)
MEASURED_ENOUGH = 3  # measures that must all agree before equal rows without a start are copies


def check_copies(runs: Sequence[Run], problems: Problems) -> None:
    """Tell rows that are copies of others: they would make the trial look surer than it is.

    With equal starts and equal measured values a row is a copy. Without a start two runs can
    agree by chance, so that all cells have to be equal, and enough of them measured.
    """
    seen: dict[tuple[object, ...], Run] = {}
    for run in runs:
        values = tuple(run.values.values())
        filled = sum(not math.isnan(value) for value in values)
        if not run.used or not filled:
            continue
        shown = tuple("" if math.isnan(value) else value for value in values)
        key: tuple[object, ...] = (run.start, *shown)
        if run.start is None:
            key = (run.session, run.set_point, run.direction, *shown)
        first = seen.setdefault(key, run)
        if first is run:
            continue
        message = (
            f"row {run.row.number} has the same start and measured values as row {first.row.number}"
        )
        fix = "delete the copy, or give the reason in set_aside"
        sure = True
        if run.start is None:
            message = f"row {run.row.number} has the same measured values as row {first.row.number}"
            fix += "; if it is another run, give each run its start"
            sure = run.row.cells == first.row.cells and filled >= MEASURED_ENOUGH
        tell = problems.error if sure else problems.warning
        tell(
            "row-copied",
            f"{message}: it looks copied",
            fix,
            row=run.row,
            session=run.session,
        )


def check_clock(runs: Sequence[Run], problems: Problems) -> None:
    """Tell, session by session, a clock that steps back and runs that overlap."""
    sessions: dict[str, list[Run]] = defaultdict(list)
    for run in runs:
        if run.used and run.start is not None:
            sessions[run.session].append(run)
    for session, group in sessions.items():
        _check_backwards(session, group, problems)
        _check_overlaps(group, problems)


def _check_backwards(session: str, group: Sequence[Run], problems: Problems) -> None:
    steps = [
        (before, after)
        for before, after in pairwise(group)
        if before.start and after.start and after.start < before.start
    ]
    if not steps:
        return
    before, after = steps[0]
    back = (before.start or after.start) - after.start if after.start else timedelta()
    assumed = "the rows may be sorted, or the clock was set in between"
    if timedelta(hours=20) < back <= timedelta(hours=24):
        assumed = "past midnight the date has to go up by a day"
    more = f" (and {len(steps) - 1} more steps back in this session)" if len(steps) > 1 else ""
    problems.warning(
        "clock-backwards",
        f"row {after.row.number} starts {back} before row {before.row.number}, the row of the same "
        f"session above it{more}; {assumed}",
        "keep the rows in the order of the runs, and correct the starts that are wrong",
        row=after.row,
        session=session,
    )


def _check_overlaps(group: Sequence[Run], problems: Problems) -> None:
    ordered = sorted((r.start, n, r) for n, r in enumerate(group) if r.start is not None)
    for (start, _, run), (following, _, other) in pairwise(ordered):
        gap = (following - start).total_seconds()
        if gap == 0:
            message = f"rows {run.row.number} and {other.row.number} start at the same instant"
        elif gap < run.duration:  # False when the duration is NaN
            message = (
                f"row {other.row.number} starts {gap:g} s after row {run.row.number}, whose "
                f"duration is {run.duration:g} s: they overlap"
            )
        else:
            continue
        problems.warning(
            "runs-overlap",
            message,
            "correct the start or the duration",
            row=other.row,
            session=other.session,
        )


def check_days(runs: Sequence[Run], days: Mapping[str, date], problems: Problems) -> None:
    """Tell, session by session, starts on another day than the trial gives the session."""
    told: set[str] = set()
    for run in runs:
        day = days.get(run.session)
        if day is None or run.start is None or not run.used or run.session in told:
            continue
        off = (run.start.date() - day).days
        if -1 <= off <= 1:  # past midnight, or another zone
            continue
        told.add(run.session)
        cause = ""
        if abs(abs(off) - ROLLOVER) <= 1:
            cause = "; that is 1024 weeks, after which an old receiver counts from the start again"
        problems.warning(
            "start-other-day",
            f"row {run.row.number} starts on {run.start.date()}, but the trial dates session "
            f"{run.session} {day}{cause}",
            "correct the start in the table or the date in the trial",
            row=run.row,
            session=run.session,
        )


def check_wild(runs: Sequence[Run], positive: Collection[str], problems: Problems) -> None:
    """Tell values that lie far from all others at the same set point, in a table of a few runs.

    Where there are more, `run_rules/_doubtful.py` knows better.
    """
    if sum(run.used for run in runs) >= FEW_RUNS:
        return
    groups: dict[tuple[str, float], list[Run]] = defaultdict(list)
    for run in runs:
        for name, value in run.values.items():
            if run.used and name in positive and value > 0:
                groups[name, run.set_point].append(run)
    for (name, set_point), group in groups.items():
        if len(group) < 3:
            continue
        middle = median(run.values[name] for run in group)
        for run in group:
            value = run.values[name]
            if middle / WILD <= value <= middle * WILD:
                continue
            problems.warning(
                "value-wild",
                f"row {run.row.number}, {name}: {value:g} lies far from the other runs at set "
                f"point {set_point:g}, whose median is {middle:g}",
                "correct it, or give the reason in set_aside",
                row=run.row,
                session=run.session,
                source="common practice",
            )


def check_rounding(runs: Sequence[Run], columns: Mapping[str, Column], problems: Problems) -> None:
    """Tell speeds that were all rounded to halves: their spread is then that of the display."""
    for name, column in columns.items():
        if not name.startswith("speed_"):
            continue
        shown = [
            (run.values[name] - column.offset) / column.slope
            for run in runs
            if run.used and not math.isnan(run.values[name])
        ]
        steps = [value / COARSE_STEP for value in shown]
        if len(shown) >= FEWEST and all(abs(step - round(step)) < 1e-6 for step in steps):
            problems.advice(
                "speed-rounded",
                f"all {len(shown)} values of {name} are multiples of {COARSE_STEP:g} "
                f"{column.unit}: the spread between runs is hidden by the rounding",
                "take the averages from a log with more digits, or count the rounding into the "
                f"standard uncertainty ({COARSE_STEP / math.sqrt(12):.2f} {column.unit})",
            )


def check_blank_values(runs: Sequence[Run], problems: Problems) -> None:
    """Tell, measure by measure, runs in use that have no value."""
    used = [run for run in runs if run.used]
    for name in used[0].values if used else ():
        blank = [run for run in used if math.isnan(run.values[name])]
        if blank:
            problems.advice(
                "value-missing",
                f"{len(blank)} of {len(used)} runs have no {name} ({_row_list(blank)}); they are "
                "left out wherever it is needed",
                "fill it in where it was measured",
                row=blank[0].row,
            )


def _row_list(runs: Sequence[Run]) -> str:
    shown = ", ".join(str(run.row.number) for run in runs[:12])
    return f"{'rows' if len(runs) > 1 else 'row'} {shown}" + (
        f" and {len(runs) - 12} more" if len(runs) > 12 else ""
    )


def check_blank_starts(runs: Sequence[Run], problems: Problems) -> None:
    """Tell runs without a start beside others that have one."""
    blank = [run for run in runs if run.used and run.start is None]
    if not blank or len(blank) == sum(run.used for run in runs):
        return
    problems.warning(
        "start-missing",
        f"{len(blank)} runs have no start ({_row_list(blank)}), the others have: the order of "
        "time cannot be told",
        "fill in the start, as near as it is known",
        row=blank[0].row,
    )


def check_sessions(runs: Sequence[Run], sessions: Mapping[str, str], problems: Problems) -> None:
    """Tell sessions and configurations of the trial that the table has no run of."""
    sailed = {run.session for run in runs if run.used}
    idle = [session for session in sessions if session not in sailed]
    if not idle:
        return
    without = set(sessions.values()) - {sessions[session] for session in sailed}
    lost = f"; configuration {', '.join(sorted(without))} has none at all" if without else ""
    problems.warning(
        "session-without-runs",
        f"no run in use belongs to {len(idle)} of the trial's {len(sessions)} sessions "
        f"({', '.join(idle[:12])}{', …' if len(idle) > 12 else ''}){lost}",
        "add their runs, or take the sessions out of the trial",
    )
