"""Rules applied: what they find, less what is waived.

A file with faults cannot be used, yet the rules can often be applied to what is left of it, so that
one run tells everything that is wrong.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.protocol_parts import Waiver
from slackwater.protocol.files.source import Document, Loc
from slackwater.protocol.findings import Finding
from slackwater.protocol.rules._outcome import Looked, Outcome, Said, Unseen, looked
from slackwater.protocol.rules._rule import ProtocolRule, Rule
from slackwater.protocol.units.quantity import QuantityError

MOST_REPAIRS = 20


@dataclass(frozen=True, slots=True)
class Waived:
    """A finding that is silenced, with the reason given."""

    finding: Finding
    reason: str


@dataclass(frozen=True, slots=True)
class Checked:
    """What rules found.

    Parameters
    ----------
    findings : tuple of Finding
    waived : tuple of Waived
        Silenced, and shown in every report all the same.
    looked : tuple of Looked
        Every rule that was applied, with what came of it. What reading found comes from no rule.
    """

    findings: tuple[Finding, ...] = ()
    waived: tuple[Waived, ...] = ()
    looked: tuple[Looked, ...] = ()

    def __add__(self, other: Checked) -> Checked:
        return Checked(
            self.findings + other.findings,
            self.waived + other.waived,
            self.looked + other.looked,
        )


def _reasons(waivers: Iterable[Waiver]) -> dict[str, str]:
    return {waiver.rule: waiver.reason for waiver in waivers}


def sift(findings: Iterable[Finding], waivers: Iterable[Waiver]) -> Checked:
    """Part findings that come from no rule into those that stand and those that are waived."""
    reasons = _reasons(waivers)
    every = tuple(findings)
    return Checked(
        tuple(one for one in every if one.rule not in reasons),
        tuple(Waived(one, reasons[one.rule]) for one in every if one.rule in reasons),
    )


def applied(said: Iterable[tuple[Rule, Iterable[Said]]], waivers: Iterable[Waiver]) -> Checked:
    """What rules said, with the waivers counted in: a row a rule, and the findings of all."""
    reasons = _reasons(waivers)
    rows = [looked(rule, what, reasons.get(rule.id)) for rule, what in said]
    return of_rows(rows)


def of_rows(rows: Sequence[Looked]) -> Checked:
    """The findings of rules applied, parted."""
    return Checked(
        tuple(one for row in rows if row.outcome is Outcome.BROKEN for one in row.found),
        tuple(
            Waived(one, row.why)
            for row in rows
            if row.outcome is Outcome.WAIVED
            for one in row.found
        ),
        tuple(rows),
    )


def unseen(rules: Iterable[Rule], why: str, lets: str) -> Checked:
    """Rules none of which could look, for one reason."""
    return of_rows([looked(rule, [rule.unseen(why, lets)], None) for rule in rules])


def partly_applied(document: Document, rules: Iterable[ProtocolRule]) -> Checked:
    """What the rules find in a protocol that has faults, in the parts that could be read.

    A rule that looks at a faulty part cannot look, and the fault speaks for it.
    """
    protocol, broken = _without_faults(document)
    if protocol is None:
        return unseen(rules, "the protocol has faults", "mend the faults")
    return applied(((rule, _said(rule, protocol, broken)) for rule in rules), ())


def _said(rule: ProtocolRule, protocol: Protocol, broken: Sequence[Loc]) -> list[Said]:
    faulty = _faulty(rule, broken)
    if faulty:
        return [Unseen(rule.id, f"there are faults in '{faulty}'", "mend the faults")]
    return _quietly(rule, protocol)


def _quietly(rule: ProtocolRule, protocol: Protocol) -> list[Said]:
    try:
        return list(rule.said(protocol))
    except (QuantityError, KeyError):
        # A unit or a name that does not fit, which the reader has told of.
        return [Unseen(rule.id, "a unit or a name in what it looks at does not fit", "mend it")]


def _without_faults(document: Document) -> tuple[Protocol | None, list[Loc]]:
    """The protocol with its faulty parts left out, and where these are."""
    data, broken = copy.deepcopy(document.data), list[Loc]()
    for _ in range(MOST_REPAIRS):
        try:
            protocol = Protocol.model_validate(data)
        except ValidationError as error:
            before = len(broken)
            for one in error.errors(include_url=False):
                loc = tuple(step for step in one["loc"] if step != "[key]")
                if one["type"] not in ("missing", "missing-key") and _remove(data, loc):
                    broken.append(loc)
            if len(broken) == before:
                return None, broken
            continue
        object.__setattr__(protocol, "_document", document)
        return protocol, broken
    return None, broken


def _remove(data: Any, loc: Loc) -> bool:
    """Take the part at `loc` out, or the innermost one around it that can be."""
    for depth in range(len(loc), 0, -1):
        holder = data
        try:
            for step in loc[: depth - 1]:
                holder = holder[step]
            del holder[loc[depth - 1]]
        except (KeyError, IndexError, TypeError):
            continue
        return True
    return False


def _faulty(rule: Rule, broken: Iterable[Loc]) -> str:
    """The first faulty part that a rule looks at, as a dotted path; empty when there is none."""
    for loc in broken:
        path = tuple(str(step) for step in loc if isinstance(step, str))
        for looked_at in rule.looks_at:
            parts = tuple(looked_at.split("."))
            if parts[: len(path)] == path or path[: len(parts)] == parts:
                return ".".join(path)
    return ""
