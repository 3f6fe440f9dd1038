"""A plan as plain text: the answer, what it stands on, the tables, the caution."""

from __future__ import annotations

import textwrap

from slackwater import __version__
from slackwater.analysis.planning.plan_model import CAUTION, Plan
from slackwater.analysis.report import plan_tables, plan_words
from slackwater.analysis.report.characters import printable
from slackwater.analysis.report.numbers import NBSP
from slackwater.analysis.report.sheets import Sheet

WIDTH = 80


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


def render(plan: Plan) -> str:
    """The plan as text."""
    parts = [paragraph(plan_words.headline(plan)), paragraph(plan_words.support(plan))]
    parts += [paragraph(text, indent=2) for text in plan_words.details(plan)]
    for sheet in (plan_tables.matrix(plan), plan_tables.options(plan)):
        mark = plan_words.assumed_mark(plan.question)
        name = f"{sheet.name[0].upper()}{sheet.name[1:]}{mark}"
        parts.append(f"\n{paragraph(name)}\n{columns(sheet)}")
        if sheet.note:
            parts.append(paragraph(sheet.note, indent=2))
    parts.append(f"\n{paragraph(CAUTION)}")
    parts.append(f"\nslackwater {__version__}, seed {plan.seed}")
    return "\n".join(parts) + "\n"
