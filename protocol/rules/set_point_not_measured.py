"""What is held is not measured."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    held = protocol.set_point_measure
    if held == "speed":
        held = "speed_over_ground"
    if held not in protocol.measures:
        place = protocol.document.place(("runs", "set_points", "of"))
        yield RULE.found(
            place,
            f"{held} is held and not among the measures",
            f"add '{held}: {{...}}' under 'measures:'",
        )


RULE = ProtocolRule(
    id="set-point-not-measured",
    severity=Severity.WARNING,
    title="What is held is not measured.",
    looks_at=(
        "measures",
        "runs.set_points.of",
    ),
    why=(
        "Whether the set point was held can be told only from a reading of it. Without one the "
        "tolerance is a promise that nobody checks."
    ),
    fix="declare it under 'measures:', so that the run table carries its mean over each run",
    source="common practice",
    passes=Example(protocol="measures: {speed_over_ground: {unit: kn}, engine_speed: {unit: rpm}}"),
    fails=Example(protocol="measures: {speed_over_ground: {unit: kn}}"),
    check=check,
)
