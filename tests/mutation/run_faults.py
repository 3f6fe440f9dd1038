"""Faults of a table of runs: rows dropped and copied, clocks shifted, directions flipped."""

from __future__ import annotations

import random
from datetime import datetime, timedelta

from mutant import Fault, Mutant, Subject
from trial_parts import (
    ASIDE,
    DURATION,
    FLOW,
    NUMBER,
    POINT,
    RPM,
    SESSION,
    SOG,
    START,
    WAY,
    of_trial,
    rows_of,
    sessions_of,
)


def _pair(
    rows: list[list[str]], rng: random.Random, *, clean: bool = True
) -> list[list[str]] | None:
    """The two rows of one double run; `clean`: neither set aside."""
    row = rng.choice(rows)
    both = [other for other in rows if other[:3] == row[:3]]
    return None if len(both) != 2 or (clean and any(r[ASIDE] for r in both)) else both


def _shift(row: list[str], **by: float) -> None:
    row[START] = (datetime.fromisoformat(row[START]) + timedelta(**by)).isoformat()


def double_run_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    both = _pair(rows, rng, clean=False)
    if both is None:
        return None
    kept = [row for row in rows if row not in both]
    return of_trial("double run dropped", ",".join(both[0][:3]), subject, kept, "runs-missing")


def run_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rows.pop(rng.randrange(len(rows)))
    if row[ASIDE]:
        return None
    rules = ("run-without-partner", "runs-missing")
    return of_trial("run dropped", ",".join(row[:4]), subject, rows, *rules)


def set_point_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rng.choice(rows)
    kept = [other for other in rows if other[:2] != row[:2]]
    return of_trial("set point dropped", ",".join(row[:2]), subject, kept, "runs-missing")


def runs_of_session_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    session = rng.choice(sessions_of(subject))["id"]
    kept = [row for row in rows_of(subject) if row[SESSION] != session]
    return of_trial("runs of session dropped", session, subject, kept, "session-without-runs")


def directions_flipped(subject: Subject, rng: random.Random) -> Mutant | None:
    """Out and back exchanged where there was a current of half a knot at least."""
    rows = rows_of(subject)
    both = _pair(rows, rng)
    if both is None or abs(float(both[0][SOG]) - float(both[1][SOG])) < 1.0:
        return None
    for row in both:
        row[WAY] = "back" if row[WAY] == "out" else "out"
    return of_trial(
        "directions flipped", ",".join(both[0][:3]), subject, rows, "direction-doubtful"
    )


def direction_flipped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    row[WAY] = "back" if row[WAY] == "out" else "out"
    return of_trial("direction flipped", ",".join(row[:4]), subject, rows, "run-twice")


def same_direction_first(subject: Subject, rng: random.Random) -> Mutant | None:
    """One session with every double run out first: the starts of each pair exchanged."""
    rows = rows_of(subject)
    session = rng.choice(sessions_of(subject))["id"]
    first = rng.choice(["out", "back"])
    for row in rows:
        if row[SESSION] != session:
            continue
        (other,) = [r for r in rows if r[:3] == row[:3] and r is not row]
        if row[WAY] == first and row[START] > other[START]:
            row[START], other[START] = other[START], row[START]
    about = f"{session} {first}"
    return of_trial("same direction first", about, subject, rows, "first-direction")


def ascending(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    session = rng.choice(sessions_of(subject))["id"]
    mine = [row for row in rows if row[SESSION] == session]
    starts = sorted(row[START] for row in mine)
    order = sorted(mine, key=lambda row: (float(row[POINT]), row[START]))
    if rng.random() < 0.5:
        order = sorted(mine, key=lambda row: (-float(row[POINT]), row[START]))
    for row, start in zip(order, starts, strict=True):
        row[START] = start
    others = [row for row in rows if row[SESSION] != session]
    return of_trial("set points in order", session, subject, [*others, *order], "set-point-order")


def clock_set(subject: Subject, rng: random.Random) -> Mutant | None:
    """From some run on the clock of a session is ahead, as by a change of zone."""
    rows = rows_of(subject)
    session = rng.choice(sessions_of(subject))["id"]
    mine = [row for row in rows if row[SESSION] == session]
    at, minutes = rng.randrange(2, len(mine) - 1), rng.choice([45, 60, 75, 90, 120, 180])
    for row in mine[at:]:
        _shift(row, minutes=minutes)
    return of_trial("clock set ahead", f"{session} {minutes} min", subject, rows, "clock-jump")


def clock_set_back(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    session = rng.choice(sessions_of(subject))["id"]
    mine = [row for row in rows if row[SESSION] == session]
    at, minutes = rng.randrange(2, len(mine) - 1), rng.choice([10, 30, 60, 120])
    for row in mine[at:]:
        _shift(row, minutes=-minutes)
    rules = ("clock-backwards", "runs-overlap", "clock-jump")
    return of_trial("clock set back", f"{session} {minutes} min", subject, rows, *rules)


def session_on_another_day(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    session = rng.choice(sessions_of(subject))["id"]
    days = rng.choice([-2, -1, 1, 2, 7, 30, -365, 365])
    for row in rows:
        if row[SESSION] == session:
            _shift(row, days=days)
    about = f"{session} {days:+d} days"
    rules = ("outside-session-date", "start-other-day", "sessions-overlap")
    return of_trial("runs on another day", about, subject, rows, *rules)


def runs_to_another_session(subject: Subject, rng: random.Random) -> Mutant | None:
    """A double run entered under another session."""
    rows = rows_of(subject)
    both = _pair(rows, rng)
    if both is None:
        return None
    others = [s["id"] for s in sessions_of(subject) if s["id"] != both[0][SESSION]]
    target, number = rng.choice(others), rng.randint(10, 99)
    for row in both:
        row[SESSION], row[NUMBER] = target, str(number)
    rules = ("outside-session-date", "sessions-overlap")
    return of_trial("runs in another session", f"to {target}", subject, rows, *rules)


def overlap(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rng.choice(rows)
    row[DURATION] = str(rng.randint(200, 900))
    if row[ASIDE] or row is rows[-1]:
        return None
    after = rows[rows.index(row) + 1]
    if after[SESSION] != row[SESSION] or after[ASIDE]:
        return None
    return of_trial("runs overlap", ",".join(row[:4]), subject, rows, "runs-overlap")


def hasty(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    at = rng.randrange(1, len(rows))
    row, before = rows[at], rows[at - 1]
    if row[SESSION] != before[SESSION] or row[ASIDE] or before[ASIDE]:
        return None
    end = datetime.fromisoformat(before[START]) + timedelta(seconds=float(before[DURATION]))
    row[START] = (end + timedelta(seconds=rng.randint(0, 19))).isoformat()
    return of_trial("no time to settle", ",".join(row[:4]), subject, rows, "not-settled")


def cut_short(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rng.choice(rows)
    row[DURATION] = rng.choice([str(rng.randint(5, 59)), ""])
    if row[ASIDE]:
        return None
    rules = ("run-too-short", "value-missing")
    return of_trial("record cut short", ",".join(row[:4]), subject, rows, *rules)


def strayed(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    row[RPM] = f"{float(row[POINT]) * (1 + rng.choice([-1, 1]) * rng.uniform(0.015, 0.2)):.0f}"
    return of_trial("set point not held", f"{row[RPM]}", subject, rows, "set-point-not-held")


def reading_lost(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    row[RPM] = ""
    return of_trial("reading lost", ",".join(row[:4]), subject, rows, "hold-not-recorded")


def set_point_mistyped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    both = _pair(rows, rng)
    if both is None:
        return None
    shift = rng.choice([-70, -50, 50, 100, 150])
    for row in both:
        row[POINT] = f"{float(row[POINT]) + shift:g}"
    rules = ("set-point-not-declared", "set-point-not-held")
    return of_trial("set point mistyped", both[0][POINT], subject, rows, *rules)


def speed_mistyped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    factor = rng.choice([0.1, 0.5, 0.7, 0.8, 1.25, 1.4, 2, 10])
    row[SOG] = f"{float(row[SOG]) * factor:.2f}"
    rules = ("value-outlier", "direction-doubtful", "run-doubtful", "value-wild")
    return of_trial("speed mistyped", f"{row[SOG]} kn", subject, rows, *rules)


def flow_mistyped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    factor = rng.choice([0.1, 0.5, 0.8, 1.25, 2, 10])
    row[FLOW] = f"{float(row[FLOW]) * factor:.1f}"
    return of_trial(
        "flow mistyped",
        f"{row[FLOW]} L/h",
        subject,
        rows,
        "value-outlier",
        "run-doubtful",
        "value-wild",
    )


def session_in_other_unit(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    session = rng.choice(sessions_of(subject))["id"]
    column, factor, about = rng.choice(
        [
            (SOG, 1.852, "km/h"),
            (SOG, 1.150779, "mph"),
            (SOG, 0.514444, "m/s"),
            (FLOW, 1 / 3.785412, "gal/h"),
            (FLOW, 1 / 4.54609, "imp gal/h"),
            (FLOW, 0.5, "one engine of two"),
            (FLOW, 2.0, "counted twice"),
        ]
    )
    for row in rows:
        if row[SESSION] == session:
            row[column] = f"{float(row[column]) * factor:.2f}"
    rules = ("units-mixed", "slip-impossible")
    return of_trial("session in other unit", f"{session} {about}", subject, rows, *rules)


def row_copied(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    at = rng.randrange(len(rows))
    if rows[at][ASIDE]:
        return None
    rows.insert(rng.randrange(len(rows)), rows[at][:])
    return of_trial("row copied", ",".join(rows[at][:4]), subject, rows, "row-copied", "run-twice")


def double_run_copied(subject: Subject, rng: random.Random) -> Mutant | None:
    """The values of one double run entered for another of the set point."""
    rows = rows_of(subject)
    both = _pair(rows, rng)
    if both is None:
        return None
    row = both[0]
    others = [r for r in rows if r[POINT] == row[POINT] and r[:3] != row[:3] and not r[ASIDE]]
    if not others:
        return None
    target = rng.choice(others)
    for mine in [r for r in rows if r[:3] == target[:3]]:
        (source,) = [r for r in both if r[WAY] == mine[WAY]]
        mine[SOG : FLOW + 1] = source[SOG : FLOW + 1]
    about = f"{','.join(row[:3])} to {','.join(target[:3])}"
    return of_trial("double run copied", about, subject, rows, "double-run-copied")


def many_set_aside(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = rows_of(subject)
    row = rng.choice(rows)
    for other in rows:
        if other[:2] == row[:2]:
            other[ASIDE] = "looked wrong"
    return of_trial("set point set aside", ",".join(row[:2]), subject, rows, "set-aside-many")


def extra_double_run(subject: Subject, rng: random.Random) -> Mutant | None:
    """A double run made once more after the last run of the session."""
    rows = rows_of(subject)
    both = _pair(rows, rng)
    if both is None:
        return None
    last = max(row[START] for row in rows if row[SESSION] == both[0][SESSION])
    number = str(rng.randint(7, 60))
    for i, row in enumerate(both, 1):
        start = datetime.fromisoformat(last) + timedelta(seconds=150 * i)
        again = [*row[:NUMBER], number, row[WAY], start.isoformat(), *row[DURATION:]]
        again[SOG] = f"{float(row[SOG]) + 0.03 * i:.2f}"
        rows.append(again)
    return of_trial("extra double run", ",".join(both[0][:2]), subject, rows, "runs-extra")


FAULTS: dict[str, Fault] = {
    fault.__name__: fault
    for fault in (
        double_run_dropped,
        run_dropped,
        set_point_dropped,
        runs_of_session_dropped,
        directions_flipped,
        direction_flipped,
        same_direction_first,
        ascending,
        clock_set,
        clock_set_back,
        session_on_another_day,
        runs_to_another_session,
        overlap,
        hasty,
        cut_short,
        strayed,
        reading_lost,
        set_point_mistyped,
        speed_mistyped,
        flow_mistyped,
        session_in_other_unit,
        row_copied,
        double_run_copied,
        many_set_aside,
        extra_double_run,
    )
}
