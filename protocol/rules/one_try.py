"""A manoeuvre is tried once in each direction."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import manoeuvred


def check(protocol: Protocol) -> Found:
    for name, manoeuvre in protocol.manoeuvres.items():
        if manoeuvre.tries == 1:
            yield RULE.found(
                protocol.document.place(("manoeuvres", name, "tries")),
                f"{name} is tried once in each direction of a session; nothing tells how tries scatter",
            )


RULE = ProtocolRule(
    id="one-try",
    severity=Severity.WARNING,
    title="A manoeuvre is tried once in each direction.",
    looks_at=("manoeuvres.tries",),
    why=(
        "With one try nothing tells how far the next would have been off. A watch that was stopped late"
        " cannot be told from a boat that was slow."
    ),
    fix="write 'tries: 3' or more",
    source="common practice: repeats",
    passes=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 2, current: averaged, values: {time_to_plane: {}}}}"
    ),
    fails=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 1, current: averaged, values: {time_to_plane: {}}}}"
    ),
    at_limit=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 2, current: averaged, values: {time_to_plane: {}}}}"
    ),
    check=check,
    needs=(manoeuvred,),
)
