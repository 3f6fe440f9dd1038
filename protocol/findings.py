"""Findings: what is wrong, where, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

#: Characters of a message; what a file holds may be quoted in it.
LONGEST = 1200


class Severity(StrEnum):
    """How much a finding weighs. Only an error stops the work."""

    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"


@dataclass(frozen=True, slots=True)
class Place:
    """A position in a file, counted as a person counts: the first line is 1, the first column is 1."""

    file: str
    line: int | None = None
    column: int | None = None
    excerpt: str = ""

    def __str__(self) -> str:
        return ":".join(
            str(part) for part in (self.file, self.line, self.column) if part is not None
        )


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found wanting, with its mend.

    Parameters
    ----------
    rule : str
        Id in plain words, kebab case.
    message, fix : str
        What was found and what is needed; what to do.
    place : Place, optional
        Where it stands.
    source : str
        The standard or text behind the rule, or "common practice".
    session, run : str, optional
        Which part of a trial it touches.
    """

    rule: str
    severity: Severity
    message: str
    fix: str = ""
    place: Place | None = None
    source: str = ""
    session: str | None = None
    run: str | None = None

    def __post_init__(self) -> None:
        # A name of half a megabyte is quoted by its beginning and its end.
        object.__setattr__(self, "message", shortened(self.message))
        object.__setattr__(self, "fix", shortened(self.fix))

    def to_dict(self) -> dict[str, str | int | None]:
        """The finding as the JSON output carries it."""
        place = self.place
        return {
            "rule": self.rule,
            "severity": self.severity.value,
            "file": place.file if place else None,
            "line": place.line if place else None,
            "column": place.column if place else None,
            "session": self.session,
            "run": self.run,
            "message": self.message,
            "fix": self.fix,
            "source": self.source,
        }

    def render(self) -> str:
        """The finding as plain text: place, severity, message, rule; the line; the mend."""
        head = f"{self.severity.value}: {self.message} [{self.rule}]"
        lines = [f"{self.place}: {head}" if self.place else head]
        if self.place and self.place.excerpt:
            lines.append(f"    {self.place.excerpt}")
            if self.place.column is not None and self.place.column <= len(self.place.excerpt) + 1:
                # Tabs are kept, so that the caret stands under its column in any terminal.
                lead = self.place.excerpt[: self.place.column - 1]
                lines.append("    " + "".join("\t" if c == "\t" else " " for c in lead) + "^")
        if self.fix:
            lines.append(f"    fix: {self.fix}")
        return "\n".join(lines)


def shortened(text: str, longest: int = LONGEST) -> str:
    """The text, its middle left out where it is longer than any sentence."""
    if len(text) <= longest:
        return text
    return f"{text[: longest // 2]} … {text[-longest // 4 :]}"


class InputError(Exception):
    """Input that cannot be used; carries every finding, not only the first."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(finding.render() for finding in self.findings))
