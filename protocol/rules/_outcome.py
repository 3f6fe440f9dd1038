"""What comes of a rule: held, broken, waived, not applicable, or not to be looked at.

A rule yields what it finds. It yields as well why it does not apply (`NotApplicable`) and what it
could not look at (`Unseen`), so that silence means that it looked and found nothing.

Which of the two it is: a rule does not apply where the method has nothing of the kind it looks at,
or where another rule speaks of what is absent. It cannot look where something that it needs is not
declared or not recorded.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding

if TYPE_CHECKING:
    from slackwater.protocol.rules._rule import Rule


class Outcome(StrEnum):
    """What came of a rule."""

    HELD = "held"
    BROKEN = "broken"
    WAIVED = "waived"
    NOT_APPLICABLE = "not applicable"
    UNSEEN = "could not be looked at"


@dataclass(frozen=True, slots=True)
class Unseen:
    """What a rule could not look at, in whole or in part.

    Parameters
    ----------
    rule : str
    why : str
        What is missing.
    lets : str
        What would let it look.
    """

    rule: str
    why: str
    lets: str


@dataclass(frozen=True, slots=True)
class NotApplicable:
    """That a rule has nothing to look at here, and why."""

    rule: str
    why: str


#: What a rule may say of a file.
Said = Finding | Unseen | NotApplicable


@dataclass(frozen=True, slots=True)
class Lack:
    """That something a rule needs is not there.

    Parameters
    ----------
    why : str
    lets : str
        What would let the rule look; empty where it has nothing to look at, so that it does not apply.
    """

    why: str
    lets: str = ""

    def of(self, rule: str) -> Unseen | NotApplicable:
        """The same, said by a rule."""
        return Unseen(rule, self.why, self.lets) if self.lets else NotApplicable(rule, self.why)


@dataclass(frozen=True, slots=True)
class Looked:
    """A rule applied to a file, with what came of it.

    Parameters
    ----------
    rule : Rule
    outcome : Outcome
        Broken where anything found stands; waived where all of it is; held only where the whole was
        looked at.
    why : str
        Why it was waived or does not apply; empty otherwise.
    found : tuple of Finding
        What it found, waived or not.
    unseen : tuple of Unseen
        What it could not look at; of a broken rule too.
    """

    rule: Rule
    outcome: Outcome
    why: str = ""
    found: tuple[Finding, ...] = ()
    unseen: tuple[Unseen, ...] = ()


def looked(rule: Rule, said: Iterable[Said], waived: str | None) -> Looked:
    """What came of a rule, from what it said and the reason for which it is waived, if it is."""
    every = tuple(said)
    found = tuple(one for one in every if isinstance(one, Finding))
    unseen = tuple(one for one in every if isinstance(one, Unseen))
    beside = [one.why for one in every if isinstance(one, NotApplicable)]
    if found:
        outcome = Outcome.BROKEN if waived is None else Outcome.WAIVED
        return Looked(rule, outcome, waived or "", found, unseen)
    if unseen:
        return Looked(rule, Outcome.UNSEEN, unseen=unseen)
    if beside:
        return Looked(rule, Outcome.NOT_APPLICABLE, "; ".join(beside))
    return Looked(rule, Outcome.HELD)
