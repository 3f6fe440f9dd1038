"""All rules there are, wherever they stand."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from slackwater.protocol import rules
from slackwater.protocol.rules._registry import rules_in
from slackwater.protocol.rules._rule import ProtocolRule, Rule

if TYPE_CHECKING:
    from slackwater.analysis.checking.run_rules._rule import RunsRule

METHOD_RULES = "slackwater.analysis.checking.method_rules"
RUN_RULES = "slackwater.analysis.checking.run_rules"


def protocol_rules() -> tuple[ProtocolRule, ...]:
    """The rules on a protocol; those on runs are not loaded for them."""
    further = (rule for rule in rules_in(METHOD_RULES) if isinstance(rule, ProtocolRule))
    return (*rules.protocol_rules(), *further)


def run_rules() -> tuple[RunsRule, ...]:
    """The rules on the runs of a trial."""
    from slackwater.analysis.checking.run_rules._rule import RunsRule

    return tuple(rule for rule in rules_in(RUN_RULES) if isinstance(rule, RunsRule))


@lru_cache(maxsize=1)
def all_rules() -> dict[str, Rule]:
    """All rules by id, in the order of the alphabet."""
    every = [*rules.rules(), *rules_in(METHOD_RULES), *rules_in(RUN_RULES)]
    return {rule.id: rule for rule in sorted(every, key=lambda rule: rule.id)}
