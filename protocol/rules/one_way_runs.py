"""Runs go one way only."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    if protocol.runs.directions == "one_way":
        place = protocol.document.place(("runs", "directions"))
        yield RULE.found(place, "runs go one way only, so that every speed keeps its current")


RULE = ProtocolRule(
    id="one-way-runs",
    severity=Severity.ERROR,
    title="Runs go one way only.",
    looks_at=("runs.directions",),
    why=(
        "A run over the ground carries the current with it, and one direction alone cannot tell"
        " the two apart. A difference between two days may then be a difference between two "
        "tides."
    ),
    fix=(
        "write 'directions: reciprocal', or waive this rule with the reason where the water "
        "stands still"
    ),
    source="E. C. Tupper, Introduction to Naval Architecture, pp. 243-245: alternating runs take out the tide",
    passes=Example(protocol="runs: {directions: reciprocal}"),
    fails=Example(protocol="runs: {directions: one_way}"),
    check=check,
)
