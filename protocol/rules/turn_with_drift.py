"""A turning circle is not cleared of the drift."""

from __future__ import annotations

from slackwater.protocol.declared.manoeuvres import kind_of
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import manoeuvred


def check(protocol: Protocol) -> Found:
    for name, manoeuvre in protocol.manoeuvres.items():
        kinds = {value: kind_of(value, one) for value, one in manoeuvre.values.items()}
        turns = [value for value, kind in kinds.items() if kind is not None and kind.turning]
        if turns and manoeuvre.current != "drift_taken_out":
            yield RULE.found(
                protocol.document.place(("manoeuvres", name, "current")),
                f"{', '.join(turns)} of {name} are read with the drift of the water in them",
            )


RULE = ProtocolRule(
    id="turn-with-drift",
    severity=Severity.WARNING,
    title="A turning circle is not cleared of the drift.",
    looks_at=("manoeuvres.current", "manoeuvres.values"),
    why=(
        "A current carries the circle along while it is turned: a knot of it in a minute is 31 m. It does so to"
        " port and to starboard alike, so that opposite turns do not take it out."
    ),
    fix="turn on through two circles, take out of the track what the second is set off from the first, and write 'current: drift_taken_out'",
    source="common practice: turning trials",
    passes=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: port_and_starboard, tries: 2, current: drift_taken_out, values: {tactical_diameter: {}}}}"
    ),
    fails=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: port_and_starboard, tries: 2, current: none, values: {tactical_diameter: {}}}}"
    ),
    check=check,
    needs=(manoeuvred,),
)
