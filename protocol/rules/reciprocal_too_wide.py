"""The two headings of a double run may be far from opposite."""

from __future__ import annotations

import math

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import reciprocal_runs

WIDEST = 20.0  # [deg]


def check(protocol: Protocol) -> Found:
    within = protocol.runs.reciprocal_within.to("deg").value
    if within > WIDEST:
        kept = math.sin(math.radians(within / 2))
        yield RULE.found(
            protocol.document.place(("runs", "reciprocal_within")),
            f"headings may be {within:g} deg off opposite: their mean keeps up to {100 * kept:.0f} % "
            "of a current across the course",
        )


RULE = ProtocolRule(
    id="reciprocal-too-wide",
    severity=Severity.WARNING,
    title="The two headings of a double run may be far from opposite.",
    looks_at=("runs.reciprocal_within",),
    why=(
        "Out and back cancel the current along one line only. Headings far from opposite keep a"
        " part of the current that grows with the angle."
    ),
    fix="write 'reciprocal_within: 15 deg' or less",
    source="common practice; algebra: the mean keeps sin(angle / 2) of a current across the course",
    passes=Example(protocol="runs: {reciprocal_within: 15 deg}"),
    fails=Example(protocol="runs: {reciprocal_within: 25 deg}"),
    at_limit=Example(protocol="runs: {reciprocal_within: 20 deg}"),
    check=check,
    needs=(reciprocal_runs,),
)
