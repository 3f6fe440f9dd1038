"""Faults of a trial's file: sessions dropped, limits broken, dates shifted, units exchanged."""

from __future__ import annotations

import random
from datetime import date, timedelta

from mutant import Fault, Mutant, Subject
from trial_parts import SESSION, of_trial, rows_of, sessions_of

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
    session = rng.choice(sessions_of(subject))
    session[name] = f"{rng.uniform(low, high):.2f} {unit}"
    rule = "loading-outside-limit" if name == "fuel" else "condition-outside-limit"
    about = f"{session['id']} {name} {session[name]}"
    return of_trial("limit broken", about, subject, rows_of(subject), rule)


def sides_differ(subject: Subject, rng: random.Random) -> Mutant | None:
    if "displacement" not in subject.protocol.get("loading", {}):
        return None
    name = rng.choice(["displacement", "crew", "water_temperature"])
    fitted = rng.choice([s["configuration"] for s in sessions_of(subject)])
    for session in sessions_of(subject):
        if session["configuration"] == fitted:
            number, *unit = session[name].split()
            more = {
                "displacement": rng.uniform(1.02, 1.2) * float(number),
                "crew": int(number) + rng.randint(1, 4),
                "water_temperature": float(number) + rng.uniform(7, 15),
            }[name]
            shown = str(more) if name == "crew" else f"{more:.1f}"
            session[name] = " ".join([shown, *unit])
    return of_trial(
        "sides differ", f"{fitted} {name}", subject, rows_of(subject), "configurations-differ"
    )


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
    session = rng.choice(sessions_of(subject))
    if name not in limits or name not in session:
        return None
    session[name] = f"{session[name].split()[0]} {unit}"
    rules = ("condition-outside-limit", "configurations-differ")
    return of_trial(
        "unit exchanged", f"{session['id']} {session[name]}", subject, rows_of(subject), *rules
    )


def not_recorded(subject: Subject, rng: random.Random) -> Mutant | None:
    limits = {**subject.protocol.get("loading", {}), **subject.protocol.get("conditions", {})}
    session = rng.choice(sessions_of(subject))
    names = [name for name in limits if name in session]
    if not names:
        return None
    name = rng.choice(names)
    del session[name]
    about = f"{session['id']} {name}"
    return of_trial("not recorded", about, subject, rows_of(subject), "limit-not-recorded")


def session_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    dropped = rng.choice(sessions_of(subject))
    sessions_of(subject).remove(dropped)
    rows = rows_of(subject)
    if rng.random() < 0.5:
        rows = [row for row in rows if row[SESSION] != dropped["id"]]
        return of_trial("session dropped", dropped["id"], subject, rows, "sessions-missing")
    return of_trial("session dropped, rows left", dropped["id"], subject, rows, "session-unknown")


def session_of_other_side(subject: Subject, rng: random.Random) -> Mutant | None:
    session = rng.choice(sessions_of(subject))
    others = [n for n in subject.trial["configurations"] if n != session["configuration"]]
    session["configuration"] = rng.choice(others)
    rules = ("session-order", "sessions-missing")
    return of_trial("configuration exchanged", session["id"], subject, rows_of(subject), *rules)


def order_changed(subject: Subject, rng: random.Random) -> Mutant | None:
    """The configurations dealt anew over the sessions, as many of each."""
    sessions = sessions_of(subject)
    before = [session["configuration"] for session in sessions]
    after = before[:]
    rng.shuffle(after)
    if after == before:
        return None
    for session, configuration in zip(sessions, after, strict=True):
        session["configuration"] = configuration
    return of_trial("order changed", " ".join(after), subject, rows_of(subject), "session-order")


def date_shifted(subject: Subject, rng: random.Random) -> Mutant | None:
    session = rng.choice(sessions_of(subject))
    days = rng.choice([-366, -31, -7, -3, -2, -1, 1, 2, 3, 7, 31, 366])
    session["date"] = str(date.fromisoformat(session["date"]) + timedelta(days=days))
    about = f"{session['id']} {days:+d} days"
    return of_trial("date of session", about, subject, rows_of(subject), "outside-session-date")


def date_removed(subject: Subject, rng: random.Random) -> Mutant | None:
    session = rng.choice(sessions_of(subject))
    del session["date"]
    return of_trial("date removed", session["id"], subject, rows_of(subject), "session-undated")


def propeller_mistaken(subject: Subject, rng: random.Random) -> Mutant | None:
    """Pitch in centimetres for inches, a gear ratio upside down."""
    configuration = rng.choice(list(subject.trial["configurations"].values()))
    if "gear_ratio" not in configuration:
        return None
    if rng.random() < 0.5:
        configuration["propeller_pitch"] = f"{rng.randint(15, 30)} cm"
    else:
        configuration["gear_ratio"] = f"{rng.uniform(3.3, 6):.2f}"
    return of_trial("propeller mistaken", "", subject, rows_of(subject), "slip-impossible")


def trial_waiver_misspelt(subject: Subject, rng: random.Random) -> Mutant | None:
    wrong = "clock-jump".replace(rng.choice("lockjump"), rng.choice("xyz"))
    subject.trial["waive"] = [{"rule": wrong, "reason": "A reason."}]
    return of_trial("waiver misspelt", wrong, subject, rows_of(subject), "unknown-waiver")


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
    )
}
