"""The set points are run in ascending or descending order."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import several_set_points


def check(protocol: Protocol) -> Found:
    order = protocol.runs.set_point_order
    if order != "shuffled":
        place = protocol.document.place(("runs", "set_point_order"))
        yield RULE.found(place, f"set points are run in {order} order: drift bends the curve")


RULE = ProtocolRule(
    id="set-points-in-order",
    severity=Severity.ADVICE,
    title="The set points are run in ascending or descending order.",
    looks_at=("runs.set_point_order",),
    why=(
        "Fuel burns off, the engine warms and the tide goes on while the set points climb. In a"
        " fixed order that drift bends the curve along the sweep; shuffled, it becomes scatter "
        "that is seen and counted."
    ),
    fix="write 'set_point_order: shuffled'",
    source=("common practice; R. A. Fisher, The Design of Experiments (1935): order by chance"),
    passes=Example(protocol="runs: {set_point_order: shuffled}"),
    fails=Example(protocol="runs: {set_point_order: ascending}"),
    check=check,
    needs=(several_set_points,),
)
