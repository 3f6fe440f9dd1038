"""What a rule on a protocol or a trial file is written with, so that its file imports in one line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._outcome import Said
from slackwater.protocol.rules._rule import Example, ProtocolRule, Rule, TrialRule

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial
else:  # the models are not needed to say what a rule asks
    Protocol = Trial = Any

Found = Iterator[Said]

__all__ = [
    "Example",
    "Finding",
    "Found",
    "Iterator",
    "Protocol",
    "ProtocolRule",
    "Rule",
    "Severity",
    "Trial",
    "TrialRule",
]
