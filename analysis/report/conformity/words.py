"""The record of conformity in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from slackwater.analysis.checking.explaining import subject
from slackwater.analysis.checking.record import Record
from slackwater.protocol.rules._outcome import Looked, Outcome

GROUPS = {
    Outcome.BROKEN: "Broken",
    Outcome.WAIVED: "Waived, with the reason given",
    Outcome.UNSEEN: "Could not be looked at",
    Outcome.NOT_APPLICABLE: "Not applicable",
    Outcome.HELD: "Held",
}
READING = (
    "A rule is held where the whole of what it looks at was there and nothing was found; broken where "
    "something was found that nobody waived; waived where the protocol or the trial gives a reason "
    "for it. A rule does not apply where the method has nothing of the kind, or where another rule "
    "speaks of what is missing. What could not be looked at is not known to be right. The record "
    "speaks of the files below by their SHA-256 and of no others. It says whether they keep the "
    "rules, not whether what they tell is true."
)
_SUBJECTS = {"protocol": "the protocol", "trial": "the trial", "runs": "the runs"}


@dataclass(frozen=True, slots=True)
class Line:
    """A rule as the page shows it.

    Parameters
    ----------
    rule, title, subject, severity, source : str
    told : tuple of str
        What was found, why it does not apply, or what could not be looked at and what would let it.
    """

    rule: str
    title: str
    subject: str
    severity: str
    source: str
    told: tuple[str, ...]


def title(records: Sequence[Record]) -> str:
    """Of the whole page."""
    if len(records) == 1:
        return heading(records[0])
    return f"{len(records)} files"


def heading(record: Record) -> str:
    """The title of what was looked over, else its file."""
    identity = record.identity
    return (identity.title or identity.id) if identity else record.file


def under(record: Record) -> str:
    """Kind, id and protocol, in a line."""
    identity = record.identity
    if identity is None:
        return "could not be used; what reading found is below"
    version = f" {identity.version}" if identity.version else ""
    if identity.kind == "protocol":
        return f"protocol {identity.protocol}{version}"
    return f"trial {identity.id}, protocol {identity.protocol}{version}"


def seal(record: Record) -> str:
    """What the seal says, as a sentence; empty where the file could not be used."""
    if record.identity is None:
        return ""
    message = record.identity.seal.message
    return f"{message[:1].upper()}{message[1:]}."


def summary(record: Record) -> str:
    """How many rules have which outcome."""
    if not record.rows:
        return "No rule was applied."
    counts = record.counts
    told = [f"{counts[Outcome.HELD]} of {len(record.rows)} rules held"]
    told += [
        f"{counts[outcome]} {words}"
        for outcome, words in (
            (Outcome.BROKEN, "broken"),
            (Outcome.WAIVED, "waived"),
            (Outcome.NOT_APPLICABLE, "not applicable"),
            (Outcome.UNSEEN, "could not be looked at, in whole or in part"),
        )
        if counts[outcome]
    ]
    return f"{'; '.join(told)}."


def group(record: Record, outcome: Outcome) -> list[Line]:
    """The rules with one outcome."""
    return [_line(row) for row in record.rows if row.outcome is outcome]


def _line(row: Looked) -> Line:
    rule = row.rule
    on = _SUBJECTS[subject(rule)]
    return Line(rule.id, rule.title, on, rule.severity.value, rule.source, tuple(_told(row)))


def _told(row: Looked) -> list[str]:
    told = [f"{one.place}: {one.message}" if one.place else one.message for one in row.found]
    if row.outcome is Outcome.WAIVED:
        told.insert(0, f"Reason: {row.why}")
    elif row.why:
        told.append(row.why)
    return told + [f"{one.why}; what would let it: {one.lets}" for one in row.unseen]
