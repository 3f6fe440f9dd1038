"""The statement as a document for a word processor (DOCX), by python-docx where that is installed."""

from __future__ import annotations

import io
from functools import partial
from typing import TYPE_CHECKING, Any

from slackwater.analysis.report.statement.layout import INTRODUCTION, LIMITS, parts
from slackwater.analysis.report.statement.picture import paint
from slackwater.analysis.report.svg import save
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.statement.contents import Statement
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.office_files import without_times

if TYPE_CHECKING:
    from docx.document import Document


def installed() -> bool:
    """Whether python-docx is there."""
    from importlib.util import find_spec

    return find_spec("docx") is not None


def render(statement: Statement) -> bytes:
    """The document's bytes.

    Raises
    ------
    ModuleNotFoundError
        Without python-docx.
    """
    from docx import Document as new
    from docx.shared import Cm

    document = new()
    document.core_properties.title = printable(statement.title or statement.trial)
    document.core_properties.author = ""
    document.core_properties.comments = "made by slackwater statement"
    document.add_heading(printable(statement.title or statement.trial), level=0)
    document.add_paragraph(INTRODUCTION)
    document.add_paragraph(printable(" ".join(statement.run)))
    found = parts(statement)
    for part in found:
        document.add_heading(printable(part.heading), level=1)
        if part.sentences:
            document.add_paragraph(printable(" ".join(part.sentences)))
        if part.sheet is not None:
            _table(document, part.sheet)
        if part is found[0] and statement.pictured is not None:
            image = save(partial(paint, statement.pictured), "png")
            document.add_picture(io.BytesIO(image), width=Cm(13))
            document.add_paragraph(printable(statement.caption), style="Caption")
    for heading, items in (
        ("What this trial does not tell", (*statement.cannot_tell, LIMITS)),
        ("Notes", statement.footnotes),
        ("Files", statement.provenance),
    ):
        document.add_heading(heading, level=1)
        for item in items:
            document.add_paragraph(printable(item), style="List Bullet")
    sink = io.BytesIO()
    document.save(sink)
    return without_times(sink.getvalue())


def _table(document: Document, sheet: Sheet) -> None:
    from docx.enum.text import WD_ALIGN_PARAGRAPH

    made: Any = document.add_table(rows=1, cols=len(sheet.headings), style="Light List Accent 1")
    for cells, row in ((made.rows[0].cells, sheet.headings), *((None, r) for r in sheet.rows)):
        here = cells if cells is not None else made.add_row().cells
        for number, text in enumerate(row):
            here[number].text = printable(text)
            if number in sheet.figures:
                here[number].paragraphs[0].alignment = WD_ALIGN_PARAGRAPH.RIGHT
