"""What the rules found, as text: each finding with its place, then the count."""

from __future__ import annotations

from slackwater.analysis.checking.check_result import CheckResult
from slackwater.analysis.wording.gathering import gathered
from slackwater.analysis.wording.words import severities


def count(result: CheckResult) -> str:
    """The line that counts: what is one fact counts once."""
    checked, files = result.checked, len(result.seen)
    waived = f", {len(checked.waived)} waived" if checked.waived else ""
    why = "; 'slackwater explain RULE' says why" if checked.findings else ""
    found = severities(gathered(checked.findings)) or "nothing found"
    return f"{found}{waived} in {files} file{'' if files == 1 else 's'}{why}"


def render(result: CheckResult) -> str:
    """The findings as text."""
    lines = [each.render() for each in gathered(result.checked.findings)]
    for waiver in result.waivers():
        silenced = waiver["silenced"]
        told = f"silences {silenced}" if silenced else "silences nothing"
        lines.append(f"{waiver['file']}: waived [{waiver['rule']}], {told}: {waiver['reason']}")
    lines.append(count(result))
    return "\n".join(lines) + "\n"
