"""Rules applied: what they find, less what is waived.

A file with faults cannot be used, yet the rules can often be applied to what is left of it, so that
one run tells everything that is wrong.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.protocol_parts import Waiver
from slackwater.protocol.files.source import Document, Loc
from slackwater.protocol.findings import Finding
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
    """

    findings: tuple[Finding, ...] = ()
    waived: tuple[Waived, ...] = ()

    def __add__(self, other: Checked) -> Checked:
        return Checked(self.findings + other.findings, self.waived + other.waived)


def sift(findings: Iterable[Finding], waivers: Iterable[Waiver]) -> Checked:
    """Part the findings into those that stand and those that are waived."""
    reasons = {waiver.rule: waiver.reason for waiver in waivers}
    stand: list[Finding] = []
    waived: list[Waived] = []
    for finding in findings:
        reason = reasons.get(finding.rule)
        if reason is None:
            stand.append(finding)
        else:
            waived.append(Waived(finding, reason))
    return Checked(tuple(stand), tuple(waived))


def protocol_rule_findings(protocol: Protocol, rules: Iterable[ProtocolRule]) -> Iterator[Finding]:
    """What the rules find in a protocol, waived or not."""
    for rule in rules:
        yield from rule.check(protocol)


def partial_findings(document: Document, rules: Iterable[ProtocolRule]) -> list[Finding]:
    """What the rules find in a protocol that has faults, in the parts that could be read.

    A rule that looks at a faulty part is left out, since the fault speaks for it.
    """
    protocol, broken = _without_faults(document)
    if protocol is None:
        return []
    found: list[Finding] = []
    for rule in rules:
        if not _looks_at(rule, broken):
            found += _quietly(rule.check, protocol)
    return found


def _quietly(check: Callable[[Protocol], Iterator[Finding]], protocol: Protocol) -> list[Finding]:
    try:
        return list(check(protocol))
    except (QuantityError, KeyError):
        return []  # a unit or a name that does not fit, which the reader has told of


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


def _looks_at(rule: Rule, broken: Iterable[Loc]) -> bool:
    for loc in broken:
        path = tuple(str(step) for step in loc if isinstance(step, str))
        for looked in rule.looks_at:
            parts = tuple(looked.split("."))
            if parts[: len(path)] == path or path[: len(parts)] == parts:
                return True
    return False
