"""Trials whose figures are made up, for practice: marked wherever they show."""

from __future__ import annotations

import re

from slackwater.protocol.declared.trial import Trial
from slackwater.protocol.findings import Finding, Severity

MARK = "INVENTED"
#: The mark as a word of a cell.
MARKED = re.compile(rf"\b{MARK}\b")


def marked(text: str, trial: Trial) -> str:
    """A title with the mark, once, where the trial is invented; else as it is."""
    if not trial.invented or MARK in text:
        return text
    return f"{text} ({MARK})" if text else MARK


def invented_findings(trial: Trial) -> list[Finding]:
    """That nothing was measured, where the trial says so."""
    if not trial.invented:
        return []
    return [
        Finding(
            "invented-data",
            Severity.ADVICE,
            "the trial says that its figures are invented, for practice: nothing here is a result",
            "take 'invented: true' away only from a trial whose runs were measured",
            trial.document.place(("invented",)),
        )
    ]
