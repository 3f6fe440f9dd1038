"""The current is not taken out."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import reciprocal_runs


def check(protocol: Protocol) -> Found:
    if "speed_through_water" in protocol.measures:
        yield RULE.not_applicable("the speed is read off a log, which knows nothing of the current")
    elif protocol.analysis.current == "none":
        place = protocol.document.place(("analysis", "current"))
        yield RULE.found(place, "no method takes the current out of the speeds")


RULE = ProtocolRule(
    id="current-left-in",
    severity=Severity.WARNING,
    title="The current is not taken out.",
    looks_at=("analysis.current",),
    why=(
        "With 'current: none' a speed is that over the ground, water's motion included. Out and"
        " back average it only where runs are paired and the current holds still."
    ),
    fix="write 'current: tide_fit', or 'mean_of_means' where no clock was kept",
    source="E. C. Tupper, Introduction to Naval Architecture, pp. 243-245: elimination of the tide",
    passes=Example(protocol="analysis: {current: mean_of_means}"),
    fails=Example(protocol="analysis: {current: none}"),
    check=check,
    needs=(reciprocal_runs,),
)
