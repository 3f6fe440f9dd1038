"""What every rule has: its id, its reason, its mend, its source, and examples that tests run."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding, Place, Severity
from slackwater.protocol.rules._outcome import Lack, NotApplicable, Said, Unseen

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
    ratings : str
        Rows of a table of ratings: session, item, rater, score.
    tries : str
        Rows of a table of tries: session, manoeuvre, direction, try, time_to_plane [s], helmsman.
    """

    protocol: str = ""
    trial: str = ""
    runs: str = ""
    ratings: str = ""
    tries: str = ""


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

    def unseen(self, why: str, lets: str) -> Unseen:
        """That it could not look, in whole or in part: what is missing, and what would let it."""
        return Unseen(self.id, why, lets)

    def not_applicable(self, why: str) -> NotApplicable:
        """That there is nothing here for it to look at."""
        return NotApplicable(self.id, why)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProtocolRule(Rule):
    """A rule on a protocol: can this method show what it claims?

    `needs` are asked first, in order; where one of them lacks something, that is what the rule says.
    """

    check: Callable[[Protocol], Iterator[Said]]
    needs: tuple[Callable[[Protocol], Lack | None], ...] = ()

    def said(self, protocol: Protocol) -> Iterator[Said]:
        """What it says of a protocol."""
        lack = first_lack(need(protocol) for need in self.needs)
        return self.check(protocol) if lack is None else iter((lack.of(self.id),))


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialRule(Rule):
    """A rule on what a trial file says was run; `needs` as those of a protocol's rules."""

    check: Callable[[Trial], Iterator[Said]]
    needs: tuple[Callable[[Trial], Lack | None], ...] = ()

    def said(self, trial: Trial) -> Iterator[Said]:
        """What it says of a trial."""
        lack = first_lack(need(trial) for need in self.needs)
        return self.check(trial) if lack is None else iter((lack.of(self.id),))


def first_lack(lacks: Iterable[Lack | None]) -> Lack | None:
    """The first thing lacking; None where nothing is."""
    return next((lack for lack in lacks if lack is not None), None)
