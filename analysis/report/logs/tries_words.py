"""Where tries come from, in sentences and tables: for the report of a trial whose tries were found in logs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import PurePath
from typing import TYPE_CHECKING

from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.wording.numbers import MISSING, fixed
from slackwater.analysis.wording.words import count_of, listed, quantity_title

if TYPE_CHECKING:
    from slackwater.analysis.intake.try_provenance import FoundTry, TryProvenance, Value

_MOST_NAMED = 6


def sentences(found: TryProvenance) -> Iterator[str]:
    """In short: how many tries from which logs, how many were planned, what carried the boat."""
    names = [PurePath(log.file).name for log in found.logs]
    named = listed(names) if len(names) <= _MOST_NAMED else count_of(len(names), "log")
    count = len(found.tries)
    yield f"{count} {'try was' if count == 1 else 'tries were'} found in {named}."
    lacking = [
        f"{each.session} {one.manoeuvre.replace('_', ' ')} {one.direction}: {one.found} of {one.planned}"
        for each in found.sessions
        for one in each.counts
        if one.found != one.planned
    ]
    if lacking:
        more = f" … and {len(lacking) - _MOST_NAMED} more" if len(lacking) > _MOST_NAMED else ""
        yield f"Found and planned differ: {'; '.join(lacking[:_MOST_NAMED])}{more}."
    yield from read_by(found.read_by)
    drifts = [one.drift for _, one in found.tries if one.drift is not None]
    if drifts:
        low, high = min(d.speed for d in drifts), max(d.speed for d in drifts)
        by = Counter(d.by for d in drifts).most_common(1)[0][0]
        yield f"Drift of the turns: {fixed(low, 2)} to {fixed(high, 2)} kn, mostly told by {by}."
    sources = "; ".join(f"{quantity_title(s.quantity)} from {s.source}" for s in found.sources)
    yield f"Sources, the same in all sessions: {sources}."


def read_by(words: Mapping[str, str]) -> Iterator[str]:
    """How values were read that the protocol itself says how to read."""
    for name, how in words.items():
        yield f"{quantity_title(name).capitalize()}: {how}, as the protocol has it."


def sheet(found: TryProvenance) -> Sheet:
    """Every try with what was read of it and the lines that it comes from."""
    headings = (
        "row",
        "session",
        "manoeuvre",
        "direction",
        "try",
        "order",
        "read",
        "lines of the logs",
    )
    rows = tuple(_row(session, one) for session, one in found.tries)
    return Sheet("tries and where they come from", headings, rows, frozenset({0, 4}))


def _row(session: str, one: FoundTry) -> tuple[str, ...]:
    lines: dict[str, tuple[int, int]] = {}
    for reading in one.readings:
        for each in reading.lines:
            name = PurePath(each.file).name
            low, high = lines.get(name, (each.first, each.last))
            lines[name] = (min(low, each.first), max(high, each.last))
    told = (f"{name.replace('_', ' ')} {_value(value)}" for name, value in one.values.items())
    return (
        str(one.row),
        session,
        one.manoeuvre.replace("_", " "),
        one.direction or MISSING,
        str(one.number),
        one.start[11:],
        f"set aside: {one.set_aside}" if one.set_aside else "; ".join(told),
        "; ".join(f"{name} {low} to {high}" for name, (low, high) in lines.items()) or MISSING,
    )


def _value(value: Value) -> str:
    if value.value is None:
        return MISSING
    decimals = 1 if value.unit == "m" else 2
    told = fixed(value.value, decimals)
    if value.standard_uncertainty is not None:
        told += f" ± {fixed(value.standard_uncertainty, decimals)}"
    return f"{told} {value.unit}"
