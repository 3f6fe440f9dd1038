"""The limit on wind lets a gale in."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import upper_limit_on

WIDEST = 21.0  # [kn], the top of Beaufort 5


def check(protocol: Protocol) -> Found:
    limit = protocol.limits.get("wind_speed")
    top = limit and (limit.at_most or (limit.between[1] if limit.between else None))
    if top and top.to("kn").value > WIDEST:
        place = protocol.document.place(("conditions", "wind_speed"))
        yield RULE.found(
            place, f"wind of up to {top} is let in; trials of ships of 100 m end at {WIDEST:g} kn"
        )


RULE = ProtocolRule(
    id="wind-limit-too-wide",
    severity=Severity.WARNING,
    title="The limit on wind lets a gale in.",
    looks_at=("conditions.wind_speed",),
    why=(
        "Ships of up to 100 m end their trials at Beaufort 5, and a small craft feels the wind "
        "and its sea far earlier. A limit above that limits nothing."
    ),
    fix="write 'wind_speed: {at_most: 8 kn}', Beaufort 3 at most",
    source=(
        "common practice: ships are tried in Beaufort 5 up to 100 m length; Chapman's "
        "Piloting: Beaufort 5 ends at 21 kn"
    ),
    passes=Example(protocol="conditions: {wind_speed: {at_most: 8 kn}}"),
    fails=Example(protocol="conditions: {wind_speed: {at_most: 22 kn}}"),
    at_limit=Example(protocol="conditions: {wind_speed: {at_most: 21 kn}}"),
    check=check,
    needs=(upper_limit_on("wind_speed"),),
)
