"""The sessions of each configuration stand in one block."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import two_configurations
from slackwater.protocol.rules._orders import alternative, in_one_block


def check(protocol: Protocol) -> Found:
    order = protocol.sessions.order
    if in_one_block(order):
        place = protocol.document.place(("sessions", "order"))
        yield RULE.found(
            place,
            f"in the order {order} each configuration has its sessions in one block: drift looks like "
            "an effect",
            f"write 'order: {alternative(order)}', or waive this rule with the reason where the change "
            "cannot be undone",
        )


RULE = ProtocolRule(
    id="one-block",
    severity=Severity.WARNING,
    title="The sessions of each configuration stand in one block.",
    looks_at=("sessions.order",),
    why=(
        "Fouling, wear, warming water and practice all drift from session to session. Run in "
        "blocks, such a drift falls wholly on one configuration and looks like an effect."
    ),
    fix=(
        "mix the configurations, or waive this rule with the reason where the change cannot be "
        "undone"
    ),
    source=("common practice; R. A. Fisher, The Design of Experiments (1935): order by chance"),
    passes=Example(protocol="sessions: {per_configuration: 3, order: ABBAAB}"),
    fails=Example(protocol="sessions: {per_configuration: 3, order: AAABBB}"),
    check=check,
    needs=(two_configurations,),
)
