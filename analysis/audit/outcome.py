"""What an audit gives: reasons, a verdict a claim, and the whole as the JSON contract has it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.audit.method_words import METHOD
from slackwater.analysis.audit.to_the_author import Question
from slackwater.analysis.audit.verdict_rules import ClaimWord
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.protocol.findings import Finding
from slackwater.protocol.sealing.said import SealSaid

if TYPE_CHECKING:
    import pandas as pd

#: Verdicts on a claim, from the best to the one that cannot be given.
VERDICTS = tuple(str(word) for word in ClaimWord)

#: What a check can come to, beside the verdict words of the checks against data and noise.
AGREES, DISAGREES, FINDING, OPEN = "agrees", "disagrees", "finding", "open"


@dataclass(frozen=True, slots=True)
class Reason:
    """What one check came to.

    Attributes
    ----------
    check : str
        The check, kebab case.
    outcome : str
        agrees, disagrees, finding, open (cannot be checked), or a verdict word.
    message : str
        In a plain sentence.
    explanation : str
        For a disagreement, the slip that would explain it: a code such as wrong-base.
    likely : str
        The same in words.
    settle : str
        What would settle it.
    source : str
        The text behind the check, or "common practice".
    across : bool
        It rests on figures of other claims, so that data may settle which of them is right.
    """

    check: str
    outcome: str
    message: str
    explanation: str = ""
    settle: str = ""
    source: str = ""
    likely: str = ""
    across: bool = False

    def to_dict(self) -> dict[str, str]:
        """As the JSON has it; what is empty is left out but the three that are always there."""
        whole = {
            "check": self.check,
            "outcome": self.outcome,
            "message": self.message,
            "explanation": self.explanation,
            "likely": self.likely,
            "settle": self.settle,
            "source": self.source,
        }
        always = ("check", "outcome", "message")
        return {key: value for key, value in whole.items() if value or key in always}


@dataclass(frozen=True, slots=True)
class Conflict:
    """Claims that cannot all be true; no smaller set of them is at odds.

    Attributes
    ----------
    claims : tuple of str
        Their ids.
    message : str
    explanation, likely : str
        The slip that would explain it, as a code and in words; `unexplained` where none does.
    """

    claims: tuple[str, ...]
    message: str
    explanation: str = "unexplained"
    likely: str = ""

    def to_dict(self) -> dict[str, Any]:
        """The conflict as the JSON has it."""
        return {
            "claims": list(self.claims),
            "message": self.message,
            "explanation": self.explanation,
            "likely": self.likely,
        }


@dataclass(frozen=True, slots=True)
class Sheet:
    """A small table to follow a figure by: its caption, headings and rows of text."""

    caption: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class ClaimAudit:
    """One claim with its verdict.

    Attributes
    ----------
    id, quantity, baseline, modified, at : str
        As declared; `at` is empty when the claim names no place.
    says : str
        The sentence as published, or empty.
    verdict : str
        One of `VERDICTS`.
    why : str
        The verdict in a sentence a layman reads.
    stated : dict
        The figures as printed.
    stated_low, stated_high : float or None
        The change that the figures state, as an interval of their rounding; None for the end that a
        bound has not.
    stated_over_measured : float or None
        The size stated over the one that the trial measured. [1]
    recomputed : float or None
        The change from the trial's own comparison; without data what follows from the figures.
    low, high : float or None
        Its interval: the trial's, or the one that the noise known of gives.
    unit : str
        Of the four numbers above: "" for a fraction of the baseline, else that of a difference.
    reasons : tuple of Reason
    asked : tuple of Question
        To ask the author, ready to send.
    sheets : tuple of Sheet
        The numbers behind the recomputed figure, run by run.
    """

    id: str
    quantity: str
    baseline: str
    modified: str
    at: str
    says: str
    verdict: str
    why: str
    stated: dict[str, str]
    stated_low: float | None = None
    stated_high: float | None = None
    stated_over_measured: float | None = None
    recomputed: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    reasons: tuple[Reason, ...] = ()
    asked: tuple[Question, ...] = ()
    sheets: tuple[Sheet, ...] = ()

    @property
    def questions(self) -> tuple[str, ...]:
        """The questions alone."""
        return tuple(question.text for question in self.asked)

    def to_dict(self) -> dict[str, Any]:
        """The claim as the JSON has it."""
        return {
            "id": self.id,
            "quantity": self.quantity,
            "baseline": self.baseline,
            "modified": self.modified,
            "at": self.at or None,
            "verdict": self.verdict,
            "why": self.why,
            "stated": dict(self.stated),
            "stated_low": self.stated_low,
            "stated_high": self.stated_high,
            "stated_over_measured": self.stated_over_measured,
            "recomputed": self.recomputed,
            "low": self.low,
            "high": self.high,
            "unit": self.unit,
            "reasons": [reason.to_dict() for reason in self.reasons],
            "questions": list(self.questions),
            "behind": [
                {"caption": s.caption, "columns": list(s.headings), "rows": [*map(list, s.rows)]}
                for s in self.sheets
            ],
        }


@dataclass(frozen=True, slots=True)
class Replied:
    """What the author replied, as a reader of the audit has to know it.

    Attributes
    ----------
    by, file : str
    answers : tuple of (question, answer)
        Those in words; what was filled in elsewhere is in the claims.
    """

    by: str
    file: str
    answers: tuple[tuple[str, str], ...]

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        told = [{"question": question, "answer": answer} for question, answer in self.answers]
        return {"by": self.by or None, "file": self.file, "answers": told}


@dataclass(frozen=True, repr=False)
class AuditResult(Answer):
    """The audit of a file of claims.

    Attributes
    ----------
    title : str
        What was published.
    claims : tuple of ClaimAudit
    trial : str
        Id of the trial behind it, or empty.
    asked : tuple of Question
        To ask the author, those of all claims, each once.
    findings : tuple of Finding
        On the trial and its files.
    inputs : tuple of (role, name, SHA-256)
    noise : str
        In words, what noise was reckoned with and where it comes from.
    conflicts : tuple of Conflict
        Claims that cannot all be true.
    confidence : float
        Of the intervals. [1]
    reply : Replied or None
        What the author replied to a letter.
    seals : tuple of (what, SealSaid)
        What seals say of the claims and of the protocol of the trial behind them.
    """

    kind: ClassVar[str] = "audit"
    title: str
    claims: tuple[ClaimAudit, ...]
    trial: str = ""
    asked: tuple[Question, ...] = ()
    findings: tuple[Finding, ...] = ()
    inputs: tuple[tuple[str, str, str], ...] = ()
    noise: str = ""
    confidence: float = 0.95
    seals: tuple[tuple[str, SealSaid], ...] = ()
    reply: Replied | None = None
    names: dict[str, str] = field(default_factory=dict)
    conflicts: tuple[Conflict, ...] = ()

    @property
    def questions(self) -> tuple[str, ...]:
        """The questions alone."""
        return tuple(question.text for question in self.asked)

    @property
    def upheld(self) -> bool:
        """Whether every claim is upheld, and nothing that was sealed has changed."""
        kept = not any(said.lost for _, said in self.seals)
        return kept and all(claim.verdict == "upheld" for claim in self.claims)

    @property
    def counts(self) -> dict[str, int]:
        """How many claims have each verdict, in the order of `VERDICTS`."""
        found = Counter(claim.verdict for claim in self.claims)
        return {word: found[word] for word in VERDICTS if found[word]}

    @property
    def table(self) -> pd.DataFrame:
        """A row a claim; what is many-valued (reasons, questions) stays in `claims`."""
        import pandas as pd

        many = ("reasons", "questions", "behind", "stated")
        rows = [claim.to_dict() for claim in self.claims]
        return pd.DataFrame([{k: v for k, v in row.items() if k not in many} for row in rows])

    @property
    def summary(self) -> str:
        """How many claims have which verdict."""
        told = ", ".join(f"{count} {word}" for word, count in self.counts.items())
        lost = "not as sealed, " if any(said.lost for _, said in self.seals) else ""
        return f"{self.title}, {lost}{told or 'no claims'}"

    def to_dict(self) -> dict[str, Any]:
        """The audit as the JSON has it."""
        return {
            **head(),
            "title": self.title,
            "trial": self.trial or None,
            "noise": self.noise or None,
            "confidence": self.confidence,
            "reply": None if self.reply is None else self.reply.to_dict(),
            "seals": [{"of": what, **said.to_dict()} for what, said in self.seals],
            "method": list(METHOD),
            "counts": self.counts,
            "claims": [claim.to_dict() for claim in self.claims],
            "conflicts": [conflict.to_dict() for conflict in self.conflicts],
            "questions": list(self.questions),
            "asked": [question.to_dict() for question in self.asked],
            "findings": [finding.to_dict() for finding in self.findings],
            "inputs": [
                {"role": role, "name": name, "sha256": digest} for role, name, digest in self.inputs
            ],
        }
