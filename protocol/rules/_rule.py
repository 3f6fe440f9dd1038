"""What every rule has: its id, its reason, its mend, its source, and examples that tests run."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding, Place, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial


@dataclass(frozen=True, slots=True)
class Example:
    """Parts of files, each laid over a sound file of its kind.

    Parameters
    ----------
    protocol, trial : str
        YAML. The names under `loading`, `conditions`, `measures`, `noise` and `worthwhile` are
        those of the example alone; a session is laid over the one with its id; a key without a
        value takes that key away.
    runs : str
        Rows of the table, each in place of the row with the same session, set point, double run
        and direction.
    """

    protocol: str = ""
    trial: str = ""
    runs: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule.

    Parameters
    ----------
    id : str
        In plain words, kebab case; the file has the same name in snake case.
    severity : Severity
    title : str
        What is found, in one sentence.
    looks_at : tuple of str
        Keys of the file, as dotted paths; for the table of runs, `runs: column`.
    why : str
        Why it matters, in two sentences.
    fix : str
        How to mend it.
    source : str
        The standard or text with its section, or "common practice".
    passes, fails : Example
        On which it stays silent, and on which it speaks.
    at_limit : Example, optional
        With the value exactly at the limit, on which it stays silent; for rules with a limit.
    """

    id: str
    severity: Severity
    title: str
    looks_at: tuple[str, ...]
    why: str
    fix: str
    source: str
    passes: Example
    fails: Example
    at_limit: Example | None = None

    def found(
        self,
        place: Place | None,
        message: str,
        fix: str = "",
        *,
        session: str | None = None,
        run: str | None = None,
    ) -> Finding:
        """A finding of this rule; `fix` where the case at hand knows a better one than the rule."""
        return Finding(
            self.id, self.severity, message, fix or self.fix, place, self.source, session, run
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ProtocolRule(Rule):
    """A rule on a protocol: can this method show what it claims?"""

    check: Callable[[Protocol], Iterator[Finding]]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialRule(Rule):
    """A rule on what a trial file says was run."""

    check: Callable[[Trial], Iterator[Finding]]
