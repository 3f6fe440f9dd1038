"""The record of conformity: each rule with its outcome, the clauses behind it, and of which bytes.

It is what a body that answers for a trial would file: what was held, what was broken, what was waived
and why, what did not apply, and what could not be looked at and why. No clock is read for it, so that
the same files give the same record; who files it writes the day on it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from slackwater.analysis.checking.explaining import subject
from slackwater.analysis.checking.identity import Identity
from slackwater.protocol.findings import Finding
from slackwater.protocol.rules._applied import Checked
from slackwater.protocol.rules._outcome import Looked, Outcome
from slackwater.protocol.rules._sources import clauses

#: Of two outcomes of one rule, that of the protocol and that of the trial, the one further up counts.
_WORST = (
    Outcome.BROKEN,
    Outcome.WAIVED,
    Outcome.UNSEEN,
    Outcome.HELD,
    Outcome.NOT_APPLICABLE,
)


@dataclass(frozen=True, slots=True)
class Record:
    """What came of every rule in one file.

    Parameters
    ----------
    file : str
        As it was given.
    identity : Identity or None
        None where the file could not be used.
    rows : tuple of Looked
        A row a rule, by what the rule looks at and by its id; none where the file is neither a
        protocol nor a trial.
    others : tuple of Finding
        What reading the files found, which comes from no rule.
    """

    file: str
    identity: Identity | None
    rows: tuple[Looked, ...]
    others: tuple[Finding, ...]

    @property
    def counts(self) -> dict[str, int]:
        """How many rules have which outcome; all five, nought where there is none."""
        found = Counter(row.outcome for row in self.rows)
        return {outcome.value: found[outcome] for outcome in Outcome}

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        return {
            "file": self.file,
            "of": self.identity.to_dict() if self.identity else None,
            "counts": self.counts,
            "rules": [_row(row) for row in self.rows],
            "reading": [finding.to_dict() for finding in self.others],
        }


def record_of(file: str, identity: Identity | None, checked: Checked) -> Record:
    """The record of one file."""
    rows: dict[str, Looked] = {}
    for row in checked.looked:
        before = rows.get(row.rule.id)
        rows[row.rule.id] = row if before is None else _joined(before, row)
    of_rules = {id(one) for row in checked.looked for one in row.found}
    others = tuple(one for one in checked.findings if id(one) not in of_rules)
    return Record(file, identity, tuple(sorted(rows.values(), key=_order)), others)


def _joined(one: Looked, other: Looked) -> Looked:
    first, second = sorted((one, other), key=lambda row: _WORST.index(row.outcome))
    return Looked(
        first.rule,
        first.outcome,
        first.why,
        (*first.found, *second.found),
        (*first.unseen, *second.unseen),
    )


_SUBJECTS = ("protocol", "trial", "runs")


def _order(row: Looked) -> tuple[int, str]:
    return _SUBJECTS.index(subject(row.rule)), row.rule.id


def _row(row: Looked) -> dict[str, Any]:
    return {
        "rule": row.rule.id,
        "subject": subject(row.rule),
        "severity": row.rule.severity.value,
        "title": row.rule.title,
        "outcome": row.outcome.value,
        "why": row.why or None,
        "clauses": [clause.to_dict() for clause in clauses(row.rule.source)],
        "found": [finding.to_dict() for finding in row.found],
        "could_not_look": [{"why": one.why, "lets": one.lets} for one in row.unseen],
    }


def works(rows: Iterable[Looked]) -> dict[str, list[tuple[str, Outcome, str]]]:
    """What the record says of each work that its rules rest on: rule, outcome and clause."""
    from slackwater.protocol.rules._sources import by_work

    outcomes = {row.rule.id: row.outcome for row in rows}
    found = by_work([row.rule for row in rows])
    return {
        work: [(rule.id, outcomes[rule.id], clause.at) for clause, rule in each]
        for work, each in found.items()
    }
