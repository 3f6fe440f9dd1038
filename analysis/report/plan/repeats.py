"""What a design repeats within a session, in its own word: double runs, or the raters of a rating."""

from __future__ import annotations

from dataclasses import replace

from slackwater.analysis.planning.plan_model import Question
from slackwater.analysis.report.text_table import Sheet


def in_words(question: Question, text: str) -> str:
    """A text on double runs as it reads where raters are repeated."""
    if question.repeats == "double run":
        return text
    for old, new in (
        (" at each set point", ""),
        (" at one set point", ""),
        (
            "Double runs are those of a set point within a session.",
            "Raters are those of a session.",
        ),
        ("double run", question.repeats),
        ("Double run", question.repeats.capitalize()),
    ):
        text = text.replace(old, new)
    return text


def in_sheet(question: Question, sheet: Sheet) -> Sheet:
    """The same for a table."""
    return replace(
        sheet,
        name=in_words(question, sheet.name),
        headings=tuple(in_words(question, each) for each in sheet.headings),
        rows=tuple(tuple(in_words(question, cell) for cell in row) for row in sheet.rows),
        note=in_words(question, sheet.note),
    )
