"""A session's values are a known factor away from the others'."""

from __future__ import annotations

import math
from statistics import median

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    row_place,
    sessions_of,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import several_sessions
from slackwater.protocol.units.quantity import conversion, same_dimension

CLOSE = 0.06  # how near to a factor, as a fraction
PLAIN = 0.1  # a shift smaller than this is no other unit
SPREAD = 0.1  # largest difference between the shifts of one session's set points
UNITS = ("kn", "km/h", "mph", "m/s", "L/h", "gal/h", "imp_gal/h", "L/min", "kW", "hp", "rpm")


def factors(unit: str) -> dict[str, float]:
    """What a value in `unit` is multiplied by when it is written in another unit or by half."""
    known = {
        f"in {other}": conversion(unit, other)
        for other in UNITS
        if other != unit and same_dimension(other, unit)
    }
    return known | {"of one engine of two": 0.5, "counted twice": 2.0}


def shifts(trial: Trial, runs: RunTable, name: str) -> dict[str, float]:
    """For each session, its values over those of the other sessions; left out where uneven."""
    cells: dict[str, dict[float, list[float]]] = {}
    for session, group in sessions_of(runs).items():
        for run in group:
            value = run.values.get(name, math.nan)
            if run.used and value > 0:
                cells.setdefault(session, {}).setdefault(run.set_point, []).append(value)
    middles = {
        session: {point: median(values) for point, values in points.items()}
        for session, points in cells.items()
    }
    found = {}
    fitted = {session.id: session.configuration for session in trial.sessions}
    for session, points in middles.items():
        logs = []
        for point, value in points.items():
            others = [m[point] for s, m in middles.items() if s != session and point in m]
            alike = [
                m[point]
                for s, m in middles.items()
                if s != session and point in m and fitted[s] == fitted[session]
            ]
            others = alike or others
            if others:
                logs.append(math.log(value / median(others)))
        if logs and max(logs) - min(logs) <= SPREAD:
            found[session] = math.exp(median(logs))
    return found


def check(trial: Trial, runs: RunTable) -> Found:
    protocol = trial.protocol
    first = {name: group[0].row for name, group in sessions_of(runs).items()}
    for name in protocol.measures:
        measure = protocol.measure(name)
        if measure.scale != "ratio" or name == protocol.set_point_measure:
            continue
        for session, shift in shifts(trial, runs, name).items():
            if abs(math.log(shift)) <= PLAIN:
                continue
            near = {
                words: abs(math.log(shift / factor))
                for words, factor in factors(measure.unit).items()
                if abs(math.log(shift / factor)) <= CLOSE
            }
            if not near:
                continue
            words = min(near, key=lambda one: near[one])
            yield RULE.found(
                row_place(trial, runs, first[session], name),
                f"session {session}: {name} is {shift:.3g} times that of the other sessions at "
                f"every set point, as if it were {words}{touched(trial, [session])}",
                session=session,
            )


RULE = RunsRule(
    id="units-mixed",
    severity=Severity.ERROR,
    title="A session's values are a known factor away from the others'.",
    looks_at=(
        "runs: session",
        "protocol.measures",
    ),
    why=(
        "A log set to another unit, or one engine of two, shifts every value of a session by "
        "one factor. No change to a boat does that at every set point."
    ),
    fix="bring the values to the unit of the column, or give them a column of their own",
    source=(
        "definitions of the units: 1 kn = 1.852 km/h = 1.1508 mph, 1 m/s = 1.9438 kn, 1 US "
        "gal = 3.7854 L, 1 imp. gal = 4.5461 L"
    ),
    passes=Example(protocol="runs: {double_runs: 2}"),
    fails=Example(
        runs="""\
S2,1000,1,out,2026-05-06T08:30:00,60,6.91,1000,2.13,,
S2,1000,1,back,2026-05-06T08:32:30,60,5.08,1000,2.14,,
S2,1000,2,back,2026-05-06T08:35:00,60,5.12,1000,2.11,,
S2,1000,2,out,2026-05-06T08:37:30,60,6.89,1000,2.12,,
S2,2000,1,out,2026-05-06T08:40:00,60,12.71,2000,5.83,,
S2,2000,1,back,2026-05-06T08:42:30,60,10.88,2000,5.81,,
S2,2000,2,back,2026-05-06T08:45:00,60,10.91,2000,5.82,,
S2,2000,2,out,2026-05-06T08:47:30,60,12.69,2000,5.84,,
"""
    ),
    check=check,
    needs=(several_sessions,),
)
