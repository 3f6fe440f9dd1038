"""A table ready to be written, and paragraphs and columns of plain text."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import NBSP

WIDTH = 80


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table ready to be written: its name, headings, rows of text, which columns hold figures."""

    name: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: frozenset[int] = frozenset()
    note: str = ""
    short: bool = False  # cells of text are a word or two and stay on one line


def paragraph(text: str, indent: int = 0) -> str:
    """A paragraph wrapped at the page's width; figures stay with their units."""
    lead = " " * indent
    text = printable(text).replace(" %", f"{NBSP}%")
    lines = textwrap.wrap(
        text, WIDTH, initial_indent=lead, subsequent_indent=lead, break_on_hyphens=False
    )
    return "\n".join(lines).replace(NBSP, " ")


def columns(sheet: Sheet) -> str:
    """A table in columns, figures to the right."""
    rows = [sheet.headings, *sheet.rows]
    count = len(sheet.headings)
    heads = [heading.split(" ") if len(heading) > 9 else [heading] for heading in sheet.headings]
    deep = max(len(words) for words in heads)
    head = [
        tuple(
            words[line - deep + len(words)] if line >= deep - len(words) else "" for words in heads
        )
        for line in range(deep)
    ]
    body = [*head, *rows[1:]]
    widths = [max(len(printable(row[i])) for row in body if i < len(row)) for i in range(count)]

    def line(row: tuple[str, ...]) -> str:
        cells = (
            printable(cell).rjust(widths[i])
            if i in sheet.figures
            else printable(cell).ljust(widths[i])
            for i, cell in enumerate(row)
        )
        return "  ".join(cells).rstrip()

    rule = "─" * len(line(tuple("x" * width for width in widths)))
    text = [*(line(row) for row in head), rule, *(line(row) for row in sheet.rows)]
    return "\n".join(text).replace(NBSP, " ")
