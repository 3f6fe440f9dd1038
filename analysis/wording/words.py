"""Names and counts in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from slackwater.protocol.findings import Finding, Severity


def quantity_title(name: str) -> str:
    """The quantity in words."""
    return name.replace("_", " ")


def count_of(number: int, noun: str) -> str:
    """The number with its noun, plural where there is not just one."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def listed(items: Sequence[str]) -> str:
    """The items in a row: "S1", "S1 and S2", "S1, S2 and S3"."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def severities(findings: Iterable[Finding]) -> str:
    """How many findings of each severity: "1 error, 2 warnings"; empty without any."""
    found = [finding.severity for finding in findings]
    nouns = {
        Severity.ERROR: ("error", "errors"),
        Severity.WARNING: ("warning", "warnings"),
        Severity.ADVICE: ("piece of advice", "pieces of advice"),
    }
    counts = {severity: found.count(severity) for severity in nouns}
    return ", ".join(
        f"{count} {nouns[severity][count > 1]}" for severity, count in counts.items() if count
    )
