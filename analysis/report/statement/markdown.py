"""The statement as Markdown, which is also how it reads on a terminal."""

from __future__ import annotations

import re

from slackwater.analysis.report.statement.layout import INTRODUCTION, LIMITS, parts
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.statement.contents import Statement
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import NBSP

# What Markdown would take for markup: nothing from a file becomes a link, a heading or HTML.
_SPECIAL = re.compile(r"([\\`*_\[\]<>|#])")


def render(statement: Statement, picture: str = "") -> str:
    """The statement as text.

    Parameters
    ----------
    picture : str
        Name of the file of its picture; without one there is none in the text.
    """
    found = parts(statement)
    lines = [f"# {_escaped(statement.title or statement.trial)}", "", INTRODUCTION, ""]
    lines += [" ".join(map(_escaped, statement.run)), ""]
    if not found:
        lines += ["No configurations were compared: there is nothing to state of them.", ""]
    for part in found:
        lines += [f"## {_escaped(part.heading)}", ""]
        if part.sentences:
            lines += [_escaped(" ".join(part.sentences)), ""]
        if part.sheet is not None:
            lines += [*_table(part.sheet), ""]
        if part is found[0] and picture and statement.caption:
            lines += [f"![{_escaped(statement.caption)}]({picture})", ""]
            lines += [f"*{_escaped(statement.caption)}*", ""]
    for heading, items in (
        ("What this trial does not tell", (*statement.cannot_tell, LIMITS)),
        ("Notes", statement.footnotes),
        ("Files", statement.provenance),
    ):
        lines += [f"## {heading}", "", *(f"- {_escaped(item)}" for item in items), ""]
    return "\n".join(lines).rstrip() + "\n"


def _escaped(text: str) -> str:
    return _SPECIAL.sub(r"\\\1", printable(text.replace(NBSP, " ")))


def _table(sheet: Sheet) -> list[str]:
    rule = [("--:" if number in sheet.figures else "---") for number in range(len(sheet.headings))]
    rows = [[_escaped(cell) for cell in row] for row in (sheet.headings, *sheet.rows)]
    return [_line(rows[0]), _line(rule), *(_line(row) for row in rows[1:])]


def _line(cells: list[str]) -> str:
    return f"| {' | '.join(cells)} |"
