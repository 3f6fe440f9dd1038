"""Faults of a trial: sessions dropped, limits broken, clocks shifted, directions flipped, copies."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta

from mutant import Data, Fault, Mutant, Subject

SESSION, POINT, NUMBER, WAY, START, DURATION, SOG, RPM, FLOW, ASIDE, NOTE = range(11)


def _of(fault: str, about: str, subject: Subject, rows: list[list[str]], *expected: str) -> Mutant:
    lines = (subject.rows[0], *(",".join(row) for row in rows))
    broken = Subject(subject.name, subject.kind, subject.protocol, subject.trial, lines)
    return Mutant(fault, about, frozenset(expected), broken)


def _rows(subject: Subject) -> list[list[str]]:
    return [line.split(",") for line in subject.rows[1:]]


def _sessions(subject: Subject) -> list[Data]:
    found: list[Data] = subject.trial["sessions"]
    return found


def _pair(
    rows: list[list[str]], rng: random.Random, *, clean: bool = True
) -> list[list[str]] | None:
    """The two rows of one double run; `clean`: neither set aside."""
    row = rng.choice(rows)
    both = [other for other in rows if other[:3] == row[:3]]
    return None if len(both) != 2 or (clean and any(r[ASIDE] for r in both)) else both


def _shift(row: list[str], **by: float) -> None:
    row[START] = (datetime.fromisoformat(row[START]) + timedelta(**by)).isoformat()


# --- the trial's file ------------------------------------------------------------------------------

OUTSIDE = {
    "wind_speed": (8.5, 30, "kn"),
    "wave_height": (0.35, 3, "m"),
    "water_depth": (1, 55, "m"),
    "current": (1.6, 5, "kn"),
    "fuel": (1, 39, "%"),
}


def limit_broken(subject: Subject, rng: random.Random) -> Mutant | None:
    limits = {
        **subject.protocol.get("loading", {}),
        **subject.protocol.get("conditions", {}),
    }
    names = [name for name in OUTSIDE if name in limits]
    if not names:
        return None
    name = rng.choice(names)
    low, high, unit = OUTSIDE[name]
    session = rng.choice(_sessions(subject))
    session[name] = f"{rng.uniform(low, high):.2f} {unit}"
    rule = "loading-outside-limit" if name == "fuel" else "condition-outside-limit"
    about = f"{session['id']} {name} {session[name]}"
    return _of("limit broken", about, subject, _rows(subject), rule)


def sides_differ(subject: Subject, rng: random.Random) -> Mutant | None:
    if "displacement" not in subject.protocol.get("loading", {}):
        return None
    name = rng.choice(["displacement", "crew", "water_temperature"])
    fitted = rng.choice([s["configuration"] for s in _sessions(subject)])
    for session in _sessions(subject):
        if session["configuration"] == fitted:
            number, *unit = session[name].split()
            more = {
                "displacement": rng.uniform(1.02, 1.2) * float(number),
                "crew": int(number) + rng.randint(1, 4),
                "water_temperature": float(number) + rng.uniform(7, 15),
            }[name]
            shown = str(more) if name == "crew" else f"{more:.1f}"
            session[name] = " ".join([shown, *unit])
    return _of("sides differ", f"{fitted} {name}", subject, _rows(subject), "configurations-differ")


def unit_of_session(subject: Subject, rng: random.Random) -> Mutant | None:
    """The number of one unit written with another of the same kind."""
    limits = {**subject.protocol.get("loading", {}), **subject.protocol.get("conditions", {})}
    name, unit = rng.choice(
        [
            ("displacement", "lb"),
            ("displacement", "t"),
            ("wind_speed", "m/s"),
            ("wave_height", "km"),
            ("water_depth", "ft"),
            ("water_depth", "cm"),
            ("water_temperature", "degF"),
            ("current", "m/s"),
        ]
    )
    session = rng.choice(_sessions(subject))
    if name not in limits or name not in session:
        return None
    session[name] = f"{session[name].split()[0]} {unit}"
    rules = ("condition-outside-limit", "configurations-differ")
    return _of(
        "unit exchanged", f"{session['id']} {session[name]}", subject, _rows(subject), *rules
    )


def not_recorded(subject: Subject, rng: random.Random) -> Mutant | None:
    limits = {**subject.protocol.get("loading", {}), **subject.protocol.get("conditions", {})}
    session = rng.choice(_sessions(subject))
    names = [name for name in limits if name in session]
    if not names:
        return None
    name = rng.choice(names)
    del session[name]
    about = f"{session['id']} {name}"
    return _of("not recorded", about, subject, _rows(subject), "limit-not-recorded")


def session_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    dropped = rng.choice(_sessions(subject))
    _sessions(subject).remove(dropped)
    rows = _rows(subject)
    if rng.random() < 0.5:
        rows = [row for row in rows if row[SESSION] != dropped["id"]]
        return _of("session dropped", dropped["id"], subject, rows, "sessions-missing")
    return _of("session dropped, rows left", dropped["id"], subject, rows, "session-unknown")


def session_of_other_side(subject: Subject, rng: random.Random) -> Mutant | None:
    session = rng.choice(_sessions(subject))
    others = [n for n in subject.trial["configurations"] if n != session["configuration"]]
    session["configuration"] = rng.choice(others)
    rules = ("session-order", "sessions-missing")
    return _of("configuration exchanged", session["id"], subject, _rows(subject), *rules)


def order_changed(subject: Subject, rng: random.Random) -> Mutant | None:
    """The configurations dealt anew over the sessions, as many of each."""
    sessions = _sessions(subject)
    before = [session["configuration"] for session in sessions]
    after = before[:]
    rng.shuffle(after)
    if after == before:
        return None
    for session, configuration in zip(sessions, after, strict=True):
        session["configuration"] = configuration
    return _of("order changed", " ".join(after), subject, _rows(subject), "session-order")


def date_shifted(subject: Subject, rng: random.Random) -> Mutant | None:
    session = rng.choice(_sessions(subject))
    days = rng.choice([-366, -31, -7, -3, -2, -1, 1, 2, 3, 7, 31, 366])
    session["date"] = str(date.fromisoformat(session["date"]) + timedelta(days=days))
    about = f"{session['id']} {days:+d} days"
    return _of("date of session", about, subject, _rows(subject), "outside-session-date")


def date_removed(subject: Subject, rng: random.Random) -> Mutant | None:
    session = rng.choice(_sessions(subject))
    del session["date"]
    return _of("date removed", session["id"], subject, _rows(subject), "session-undated")


def propeller_mistaken(subject: Subject, rng: random.Random) -> Mutant | None:
    """Pitch in centimetres for inches, a gear ratio upside down."""
    configuration = rng.choice(list(subject.trial["configurations"].values()))
    if "gear_ratio" not in configuration:
        return None
    if rng.random() < 0.5:
        configuration["propeller_pitch"] = f"{rng.randint(15, 30)} cm"
    else:
        configuration["gear_ratio"] = f"{rng.uniform(3.3, 6):.2f}"
    return _of("propeller mistaken", "", subject, _rows(subject), "slip-impossible")


def trial_waiver_misspelt(subject: Subject, rng: random.Random) -> Mutant | None:
    wrong = "clock-jump".replace(rng.choice("lockjump"), rng.choice("xyz"))
    subject.trial["waive"] = [{"rule": wrong, "reason": "A reason."}]
    return _of("waiver misspelt", wrong, subject, _rows(subject), "unknown-waiver")


# --- the table of runs ----------------------------------------------------------------------------


def double_run_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    both = _pair(rows, rng, clean=False)
    if both is None:
        return None
    kept = [row for row in rows if row not in both]
    return _of("double run dropped", ",".join(both[0][:3]), subject, kept, "runs-missing")


def run_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rows.pop(rng.randrange(len(rows)))
    if row[ASIDE]:
        return None
    rules = ("run-without-partner", "runs-missing")
    return _of("run dropped", ",".join(row[:4]), subject, rows, *rules)


def set_point_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rng.choice(rows)
    kept = [other for other in rows if other[:2] != row[:2]]
    return _of("set point dropped", ",".join(row[:2]), subject, kept, "runs-missing")


def runs_of_session_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    session = rng.choice(_sessions(subject))["id"]
    kept = [row for row in _rows(subject) if row[SESSION] != session]
    return _of("runs of session dropped", session, subject, kept, "session-without-runs")


def directions_flipped(subject: Subject, rng: random.Random) -> Mutant | None:
    """Out and back exchanged where there was a current of half a knot at least."""
    rows = _rows(subject)
    both = _pair(rows, rng)
    if both is None or abs(float(both[0][SOG]) - float(both[1][SOG])) < 1.0:
        return None
    for row in both:
        row[WAY] = "back" if row[WAY] == "out" else "out"
    return _of("directions flipped", ",".join(both[0][:3]), subject, rows, "direction-doubtful")


def direction_flipped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    row[WAY] = "back" if row[WAY] == "out" else "out"
    return _of("direction flipped", ",".join(row[:4]), subject, rows, "run-twice")


def same_direction_first(subject: Subject, rng: random.Random) -> Mutant | None:
    """One session with every double run out first: the starts of each pair exchanged."""
    rows = _rows(subject)
    session = rng.choice(_sessions(subject))["id"]
    first = rng.choice(["out", "back"])
    for row in rows:
        if row[SESSION] != session:
            continue
        (other,) = [r for r in rows if r[:3] == row[:3] and r is not row]
        if row[WAY] == first and row[START] > other[START]:
            row[START], other[START] = other[START], row[START]
    about = f"{session} {first}"
    return _of("same direction first", about, subject, rows, "first-direction")


def ascending(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    session = rng.choice(_sessions(subject))["id"]
    mine = [row for row in rows if row[SESSION] == session]
    starts = sorted(row[START] for row in mine)
    order = sorted(mine, key=lambda row: (float(row[POINT]), row[START]))
    if rng.random() < 0.5:
        order = sorted(mine, key=lambda row: (-float(row[POINT]), row[START]))
    for row, start in zip(order, starts, strict=True):
        row[START] = start
    others = [row for row in rows if row[SESSION] != session]
    return _of("set points in order", session, subject, [*others, *order], "set-point-order")


def clock_set(subject: Subject, rng: random.Random) -> Mutant | None:
    """From some run on the clock of a session is ahead, as by a change of zone."""
    rows = _rows(subject)
    session = rng.choice(_sessions(subject))["id"]
    mine = [row for row in rows if row[SESSION] == session]
    at, minutes = rng.randrange(2, len(mine) - 1), rng.choice([45, 60, 75, 90, 120, 180])
    for row in mine[at:]:
        _shift(row, minutes=minutes)
    return _of("clock set ahead", f"{session} {minutes} min", subject, rows, "clock-jump")


def clock_set_back(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    session = rng.choice(_sessions(subject))["id"]
    mine = [row for row in rows if row[SESSION] == session]
    at, minutes = rng.randrange(2, len(mine) - 1), rng.choice([10, 30, 60, 120])
    for row in mine[at:]:
        _shift(row, minutes=-minutes)
    rules = ("clock-backwards", "runs-overlap", "clock-jump")
    return _of("clock set back", f"{session} {minutes} min", subject, rows, *rules)


def session_on_another_day(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    session = rng.choice(_sessions(subject))["id"]
    days = rng.choice([-2, -1, 1, 2, 7, 30, -365, 365])
    for row in rows:
        if row[SESSION] == session:
            _shift(row, days=days)
    about = f"{session} {days:+d} days"
    rules = ("outside-session-date", "start-other-day", "sessions-overlap")
    return _of("runs on another day", about, subject, rows, *rules)


def runs_to_another_session(subject: Subject, rng: random.Random) -> Mutant | None:
    """A double run entered under another session."""
    rows = _rows(subject)
    both = _pair(rows, rng)
    if both is None:
        return None
    others = [s["id"] for s in _sessions(subject) if s["id"] != both[0][SESSION]]
    target, number = rng.choice(others), rng.randint(10, 99)
    for row in both:
        row[SESSION], row[NUMBER] = target, str(number)
    rules = ("outside-session-date", "sessions-overlap")
    return _of("runs in another session", f"to {target}", subject, rows, *rules)


def overlap(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rng.choice(rows)
    row[DURATION] = str(rng.randint(200, 900))
    if row[ASIDE] or row is rows[-1]:
        return None
    after = rows[rows.index(row) + 1]
    if after[SESSION] != row[SESSION] or after[ASIDE]:
        return None
    return _of("runs overlap", ",".join(row[:4]), subject, rows, "runs-overlap")


def hasty(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    at = rng.randrange(1, len(rows))
    row, before = rows[at], rows[at - 1]
    if row[SESSION] != before[SESSION] or row[ASIDE] or before[ASIDE]:
        return None
    end = datetime.fromisoformat(before[START]) + timedelta(seconds=float(before[DURATION]))
    row[START] = (end + timedelta(seconds=rng.randint(0, 19))).isoformat()
    return _of("no time to settle", ",".join(row[:4]), subject, rows, "not-settled")


def cut_short(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rng.choice(rows)
    row[DURATION] = rng.choice([str(rng.randint(5, 59)), ""])
    if row[ASIDE]:
        return None
    rules = ("run-too-short", "value-missing")
    return _of("record cut short", ",".join(row[:4]), subject, rows, *rules)


def strayed(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    row[RPM] = f"{float(row[POINT]) * (1 + rng.choice([-1, 1]) * rng.uniform(0.015, 0.2)):.0f}"
    return _of("set point not held", f"{row[RPM]}", subject, rows, "set-point-not-held")


def reading_lost(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    row[RPM] = ""
    return _of("reading lost", ",".join(row[:4]), subject, rows, "hold-not-recorded")


def set_point_mistyped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    both = _pair(rows, rng)
    if both is None:
        return None
    shift = rng.choice([-70, -50, 50, 100, 150])
    for row in both:
        row[POINT] = f"{float(row[POINT]) + shift:g}"
    rules = ("set-point-not-declared", "set-point-not-held")
    return _of("set point mistyped", both[0][POINT], subject, rows, *rules)


def speed_mistyped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    factor = rng.choice([0.1, 0.5, 0.7, 0.8, 1.25, 1.4, 2, 10])
    row[SOG] = f"{float(row[SOG]) * factor:.2f}"
    rules = ("value-outlier", "direction-doubtful", "run-doubtful", "value-wild")
    return _of("speed mistyped", f"{row[SOG]} kn", subject, rows, *rules)


def flow_mistyped(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rng.choice(rows)
    if row[ASIDE]:
        return None
    factor = rng.choice([0.1, 0.5, 0.8, 1.25, 2, 10])
    row[FLOW] = f"{float(row[FLOW]) * factor:.1f}"
    return _of(
        "flow mistyped",
        f"{row[FLOW]} L/h",
        subject,
        rows,
        "value-outlier",
        "run-doubtful",
        "value-wild",
    )


def session_in_other_unit(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    session = rng.choice(_sessions(subject))["id"]
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
    return _of("session in other unit", f"{session} {about}", subject, rows, *rules)


def row_copied(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    at = rng.randrange(len(rows))
    if rows[at][ASIDE]:
        return None
    rows.insert(rng.randrange(len(rows)), rows[at][:])
    return _of("row copied", ",".join(rows[at][:4]), subject, rows, "row-copied", "run-twice")


def double_run_copied(subject: Subject, rng: random.Random) -> Mutant | None:
    """The values of one double run entered for another of the set point."""
    rows = _rows(subject)
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
    return _of("double run copied", about, subject, rows, "double-run-copied")


def many_set_aside(subject: Subject, rng: random.Random) -> Mutant | None:
    rows = _rows(subject)
    row = rng.choice(rows)
    for other in rows:
        if other[:2] == row[:2]:
            other[ASIDE] = "looked wrong"
    return _of("set point set aside", ",".join(row[:2]), subject, rows, "set-aside-many")


def extra_double_run(subject: Subject, rng: random.Random) -> Mutant | None:
    """A double run made once more after the last run of the session."""
    rows = _rows(subject)
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
    return _of("extra double run", ",".join(both[0][:2]), subject, rows, "runs-extra")


FAULTS: dict[str, Fault] = {
    fault.__name__: fault
    for fault in (
        limit_broken,
        sides_differ,
        unit_of_session,
        not_recorded,
        session_dropped,
        session_of_other_side,
        order_changed,
        date_shifted,
        date_removed,
        propeller_mistaken,
        trial_waiver_misspelt,
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
