"""The words a table has for the two directions, looked at once for the whole column."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence

from slackwater.analysis.intake.cells import is_missing
from slackwater.analysis.intake.grid import Row, plain, quoted
from slackwater.analysis.intake.headings import Column, split_heading
from slackwater.analysis.intake.labels import is_summary
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.runs import Rules

#: Pairs in use, the one usually taken as `out` first: common practice.
OPPOSITE = (
    ("n", "s"), ("north", "south"), ("e", "w"), ("east", "west"), ("ne", "sw"), ("nw", "se"),
    ("up", "down"), ("upstream", "downstream"), ("against", "with"), ("outward", "inward"),
    ("outbound", "inbound"), ("there", "back"), ("forth", "back"), ("go", "return"), ("a", "b"),
    ("1", "2"), ("+", "-"),
)  # fmt: skip
MEANT = {"out": "out", "back": "back"}


def unknown_words(rows: Sequence[Row], column: Column, known: Collection[str]) -> Counter[str]:
    """How often each word that is no direction stands in the column, as it is spelt first."""
    spelt: dict[str, str] = {}
    found: Counter[str] = Counter()
    for row in rows:
        cell = row.cells[column.index]
        word = plain(cell)
        if is_missing(cell) or word.casefold() in known or is_summary(word):
            continue
        found[spelt.setdefault(word.casefold(), word)] += 1
    return found


def are_degrees(words: Collection[str]) -> bool:
    """Whether words in a column of directions are headings steered, and no numbers for the two ways."""
    return all(map(_is_number, words)) and not {*words} <= {"0", "1", "2"}


def proposed(words: Collection[str]) -> dict[str, str]:
    """Which of two words is `out` and which `back`; empty where they do not make a pair.

    Nothing depends on which is which, as long as it is the same throughout.
    """
    folded = {word.casefold(): word for word in words}
    for out, back in OPPOSITE:
        if folded.keys() == {out, back}:
            return {folded[out]: "out", folded[back]: "back"}
    return dict(zip(words, ("out", "back"), strict=True)) if len(folded) == 2 else {}


def tell_direction_words(
    rows: Sequence[Row], column: Column, rules: Rules, problems: Problems
) -> frozenset[str]:
    """Tell words that are no direction, once where they are a habit of the table.

    Returns
    -------
    frozenset of str
        The words told, in small letters; a slip among sound words is left to its own row.
    """
    found = unknown_words(rows, column, {*MEANT, *rules.directions})
    if sum(found.values()) <= max(len(rows) // 4, 1):
        return frozenset()
    told = frozenset(word.casefold() for word in found)
    first = next(row for row in rows if plain(row.cells[column.index]).casefold() in told)
    listed = ", ".join(f"{quoted(word)} ({count} rows)" for word, count in found.most_common(6))
    problems.error(
        "direction-unknown",
        f"the column {quoted(column.heading)} holds words that are neither out nor back: {listed}",
        _mend(found, column),
        row=first,
        index=column.index,
    )
    return told


def _mend(found: Counter[str], column: Column) -> str:
    if are_degrees(found):
        own = split_heading(column.heading)[0]
        return (
            f'if these are headings, say so in the trial: columns: {{heading: "{own}"}} and '
            "units: {heading: deg}"
        )
    words = proposed(list(found))
    if words:
        pairs = ", ".join(f"{word}: {way}" for word, way in words.items())
        return (
            f"say so in the trial: directions: {{{pairs}}}; which of them is out does not matter, as "
            "long as it is the same throughout"
        )
    return "say in the trial what each of them is: directions: {WORD: out, WORD: back}"


def _is_number(word: str) -> bool:
    return word.strip(" °").replace(".", "", 1).isdecimal()
