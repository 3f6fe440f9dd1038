"""What the rules found in the files given, as an answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.checking.examine import Examined
from slackwater.analysis.checking.explaining import subject
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._applied import Checked
from slackwater.protocol.rules._outcome import Looked, Outcome
from slackwater.protocol.rules._rule import ProtocolRule

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, repr=False)
class CheckResult(Answer):
    """Files looked over.

    Attributes
    ----------
    seen : tuple of Examined
        One for each file.
    checked : Checked
        The findings of all of them, by file and line, each once.
    """

    kind: ClassVar[str] = "check"
    seen: tuple[Examined, ...]
    checked: Checked

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Those that stand."""
        return self.checked.findings

    @property
    def usable(self) -> bool:
        """Whether every file could be used."""
        return all(each.usable for each in self.seen)

    @property
    def clean(self) -> bool:
        """Whether nothing was found but advice."""
        return all(each.severity is Severity.ADVICE for each in self.findings)

    @property
    def table(self) -> pd.DataFrame:
        """A row a finding."""
        import pandas as pd

        return pd.DataFrame([each.to_dict() for each in self.findings])

    @property
    def summary(self) -> str:
        """How many findings of which severity."""
        from slackwater.analysis.wording.words import severities

        files = len(self.seen)
        found = severities(self.findings) or "nothing found"
        return f"{found} in {files} file{'' if files == 1 else 's'}"

    def unseen(self) -> list[tuple[tuple[str, ...], str, str]]:
        """What could not be looked at: the rules that lack the same, why, and what would let them.

        Before the trial that is of its protocol alone; once the runs are there, of trial and runs, which
        then tell what of the protocol was open.
        """
        rows: dict[tuple[str, str], dict[str, None]] = {}
        for each in self.seen:
            before = any(one.rule == "no-runs-yet" for one in each.checked.findings)
            after = not before and any(_of_runs(row) for row in each.checked.looked)
            for row in each.checked.looked:
                of_method = isinstance(row.rule, ProtocolRule)
                if (before and not of_method) or (after and of_method):
                    continue
                for one in row.unseen:
                    rows.setdefault((one.why, one.lets), {})[one.rule] = None
        return [(tuple(rules), why, lets) for (why, lets), rules in rows.items()]

    def waivers(self) -> list[dict[str, Any]]:
        """Every waiver declared, with how much it silences."""
        declared = {
            (file, waiver.rule): waiver.reason
            for each in self.seen
            for file, waiver in each.waivers
        }
        silenced = [waived.finding.rule for waived in self.checked.waived]
        return [
            {"file": file, "rule": rule, "reason": reason, "silenced": silenced.count(rule)}
            for (file, rule), reason in declared.items()
        ]

    def to_dict(self) -> dict[str, Any]:
        """The record of every file, then the findings of all, as JSON carries them."""
        return {
            **head(),
            "files": [each.record.to_dict() for each in self.seen],
            "findings": [each.to_dict() for each in self.checked.findings],
            "not_looked_at": [
                {"rules": list(rules), "why": why, "lets": lets}
                for rules, why, lets in self.unseen()
            ],
            "waivers": self.waivers(),
            "waived": [
                each.finding.to_dict() | {"reason": each.reason} for each in self.checked.waived
            ],
        }


def _of_runs(row: Looked) -> bool:
    """Whether a rule on the runs could look."""
    return row.outcome is not Outcome.UNSEEN and subject(row.rule) == "runs"


def checked_files(seen: Sequence[Examined]) -> CheckResult:
    """All findings by file and line; one that two trials share by their protocol is told once."""
    findings = dict.fromkeys(one for each in seen for one in each.checked.findings)
    waived = dict.fromkeys(one for each in seen for one in each.checked.waived)
    together = Checked(
        tuple(sorted(findings, key=_order)),
        tuple(sorted(waived, key=lambda each: _order(each.finding))),
        tuple(row for each in seen for row in each.checked.looked),
    )
    return CheckResult(tuple(seen), together)


def _order(finding: Finding) -> tuple[str, int, int]:
    place = finding.place
    return (place.file, place.line or 0, place.column or 0) if place else ("", 0, 0)
