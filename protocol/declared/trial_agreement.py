"""What the parts of a trial have to agree on: names used in one part and declared in another.

Like its sister for protocols it reads the plain texts, so that all slips are told at once.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, time
from typing import TYPE_CHECKING, Any

from slackwater.protocol.catalogue.measures import MEASURES, nearest
from slackwater.protocol.declared.asked_agreement import correction_findings
from slackwater.protocol.declared.cutting_agreement import runs_findings
from slackwater.protocol.declared.manoeuvres_agreement import trial_manoeuvre_findings
from slackwater.protocol.declared.ratings_agreement import trial_rating_findings
from slackwater.protocol.files.dates import MomentIn
from slackwater.protocol.files.model_faults import at
from slackwater.protocol.files.source import Document, Loc
from slackwater.protocol.findings import Finding
from slackwater.protocol.units.quantity import (
    QuantityError,
    fitting,
    normal_unit,
    parse_any,
    same_dimension,
)

if TYPE_CHECKING:
    from slackwater.protocol.declared.limits import Limit
    from slackwater.protocol.declared.protocol import Protocol

_DATE = re.compile("[0-9]{4}-[0-9]{2}-[0-9]{2}")
# Columns of the run table that are no measures, with the unit that each is read in.
TABLE_COLUMNS: dict[str, str] = {
    "session": "",
    "set_point": "",
    "double_run": "",
    "direction": "",
    "heading": "deg",
    "start": "",
    "duration": "s",
    "set_aside": "",
    "note": "",
    "configuration": "",
}


def trial_findings(document: Document, protocol: Protocol | None) -> Iterator[Finding]:
    """Everything on which the parts of a trial, or trial and protocol, disagree."""
    data = document.data
    configurations = data.get("configurations")
    names = [str(n) for n in configurations] if isinstance(configurations, dict) else None
    if names is not None:
        yield from _sessions(document, names)
        yield from _comparisons(document, names)
    yield from _session_ids(document)
    yield from _times(document)
    if protocol is not None:
        yield from _dates(document, protocol)
        yield from _further(document, protocol)
        yield from _table(document, protocol)
        yield from correction_findings(document, protocol)
        yield from trial_rating_findings(document, rated=protocol.ratings is not None)
        yield from trial_manoeuvre_findings(document, tried=bool(protocol.manoeuvres))
    yield from _directions(document)
    yield from runs_findings(document)


def _sessions(document: Document, names: list[str]) -> Iterator[Finding]:
    for index, session in _entries(document.data.get("sessions")):
        named = _text(session.get("configuration"))
        if named and named not in names:
            yield _undeclared(document, ("sessions", index, "configuration"), named, names)


def _comparisons(document: Document, names: list[str]) -> Iterator[Finding]:
    seen: list[tuple[str, str]] = []
    for index, pair in _entries(document.data.get("comparisons")):
        loc: Loc = ("comparisons", index)
        baseline, modified = _text(pair.get("baseline")), _text(pair.get("modified"))
        for key, named in (("baseline", baseline), ("modified", modified)):
            if named and named not in names:
                yield _undeclared(document, (*loc, key), named, names)
        if baseline and baseline == modified:
            yield at(
                document,
                (*loc, "modified"),
                f"'{baseline}' is compared with itself",
                "name two configurations",
            )
        elif baseline and modified:
            if (baseline, modified) in seen:
                yield at(
                    document,
                    loc,
                    f"'{baseline}' and '{modified}' are compared already",
                    "take one of the two away",
                )
            seen.append((baseline, modified))
    if len(names) > 2 and "comparisons" not in document.data:
        yield at(
            document,
            ("configurations",),
            f"{len(names)} configurations, and no word on which are compared",
            f"add 'comparisons: [{{baseline: {names[0]}, modified: {names[1]}}}, ...]'",
            rule="missing-key",
        )


def _undeclared(document: Document, loc: Loc, named: str, names: list[str]) -> Finding:
    near = nearest(named, names)
    fix = f"did you mean '{near}'?" if near else f"declared are: {', '.join(names)}"
    return at(
        document,
        loc,
        f"the configuration '{named}' is not declared",
        fix,
        rule="unknown-configuration",
    )


def _session_ids(document: Document) -> Iterator[Finding]:
    first: dict[str, int] = {}
    for index, session in _entries(document.data.get("sessions")):
        name = _text(session.get("id"))
        if not name:
            continue
        if name in first:
            line = document.place(("sessions", first[name], "id")).line
            where = f"on line {line}" if line else f"entry {first[name] + 1}"
            yield at(
                document,
                ("sessions", index, "id"),
                f"the session '{name}' is declared already, {where}",
                "give each session an id of its own",
                rule="duplicate-session",
            )
        first.setdefault(name, index)


def _times(document: Document) -> Iterator[Finding]:
    for index, session in _entries(document.data.get("sessions")):
        start, end = _moment(session.get("start")), _moment(session.get("end"))
        if not isinstance(start, datetime):
            continue
        day = _text(session.get("date"))
        if day and _DATE.fullmatch(day) and start.date().isoformat() != day:
            message = f"the start, {start:%Y-%m-%d}, is not on the date, {day}"
            yield at(document, ("sessions", index, "start"), message, "mend one of the two")
        comparable = isinstance(end, datetime) and (end.tzinfo is None) == (start.tzinfo is None)
        if isinstance(end, datetime) and comparable and end <= start:
            message = "the session ends before it starts"
            yield at(document, ("sessions", index, "end"), message, "mend one of the two times")


def _dates(document: Document, protocol: Protocol) -> Iterator[Finding]:
    if protocol.sessions.block != "day":
        return
    for index, session in _entries(document.data.get("sessions")):
        start = _moment(session.get("start"))
        if "date" not in session and not isinstance(start, datetime):
            yield at(
                document,
                ("sessions", index),
                "no date, and the protocol compares sessions of one day with each other",
                "add 'date:'",
                rule="missing-key",
            )


def _further(document: Document, protocol: Protocol) -> Iterator[Finding]:
    """Conditions of the protocol's own: are they in it, and of its dimension?"""
    limits = protocol.limits
    for index, session in _entries(document.data.get("sessions")):
        further = session.get("further")
        for name, text in (further if isinstance(further, dict) else {}).items():
            loc: Loc = ("sessions", index, "further", name)
            limit = limits.get(name)
            if limit is None:
                near = nearest(name, limits)
                yield at(
                    document,
                    loc,
                    f"the protocol limits no '{name}'",
                    f"did you mean '{near}'?" if near else "put it in 'note:'",
                    rule="unknown-key",
                    key=True,
                )
                continue
            unit = _unit_of(limit)
            if unit is None or not isinstance(text, str):
                continue
            try:
                found = parse_any(text).unit
            except QuantityError:
                continue
            if not same_dimension(found, unit):
                noun, fit = fitting(unit)
                yield at(
                    document,
                    loc,
                    f"'{text}' does not fit the protocol's limit ({limit}); {noun} is needed",
                    f"use one of {', '.join(fit)}",
                )


def _table(document: Document, protocol: Protocol) -> Iterator[Finding]:
    """`units:` and `columns:` name columns of the run table, or values of a table of tries."""
    known = [*TABLE_COLUMNS, *protocol.measures, *protocol.tried]
    for part in ("units", "columns"):
        entries = document.data.get(part)
        for name in entries if isinstance(entries, dict) else {}:
            if name in known:
                continue
            near = nearest(name, known)
            fix = (
                f"did you mean '{near}'?"
                if near
                else (
                    "declare it under 'measures:' in the protocol"
                    if name not in MEASURES
                    else f"declare '{name}' under 'measures:' in the protocol"
                )
            )
            yield at(
                document,
                (part, name),
                f"'{name}' is not a column of the run table or a measure of the protocol",
                fix,
                rule="unknown-key",
                key=True,
            )
    units = document.data.get("units")
    for name, text in (units if isinstance(units, dict) else {}).items():
        if name in known and isinstance(text, str):
            yield from _column_unit(document, protocol, name, text)
    columns = document.data.get("columns")
    heads: dict[str, str] = {}
    for name, texts in (columns if isinstance(columns, dict) else {}).items():
        engines = isinstance(texts, (list, tuple))
        single = name in protocol.tried or (name in TABLE_COLUMNS and name != "start")
        if engines and single:
            yield at(
                document,
                ("columns", name),
                f"'{name}' has one column; only measures are read from several",
                "name one heading; a start may have one of the date and one of the time",
            )
        if engines and name == "start" and len(texts) != 2:
            yield at(
                document,
                ("columns", name),
                f"{len(texts)} headings are given for the start",
                "name the heading of the date and that of the time, in this order",
            )
        for text in texts if engines else (texts,):
            if isinstance(text, str) and text.strip():
                if text.strip() in heads:
                    yield at(
                        document,
                        ("columns", name),
                        f"the heading '{text.strip()}' is given to '{heads[text.strip()]}' already",
                        "give each column a heading of its own",
                    )
                heads.setdefault(text.strip(), name)


def _column_unit(document: Document, protocol: Protocol, name: str, text: str) -> Iterator[Finding]:
    if name == "set_point":
        needed = protocol.set_point_unit
    elif name in protocol.measures or name in protocol.tried:
        needed = protocol.measure(name).unit
    else:
        needed = TABLE_COLUMNS[name]
    try:
        unit = normal_unit(text)
    except QuantityError:
        return  # the model tells of it
    if not needed:
        yield at(
            document, ("units", name), f"the column '{name}' has no unit", "take it away", key=True
        )
    elif not same_dimension(unit, needed):
        noun, fit = fitting(needed)
        yield at(
            document,
            ("units", name),
            f"'{text}' does not fit {name}; {noun} is needed",
            f"use one of {', '.join(fit)}",
        )


def _directions(document: Document) -> Iterator[Finding]:
    """The words for the two directions: each with one meaning, and one for either."""
    words = document.data.get("directions")
    if not isinstance(words, dict) or not words:
        return
    meaning = {"out": "out", "back": "back"}
    for word, way in words.items():
        known = meaning.setdefault(str(word).casefold(), str(way))
        if known != way:
            yield at(
                document,
                ("directions", word),
                f"'{word}' is said to be {way}, and is {known} already",
                "give each word one direction; upper and lower case are the same word",
                key=True,
            )


def _unit_of(limit: Limit) -> str | None:
    bound = limit.at_most or limit.at_least or (limit.between[0] if limit.between else None)
    return bound.unit if bound else None


def _entries(value: object) -> Iterator[tuple[int, dict[str, Any]]]:
    if isinstance(value, (list, tuple)):
        for index, entry in enumerate(value):
            if isinstance(entry, dict):
                yield index, entry


def _moment(value: object) -> time | datetime | None:
    try:
        return MomentIn().read(value) if isinstance(value, str) else None
    except QuantityError:
        return None  # the model tells of it


def _text(value: object) -> str:
    return value.strip() if isinstance(value, str) else ""
