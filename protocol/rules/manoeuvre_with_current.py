"""A distance or a speed over the ground is read with the current in it."""

from __future__ import annotations

from slackwater.protocol.declared.manoeuvres import kind_of
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import manoeuvred


def check(protocol: Protocol) -> Found:
    for name, manoeuvre in protocol.manoeuvres.items():
        kinds = {value: kind_of(value, one) for value, one in manoeuvre.values.items()}
        over = [
            value
            for value, kind in kinds.items()
            if kind is not None and kind.over_ground and not kind.turning
        ]
        if over and manoeuvre.current == "none":
            yield RULE.found(
                protocol.document.place(("manoeuvres", name, "current")),
                f"{', '.join(over)} of {name} are read over the ground, and nothing is done with the current",
            )


RULE = ProtocolRule(
    id="manoeuvre-with-current",
    severity=Severity.WARNING,
    title="A distance or a speed over the ground is read with the current in it.",
    looks_at=("manoeuvres.current", "manoeuvres.values"),
    why=(
        "Speeds and distances by satellite or by marks are over the ground. In a current of a tenth of the speed a"
        " stop is a tenth longer one way and shorter the other; the mean of both directions leaves it out."
    ),
    fix="try it both ways along the current and write 'current: averaged'",
    source="algebra: speed over ground is speed through the water plus current",
    passes=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 2, current: averaged, values: {stopping_distance: {}}}}"
    ),
    fails=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 2, current: none, values: {stopping_distance: {}}}}"
    ),
    check=check,
    needs=(manoeuvred,),
)
