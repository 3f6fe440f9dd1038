"""What the rules on missing limits share."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.rules._rule import ProtocolRule


def missing_limit(
    rule: ProtocolRule, protocol: Protocol, group: str, name: str, kinds: tuple[str, ...]
) -> Iterator[Finding]:
    """Tell a condition that has no limit, or one of a kind that does not bound it.

    Parameters
    ----------
    group : str
        "loading" or "conditions".
    kinds : tuple of str
        The kinds of limit that serve, such as `at_most`.
    """
    limit = protocol.limits.get(name)
    words = name.replace("_", " ")
    if limit is None:
        yield rule.found(protocol.document.place((group,)), f"no limit on {words}")
    elif not any(getattr(limit, kind) for kind in kinds):
        where = group if name in getattr(protocol, group) else _other(group)
        yield rule.found(
            protocol.document.place((where, name)),
            f"the limit on {words} ({limit}) does not bound it; {' or '.join(kinds)} is needed",
        )


def _other(group: str) -> str:
    return "loading" if group == "conditions" else "conditions"
