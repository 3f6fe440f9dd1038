"""A steady drift from session to session does not cancel."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import two_configurations
from slackwater.protocol.rules._orders import alternative, in_one_block, positions


def _spread(means: dict[str, float]) -> float:
    return max(means.values()) - min(means.values())


def check(protocol: Protocol) -> Found:
    order = protocol.sessions.order
    better = alternative(order)
    if protocol.sessions.per_configuration < 2 or in_one_block(order):
        yield RULE.not_applicable("the sessions of each configuration lie in one block, or are one")
        return
    means = positions(order)
    if _spread(means) > _spread(positions(better)) + 1e-9:
        told = ", ".join(f"{letter} {mean:.3g}" for letter, mean in means.items())
        yield RULE.found(
            protocol.document.place(("sessions", "order")),
            f"in the order {order} the mean positions differ ({told}): a steady drift does not cancel",
            f"write 'order: {better}'",
        )


RULE = ProtocolRule(
    id="drift-not-balanced",
    severity=Severity.ADVICE,
    title="A steady drift from session to session does not cancel.",
    looks_at=("sessions.order",),
    why=(
        "Where one configuration comes later on average, a steady drift adds to the difference."
        " An order that turns round, such as ABBA, takes a steady drift out at no cost."
    ),
    fix="let the order turn round: ABBA in place of ABAB",
    source=(
        "algebra: with equal spacing + - - + removes a constant and a linear drift, + - + - "
        "does not"
    ),
    passes=Example(protocol="sessions: {per_configuration: 2, order: ABBA}"),
    fails=Example(protocol="sessions: {per_configuration: 2, order: ABAB}"),
    at_limit=Example(protocol="sessions: {per_configuration: 3, order: ABBAAB}"),
    check=check,
    needs=(two_configurations,),
)
