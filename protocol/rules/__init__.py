"""The rules on protocols and on trial files, one a file or a table a file; `rules()` has them all."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slackwater.protocol.rules._rule import ProtocolRule, Rule, TrialRule


def rules() -> tuple[Rule, ...]:
    """All of them, in the order of their ids."""
    from slackwater.protocol.rules._registry import rules_in

    return rules_in(__name__)


def protocol_rules() -> tuple[ProtocolRule, ...]:
    """Those on a protocol: can this method show what it claims?"""
    from slackwater.protocol.rules._rule import ProtocolRule

    return tuple(rule for rule in rules() if isinstance(rule, ProtocolRule))


def trial_rules() -> tuple[TrialRule, ...]:
    """Those on what a trial file says was run."""
    from slackwater.protocol.rules._rule import TrialRule

    return tuple(rule for rule in rules() if isinstance(rule, TrialRule))
