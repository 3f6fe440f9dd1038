"""A manoeuvre goes one way."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import manoeuvred


def check(protocol: Protocol) -> Found:
    for name, manoeuvre in protocol.manoeuvres.items():
        if manoeuvre.directions == "one_way":
            yield RULE.found(
                protocol.document.place(("manoeuvres", name, "directions")),
                f"{name} goes one way, so that wind and current stay in what is read",
            )


RULE = ProtocolRule(
    id="manoeuvre-one-way",
    severity=Severity.WARNING,
    title="A manoeuvre goes one way.",
    looks_at=("manoeuvres.directions",),
    why=(
        "Wind, current and the turn of a propeller help one way and hinder the other, often by more than the"
        " change that is looked for. Both ways alike, and their mean leaves most of that out."
    ),
    fix="write 'directions: reciprocal', port_and_starboard or with_and_against_wind",
    source="R. A. Fisher, The Design of Experiments (1935): balance",
    passes=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 2, current: averaged, values: {time_to_plane: {}}}}"
    ),
    fails=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: one_way, tries: 2, current: none, values: {time_to_plane: {}}}}"
    ),
    check=check,
    needs=(manoeuvred,),
)
