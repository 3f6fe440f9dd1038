"""The letter to the author: what was read, what was found, what is asked, and how to answer.

It is written so that it could be answered by somebody who had nothing to hide and nothing to gain: it
states what the figures and the runs say, never what anybody meant by them.
"""

from __future__ import annotations

from dataclasses import dataclass

from slackwater.analysis.audit.outcome import AuditResult, ClaimAudit
from slackwater.analysis.audit.reply_form import form
from slackwater.analysis.audit.to_the_author import Question
from slackwater.analysis.audit.verdict_rules import ClaimWord

#: A verdict as one would say it to the person whose figures they are.
FOUND: dict[str, str] = {
    ClaimWord.UPHELD: "The runs bear this out.",
    ClaimWord.COMPATIBLE: "The runs bear out the direction; the size is one of several they allow.",
    ClaimWord.WITHIN_NOISE: "This may well be so; with what we have, chance alone could give it too.",
    ClaimWord.OVERSTATED: "The runs bear out the direction, and a smaller size than is stated.",
    ClaimWord.UNDERSTATED: "The runs bear out the direction, and a larger size than is stated.",
    ClaimWord.REFUTED: "The runs we have do not allow this figure; we may be missing something.",
    ClaimWord.CONTRADICTED: "The runs we have show the opposite; we may be missing something.",
    ClaimWord.INCONSISTENT: "As we read them, the figures printed here do not fit each other.",
    ClaimWord.UNTESTABLE: "We cannot tell either way with what we have.",
}
OPENING = (
    "We have read what is named above and looked at the figures in it: whether they fit each other, "
    "and what they can be held against. This letter says what we found, and asks for what would "
    "settle the rest. It is about figures. It is no judgement of a person or of a product, and where "
    "we cannot tell, the claim may well be true."
)
ASKING = (
    "An answer to any of these helps, and none is a condition for the others. Each says why it is "
    "asked and where its answer goes in the form."
)
ANSWERING = (
    "The form below can be filled in with any text editor and sent back; it holds a question mark "
    "wherever an answer is wanted, and what stays a question mark is taken as not said. Words in a "
    "letter do as well. If the table of single runs can be had, it serves best as a spreadsheet with "
    "one row for each run: session, configuration, set point, direction, start, and what was read, "
    "units in the headings, and the runs that were left out with the reason; the form then takes its "
    "name under 'runs'."
)
CLOSING = (
    "We shall look at the figures again with whatever you send, and tell you what comes of it. Where we "
    "have read you wrongly, please say so; we shall put it right."
)


@dataclass(frozen=True, slots=True)
class Asked:
    """A question with its number, and the claims that it is about."""

    number: int
    question: Question
    about: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Letter:
    """What the letter says; the renderers put it on paper.

    Attributes
    ----------
    result : AuditResult
    claims : tuple of (ClaimAudit, str)
        Each claim with what was found of it, in a sentence for its author.
    asked : tuple of Asked
    sources : tuple of str
        All that the letter rests on.
    form : str
        The reply form, as text.
    """

    result: AuditResult
    claims: tuple[tuple[ClaimAudit, str], ...]
    asked: tuple[Asked, ...]
    sources: tuple[str, ...]
    form: str


def letter(result: AuditResult) -> Letter:
    """The letter to the author of audited claims."""
    return Letter(
        result,
        tuple((claim, FOUND[claim.verdict]) for claim in result.claims),
        tuple(_asked(result)),
        _sources(result),
        form(result),
    )


def _asked(result: AuditResult) -> list[Asked]:
    every = [claim.id for claim in result.claims]
    found = []
    for number, question in enumerate(result.asked, start=1):
        about = [claim.id for claim in result.claims if question in claim.asked]
        found.append(Asked(number, question, () if about == every else tuple(about)))
    return found


def _sources(result: AuditResult) -> tuple[str, ...]:
    """What the questions and the checks that found something rest on, each once."""
    named = [question.source for question in result.asked]
    named += [r.source for c in result.claims for r in c.reasons if r.source]
    return tuple(dict.fromkeys(one for source in named for one in source.split("; ")))
