"""Whether a verdict is final, or the trial goes on."""

from __future__ import annotations

from dataclasses import replace

from slackwater.analysis.verdict.judgement import Judged
from slackwater.analysis.verdict.looks import Look
from slackwater.analysis.verdict.verdicts import Word


def marked(judged: Judged, look: Look) -> Judged:
    """The comparisons with a word on whether their verdicts are final."""
    rows = []
    for row in judged.rows:
        final = look.final(row.verdict.established)
        reason = row.reason
        if not final and row.verdict is not Word.UNTESTABLE:
            reason = f"{reason}; {look.caveat}"
        rows.append(replace(row, final=final, reason=reason))
    return replace(judged, rows=tuple(rows))
