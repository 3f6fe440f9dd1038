"""What a design repeats within a session, in its own word: double runs, raters, or tries of a manoeuvre."""

from __future__ import annotations

from dataclasses import replace

from slackwater.analysis.planning.plan_model import Question
from slackwater.analysis.report.text_table import Sheet

_OF_A_SESSION = {
    "rater": "Raters are those of a session.",
    "pair of tries": "A pair of tries is one each way, in a session.",
    "try": "Tries are those of a session.",
}


def in_words(question: Question, text: str) -> str:
    """A text on double runs as it reads where something else is repeated."""
    one, several = question.repeats, question.several
    if one == "double run":
        return text
    for old, new in (
        (" at each set point", ""),
        (" at one set point", ""),
        (", taken as the same at all set points", ""),
        ("Double runs are those of a set point within a session.", _OF_A_SESSION[one]),
        ("double runs", several),
        ("Double runs", several.capitalize()),
        ("double run", one),
        ("Double run", one.capitalize()),
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
