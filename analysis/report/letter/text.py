"""The letter as plain text, ready to be pasted into a message."""

from __future__ import annotations

import textwrap

from slackwater.analysis.audit.letter import (
    ANSWERING,
    ASKING,
    CLOSING,
    OPENING,
    Asked,
    Letter,
)
from slackwater.analysis.report.audit import words
from slackwater.analysis.report.letter.layout import claim_heading, place_of, where
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import NBSP

_WIDTH = 78


def render(letter: Letter) -> str:
    """The letter as text, 78 columns wide; the form, which is not to be broken, stands at its end."""
    result = letter.result
    blocks = [
        _wrapped(f"To the author of: {result.title}"),
        "",
        "Dear author,",
        "",
        _wrapped(OPENING),
    ]
    blocks += [_wrapped(sentence) for sentence in words.seals(result)]
    blocks += ["", "What we read, and what we found", ""]
    for number, (claim, found) in enumerate(letter.claims, start=1):
        blocks.append(_wrapped(f"{number}. {claim_heading(result, claim)}", 0, 3))
        if claim.says:
            blocks.append(_wrapped(f'"{claim.says}"', 3))
        blocks.append(_wrapped(f"{found} {claim.why}", 3))
    if letter.asked:
        blocks += ["", "What we should like to ask", "", _wrapped(ASKING), ""]
        blocks += [_question(asked) for asked in letter.asked]
        blocks += ["", "How to answer", "", _wrapped(ANSWERING)]
    blocks += ["", _wrapped(CLOSING), "", "With kind regards,", "", "(name, address, date)"]
    blocks += ["", "What this rests on", ""]
    blocks += [_wrapped(f"- {source}", 0, 2) for source in letter.sources]
    blocks += ["", _wrapped(words.LIMITS)]
    if letter.asked:
        blocks += ["", "--- the form, to be filled in and sent back ---", "", letter.form.rstrip()]
    return "\n".join(blocks) + "\n"


def _question(asked: Asked) -> str:
    question = asked.question
    about = f" ({where(asked)})" if asked.about else ""
    lines = [
        _wrapped(f"{asked.number}. {question.text}{about}", 0, 3),
        _wrapped(f"Why: {question.why} [{question.source}]", 3),
        _wrapped(f"Answer: {place_of(question)}", 3),
    ]
    return "\n".join(lines)


def _wrapped(text: str, indent: int = 0, hang: int = 0) -> str:
    lead = " " * indent
    return textwrap.fill(
        printable(" ".join(text.split())),
        _WIDTH,
        initial_indent=lead,
        subsequent_indent=lead + " " * hang,
        break_on_hyphens=False,
    ).replace(NBSP, " ")
