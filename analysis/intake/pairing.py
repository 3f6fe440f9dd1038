"""Runs to double runs: directions from headings, and numbers where the table has none."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.runs import Run

TOLERANCE = 10.0  # [deg] off the reciprocal heading; common practice


def directions_from_headings(runs: Sequence[Run], problems: Problems) -> None:
    """Give every run without a direction the one that its heading shows.

    Notes
    -----
    Within a session the course is the axis through the headings: half the direction of the mean
    of the doubled angles, in which a heading and its reciprocal are the same. Which end of it is
    `out` follows the first run of the file with a heading, so that all sessions agree.
    """
    open_runs = [r for r in runs if not r.direction and not math.isnan(r.heading)]
    if not open_runs:
        return
    reference = _reference(runs)
    sessions: dict[str, list[float]] = defaultdict(list)
    for run in runs:
        if not math.isnan(run.heading):
            sessions[run.session].append(run.heading)
    axes = {session: _axis(headings, reference) for session, headings in sessions.items()}
    for run in open_runs:
        run.direction = "out" if abs(_turn(axes[run.session], run.heading)) <= 90 else "back"
    shown = sorted({round(axis) % 360 for axis in axes.values()})
    problems.advice(
        "direction-from-heading",
        f"directions were taken from the headings: out is about "
        f"{', '.join(f'{axis:03d}' for axis in shown[:6])} deg",
        "add a column direction (out, back) where that is not so",
    )


def _reference(runs: Sequence[Run]) -> float:
    """A heading that is out: of the first run that says so, else of the first one. [deg]"""
    first = math.nan
    for run in runs:
        if math.isnan(run.heading):
            continue
        if run.direction:
            return run.heading if run.direction == "out" else (run.heading + 180) % 360
        if math.isnan(first):
            first = run.heading
    return first


def _axis(headings: Sequence[float], reference: float) -> float:
    """The end of the course that lies nearer to the reference. [deg]"""
    doubled = [math.radians(2 * heading) for heading in headings]
    across, along = sum(map(math.sin, doubled)), sum(map(math.cos, doubled))
    if math.hypot(across, along) < 1e-9 * len(headings):
        return reference  # headings all round the compass have no axis
    axis = math.degrees(math.atan2(across, along)) / 2 % 360
    return axis if abs(_turn(reference, axis)) <= 90 else (axis + 180) % 360


def _turn(start: float, end: float) -> float:
    """The turn from one heading to another, -180 to 180. [deg]"""
    return (end - start + 180) % 360 - 180


def number_double_runs(runs: Sequence[Run], *, reciprocal: bool, problems: Problems) -> None:
    """Number the double runs of a table that has no column for them.

    Within session and set point the runs are taken in the order of time: a run and the next one
    used in the other direction make a double run; one that is followed by its own direction stays
    alone. A run that is set aside takes no partner away: it gets the number that is open then.
    """
    groups: dict[tuple[str, float], list[Run]] = defaultdict(list)
    for run in runs:
        if not math.isnan(run.set_point):
            groups[run.session, run.set_point].append(run)
    by_clock = all(run.start is not None for run in runs)
    for group in groups.values():
        if by_clock:
            group.sort(key=lambda run: run.start.timestamp() if run.start else 0.0)
        _number(group, reciprocal=reciprocal)
    order = "by their start" if by_clock else "in the order of the rows"
    how = "paired, out with back" if reciprocal else "numbered"
    problems.advice(
        "double-run-paired",
        f"there is no column double_run; the runs of each session and set point were {how}, "
        f"{order}",
        "add a column double_run where runs belong together otherwise",
    )


def _number(group: Sequence[Run], *, reciprocal: bool) -> None:
    number, waiting = 1, ""
    for run in group:
        if run.used and waiting and (not reciprocal or waiting == run.direction):
            number, waiting = number + 1, ""
        run.double_run = number
        if not run.used:
            continue
        if waiting:
            number, waiting = number + 1, ""
        else:
            waiting = run.direction or "either"


def check_double_runs(runs: Sequence[Run], *, reciprocal: bool, problems: Problems) -> None:
    """Tell double runs with a direction twice, with one direction only, or not reciprocal."""
    whole = not problems.errors  # else partners may be among the rows that could not be read
    double_runs: dict[tuple[str, float, int], list[Run]] = defaultdict(list)
    for run in runs:
        if run.double_run and not math.isnan(run.set_point) and (run.direction or not reciprocal):
            double_runs[run.session, run.set_point, run.double_run].append(run)
    for group in double_runs.values():
        used = [run for run in group if run.used]
        seen: dict[str, Run] = {}
        for run in used:
            if run.direction in seen:
                _tell_twice(run, seen[run.direction], problems)
            else:
                seen[run.direction] = run
        if not whole:
            continue
        if reciprocal and len(seen) == 1:
            _tell_half(used[0], group, problems)
        elif len(seen) == 2 and len(used) == 2:
            _check_reciprocal(used[0], used[1], problems)


def _where(run: Run) -> str:
    return f"session {run.session}, set point {run.set_point:g}, double run {run.double_run}"


def _tell_twice(run: Run, first: Run, problems: Problems) -> None:
    which = f"direction {run.direction}" if run.direction else "the same run"
    problems.error(
        "run-twice",
        f"row {run.row.number} is {which} of {_where(run)} again, after row {first.row.number}",
        "correct double_run or direction; if the run was repeated, give the reason in set_aside "
        "for the one that does not count",
        row=run.row,
        session=run.session,
    )


def _tell_half(run: Run, group: Sequence[Run], problems: Problems) -> None:
    other = "back" if run.direction == "out" else "out"
    aside = [r for r in group if not r.used and r.direction == other]
    why = f": row {aside[0].row.number} is set aside" if aside else ""
    problems.warning(
        "run-without-partner",
        f"row {run.row.number} ({_where(run)}, {run.direction}) has no partner {other}{why}; alone "
        "it cannot tell speed through the water from current",
        "correct double_run or direction where the partner is in the table",
        row=run.row,
        session=run.session,
    )


def _check_reciprocal(one: Run, other: Run, problems: Problems) -> None:
    off = 180 - abs(_turn(one.heading, other.heading))
    if not off > TOLERANCE:  # also when a heading is NaN
        return
    problems.warning(
        "headings-not-reciprocal",
        f"rows {one.row.number} and {other.row.number} head {one.heading:g} and "
        f"{other.heading:g} deg, {off:g} deg off the reciprocal: their mean keeps part of the "
        "current",
        "correct the heading, or set the double run aside with the reason",
        row=other.row,
        session=other.session,
        source="common practice",
    )
