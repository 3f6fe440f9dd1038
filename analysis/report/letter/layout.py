"""What the forms of the letter share: headings of claims, and where an answer goes."""

from __future__ import annotations

from slackwater.analysis.audit.letter import Asked
from slackwater.analysis.audit.outcome import AuditResult, ClaimAudit
from slackwater.analysis.audit.to_the_author import Question
from slackwater.analysis.report.audit import words


def claim_heading(result: AuditResult, claim: ClaimAudit) -> str:
    """A claim in a line: its id, what it is of, what is stated."""
    stated = words.stated(claim)
    return f"{claim.id}: {words.subject(result, claim)}{f'; {stated}' if stated else ''}"


def where(asked: Asked) -> str:
    """The claims that a question is about."""
    noun = "claim" if len(asked.about) == 1 else "claims"
    return f"about {noun} {', '.join(asked.about)}"


def place_of(question: Question) -> str:
    """Where the answer goes."""
    return (
        f"'{question.key}' in the form" if question.key else "in words, under 'answers' in the form"
    )
