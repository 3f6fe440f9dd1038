"""The baseline is not run again after the change."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import two_configurations


def check(protocol: Protocol) -> Found:
    order = protocol.sessions.order
    first_change = next((i for i, letter in enumerate(order) if letter != "A"), None)
    if "A" in order and first_change and "A" not in order[first_change:]:
        place = protocol.document.place(("sessions", "order"))
        yield RULE.found(
            place, f"in the order {order} the baseline is not run again after the change"
        )


RULE = ProtocolRule(
    id="baseline-not-repeated",
    severity=Severity.WARNING,
    title="The baseline is not run again after the change.",
    looks_at=("sessions.order",),
    why=(
        "A baseline run again after the change shows whether it is still what it was. Without "
        "it, nothing tells the change from whatever else happened meanwhile."
    ),
    fix=("end with a session of the baseline, or take the change off again in between, as in ABBA"),
    source=(
        "SAE J1321 (1986): an unchanged vehicle runs along as control; common practice: the "
        "same afloat"
    ),
    passes=Example(protocol="sessions: {per_configuration: 2, order: ABBA}"),
    fails=Example(protocol="sessions: {per_configuration: 2, order: AABB}"),
    check=check,
    needs=(two_configurations,),
)
