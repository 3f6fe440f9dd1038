"""The letter as a document for a word processor (DOCX), by python-docx where that is installed."""

from __future__ import annotations

import io

from slackwater.analysis.audit.letter import ANSWERING, ASKING, CLOSING, OPENING, Letter
from slackwater.analysis.report.audit import words
from slackwater.analysis.report.letter.layout import claim_heading, place_of, where
from slackwater.analysis.wording.characters import printable


def render(letter: Letter) -> bytes:
    """The document's bytes.

    Raises
    ------
    ModuleNotFoundError
        Without python-docx.
    """
    from docx import Document as new
    from docx.shared import Pt

    result = letter.result
    document = new()
    document.core_properties.title = printable(result.title)
    document.core_properties.author = ""
    document.core_properties.comments = "made by slackwater audit --letter"

    def say(text: str, style: str | None = None) -> None:
        document.add_paragraph(printable(" ".join(text.split())), style=style)

    document.add_heading(printable(f"To the author of: {result.title}"), level=1)
    for text in ("Dear author,", OPENING, *words.seals(result)):
        say(text)
    document.add_heading("What we read, and what we found", level=2)
    for claim, found in letter.claims:
        say(claim_heading(result, claim), "List Number")
        if claim.says:
            say(f"\u201c{claim.says}\u201d")
        say(f"{found} {claim.why}")
    if letter.asked:
        document.add_heading("What we should like to ask", level=2)
        say(ASKING)
        for asked in letter.asked:
            about = f" ({where(asked)})" if asked.about else ""
            say(f"{asked.number}. {asked.question.text}{about}")
            say(f"Why: {asked.question.why} [{asked.question.source}]")
            say(f"Answer ({place_of(asked.question)}): ")
        document.add_heading("How to answer", level=2)
        say(ANSWERING)
    for text in (CLOSING, "With kind regards,", "(name, address, date)"):
        say(text)
    document.add_heading("What this rests on", level=2)
    for source in letter.sources:
        say(source, "List Bullet")
    say(words.LIMITS)
    if letter.asked:
        heading = document.add_heading("The form, to be filled in and sent back", level=2)
        heading.paragraph_format.page_break_before = True
        for line in letter.form.splitlines():
            run = document.add_paragraph().add_run(printable(line))
            run.font.name, run.font.size = "Courier New", Pt(9)
    sink = io.BytesIO()
    document.save(sink)
    return sink.getvalue()
