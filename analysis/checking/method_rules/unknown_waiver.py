"""A waiver names a rule that does not exist."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from slackwater.protocol.catalogue.measures import nearest
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol_parts import Waiver
    from slackwater.protocol.files.source import Document


def unknown(document: Document, waivers: Sequence[Waiver]) -> Found:
    """The waivers of a file, protocol or trial, whose rule is not known."""
    if not waivers:
        return
    # Imported here: the list of all rules has this one in it.
    from slackwater.analysis.checking.fault_words import ALL_FAULTS
    from slackwater.analysis.checking.registry import all_rules

    known = [*all_rules(), *ALL_FAULTS]
    for index, waiver in enumerate(waivers):
        if waiver.rule in known:
            continue
        near = nearest(waiver.rule, known)
        yield RULE.found(
            document.place(("waive", index, "rule")),
            f"there is no rule '{waiver.rule}' to waive",
            f"did you mean '{near}'?" if near else "",
        )


def check(protocol: Protocol) -> Found:
    if not protocol.waive:
        yield RULE.not_applicable("nothing is waived")
    yield from unknown(protocol.document, protocol.waive)


RULE = ProtocolRule(
    id="unknown-waiver",
    severity=Severity.WARNING,
    title="A waiver names a rule that does not exist.",
    looks_at=("waive",),
    why=(
        "A waiver with a misspelt id silences nothing. Its reason stands in every report all the "
        "same, for a rule that nobody knows."
    ),
    fix="write the id as the finding has it in brackets; 'slackwater explain' lists all rules",
    source="common practice",
    passes=Example(protocol="waive: [{rule: one-block, reason: The coating stays on.}]"),
    fails=Example(protocol="waive: [{rule: one-blok, reason: The coating stays on.}]"),
    check=check,
)
