"""How a statement is laid out, whatever it is written as: parts, each with sentences and a table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.statement.contents import Statement
from slackwater.analysis.statement.lines import Line, Value
from slackwater.analysis.statement.sections import Section
from slackwater.analysis.wording.numbers import MISSING

INTRODUCTION = (
    "What may be printed of this trial. Whoever prints less than all lines of a figure, or a further "
    "figure without the one that decides, chooses, and should say so."
)
LIMITS = (
    "It is no advice on loading, on handling or on where to go: local rules, the skipper's judgement and "
    "licensed practice come before it."
)


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a statement.

    Attributes
    ----------
    heading : str
    sentences : tuple of str
    sheet : Sheet or None
    deciding : bool
    """

    heading: str
    sentences: tuple[str, ...]
    sheet: Sheet | None
    deciding: bool = False


def parts(statement: Statement) -> tuple[Part, ...]:
    """What decides, then each further quantity, then the figures of the whole sweep together."""
    return tuple(_parts(statement))


def _parts(statement: Statement) -> Iterator[Part]:
    whole: dict[tuple[str, str], list[Section]] = {}
    for section in statement.sections:
        if section.unit or section.deciding:
            yield Part(
                _heading(section), statement.told(section), _sheet(section), section.deciding
            )
        else:
            whole.setdefault((section.baseline, section.modified), []).append(section)
    for found in whole.values():
        told = [sentence for section in found for sentence in statement.told(section)]
        # What the intervals are is the same for all of them, and stands at the end.
        last = list(dict.fromkeys(told[::-1]))[::-1]
        yield Part(f"The sweep as a whole: {_pair(found[0])}", tuple(last), _whole(found))


def _pair(section: Section) -> str:
    return f"{section.modified} against {section.baseline}"


def _heading(section: Section) -> str:
    title = f"{section.title[:1].upper()}{section.title[1:]}: {_pair(section)}"
    asides = ["named by the protocol to decide"] if section.deciding else []
    asides += [section.afterwards] if section.afterwards else []
    return f"{title} ({'; '.join(asides)})" if asides else title


def _sheet(section: Section) -> Sheet:
    unit = section.lines[0].unit
    tail = f" [{unit}]" if unit else ""
    headings = ("at", *_OF_CHANGE, section.baseline + tail, section.modified + tail, _COUNTS)
    rows = tuple(
        (
            section.places([line]) if section.unit else section.title,
            *_of_change(line),
            _value(line.baseline),
            _value(line.modified),
            _counts(line),
        )
        for line in section.lines
    )
    return Sheet(_pair(section), headings, rows, frozenset(range(1, 6)))


def _whole(found: list[Section]) -> Sheet:
    headings = ("figure", *_OF_CHANGE, found[0].baseline, found[0].modified, _COUNTS)
    rows = tuple(
        (
            section.title,
            *_of_change(line),
            _value(line.baseline, line.unit),
            _value(line.modified, line.unit),
            _counts(line),
        )
        for section in found
        for line in section.lines
    )
    return Sheet(_pair(found[0]), headings, rows, frozenset(range(1, 6)))


_OF_CHANGE, _COUNTS = ("change", "its interval"), "sessions"


def _of_change(line: Line) -> tuple[str, str]:
    change = line.change
    if line.kept and line.kept != change:
        change = f"{change}; {line.kept}"
    return change, line.interval or MISSING


def _counts(line: Line) -> str:
    return f"{line.row.sessions_baseline} and {line.row.sessions_modified}"


def _value(value: Value | None, unit: str = "") -> str:
    if value is None:
        return MISSING
    tail = f" {unit}" if unit else ""
    return f"{value.text}{tail} ({value.interval})" if value.interval else value.text + tail
