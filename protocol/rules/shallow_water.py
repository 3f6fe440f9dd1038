"""The water is too shallow for the speeds."""

from __future__ import annotations

from slackwater.protocol.rules._depth import FREE_OF_BOTTOM, depth_froude, least_depth
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import limit_on
from slackwater.protocol.rules._sizes import speeds


def check(protocol: Protocol) -> Found:
    limit = protocol.limits["water_depth"]
    shallowest = limit.at_least or (limit.between[0] if limit.between else None)
    known = speeds(protocol)
    if not shallowest or shallowest.value <= 0:
        yield RULE.unseen(f"the limit on water depth ({limit}) names no least depth", "'at_least:'")
        return
    if not known:
        yield RULE.unseen(
            "nothing tells how fast she goes at the set points",
            "'expected: {speed: [...]}', a speed for each of them",
        )
        return
    depth, top = shallowest.to("m").value, max(known)
    needed = least_depth(top)
    if depth < needed - 0.0005:
        yield RULE.found(
            protocol.document.place(("conditions", "water_depth")),
            f"{shallowest} of water at {top:g} kn is a depth Froude number of "
            f"{depth_froude(top, depth):.2f}; {FREE_OF_BOTTOM:.2f} or less takes {needed:.3g} m",
        )


RULE = ProtocolRule(
    id="shallow-water",
    severity=Severity.WARNING,
    title="The water is too shallow for the speeds.",
    looks_at=(
        "conditions.water_depth",
        "runs.set_points.values",
        "expected.speed",
    ),
    why=(
        "Above a depth Froude number of about 0.6 the bottom changes the resistance, most of "
        "all near 1, the critical speed. Small differences in depth then move the speed by more"
        " than most changes do."
    ),
    fix="go where it is deeper, or leave out the set points that are too fast for the depth",
    source=(
        "common practice: in ship trials results are corrected below 2.75 V^2/g, and below 2 "
        "V^2/g no trial is run; ITTC 7.5-04-01-01.1 (2017): there is a clause on water "
        "depth, for displacement vessels; ISO 15016:2015: the reference is deep water"
    ),
    passes=Example(
        protocol=(
            "{conditions: {water_depth: {at_least: 50 m}}, runs: {set_points: {of: speed, "
            "values: [10 kn, 20 kn], hold: 0.1 kn}}}"
        )
    ),
    fails=Example(
        protocol=(
            "{conditions: {water_depth: {at_least: 29 m}}, runs: {set_points: {of: speed, "
            "values: [10 kn, 20 kn], hold: 0.1 kn}}}"
        )
    ),
    at_limit=Example(
        protocol=(
            "{conditions: {water_depth: {at_least: 29.686 m}}, runs: {set_points: {of: speed, "
            "values: [10 kn, 20 kn], hold: 0.1 kn}}}"
        )
    ),
    check=check,
    needs=(limit_on("water_depth"),),
)
