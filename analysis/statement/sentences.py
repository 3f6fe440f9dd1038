"""A section in sentences. The words are few and fixed, and none of them praises.

"Higher" and "lower" are all that is said of a direction, since what is better is the reader's to say.
"""

from __future__ import annotations

from collections.abc import Iterator

from slackwater.analysis.statement.lines import Line, Said
from slackwater.analysis.statement.sections import Section
from slackwater.analysis.verdict.verdicts import Worth
from slackwater.analysis.wording.numbers import NBSP

#: What is said of an established difference against the smallest that would matter.
WORTH = {
    Worth.EXCEEDS: "exceeds",
    Worth.MAY_EXCEED: "may exceed",
    Worth.LESS: "is less than",
}


def sentences(section: Section) -> tuple[str, ...]:
    """The section's lines in sentences, all of them."""
    return tuple(_told(section))


def line_sentence(section: Section, line: Line, *, margin: bool = False) -> str:
    """One line by itself, as it may be quoted."""
    where = f" at {section.places([line])}" if section.unit else ""
    pair = f"with “{section.modified}” than with “{section.baseline}”"
    title = _capital(section.title)
    if margin:
        return f"{title}{where} was {line.kept} {pair}."
    if not line.said.shown:
        return f"{title}{where}: {line.change}."
    word = "higher" if line.higher else "lower"
    return f"{title}{where} was {word} {pair} by {line.size}."


def value_sentence(section: Section, line: Line, side: str) -> str:
    """One value by itself, as it may be quoted."""
    value = line.baseline if side == "baseline" else line.modified
    where = f" at {section.places([line])}" if section.unit else ""
    title, name = _capital(section.title), getattr(section, side)
    assert value is not None  # only lines with a value are asked for it
    size = f"{value.text}{NBSP}{line.unit}".strip()
    return f"{title}{where} with “{name}”: {size} ({value.interval}; {value.sessions} sessions)."


def _told(section: Section) -> Iterator[str]:
    title, pair = (
        _capital(section.title),
        f"with “{section.modified}” than with “{section.baseline}”",
    )
    for word in ("higher", "lower"):
        lines = [
            line for line in section.lines if line.said.shown and line.higher == (word == "higher")
        ]
        if lines:
            yield f"{title} was {word} {pair} {_sizes(section, lines)}."
            title = "It"
    if hidden := _of(section, Said.NOT_SHOWN):
        yield f"A difference in {section.title} was not shown{_where(section, hidden)}."
    yield from _margins(section)
    yield from _worth(section)
    yield from _basis(section)


def _of(section: Section, said: Said) -> list[Line]:
    return [line for line in section.lines if line.said is said]


def _sizes(section: Section, lines: list[Line]) -> str:
    if not section.unit:
        return f"by {lines[0].size}"
    return "; ".join(f"at {section.places([line])} by {line.size}" for line in lines)


def _where(section: Section, lines: list[Line]) -> str:
    if not section.unit:
        return f" ({lines[0].interval})"
    if len(lines) == 1:
        return f" at {section.places(lines)} ({lines[0].interval})"
    everywhere = len(lines) == len(section.lines)
    lead = f" at any of the {len(lines)} {section.noun}" if everywhere else ""
    told = "; ".join(f"{section.places([line])}: {line.interval}" for line in lines)
    return f"{lead or f' at {section.places(lines)}'} ({told})"


def _margins(section: Section) -> Iterator[str]:
    groups: dict[str, list[Line]] = {}
    for line in section.lines:
        if line.kept:
            groups.setdefault(line.kept, []).append(line)
    for kept, lines in groups.items():
        where = section.where(lines)
        if kept.startswith("within"):
            yield f"Any difference in {section.title}{where} was shown to lie {kept}."
        else:
            pair = f"with “{section.modified}” than with “{section.baseline}”"
            yield f"{_capital(section.title)}{where} was shown to be {kept} {pair}."


def _worth(section: Section) -> Iterator[str]:
    limits = {line.row.worthwhile for line in section.lines} - {None}
    if len(limits) != 1 or section.lines[0].row.scale != "ratio":
        return
    limit = f"{100 * (limits.pop() or 0.0):.6f}".rstrip("0").rstrip(".") + f"{NBSP}%"
    parts = []
    for worth, words in WORTH.items():
        lines = [line for line in section.lines if line.said.shown and line.row.worth is worth]
        if lines:
            where = section.where(lines)
            parts.append(f"{words} {limit}{where}")
    if parts:
        yield (
            f"The protocol names {limit} as the smallest difference in {section.title} that would "
            f"matter; the difference shown {' and '.join(parts)}."
        )


def _basis(section: Section) -> Iterator[str]:
    """What the intervals are, and how many sessions stand behind them: whoever quotes needs both."""
    row = next((line.row for line in section.lines if line.interval), None)
    if row is None:
        return
    level = f"{100 * row.confidence:.4g}{NBSP}%"
    every = "both" if row.family == 2 else f"all {row.family}"
    together = row.simultaneous and row.family > 1
    how = f"for {every} {section.noun} at once" if together else "each by itself"
    after = (
        f", {section.afterwards} and one family with all else that was"
        if section.afterwards
        else ""
    )
    before, after_it = (
        _counts([getattr(line.row, f"sessions_{side}") for line in section.lines if line.interval])
        for side in ("baseline", "modified")
    )
    yield (
        f"Intervals are of {level}, {how}{after}; from {before} sessions with “{section.baseline}” and "
        f"{after_it} with “{section.modified}”."
    )


def _counts(numbers: list[int]) -> str:
    low, high = min(numbers), max(numbers)
    return str(low) if low == high else f"{low} to {high}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
