"""Many comparisons, and no family."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import several_set_points


def false_alarm(confidence: float, comparisons: int) -> float:
    """Chance of one false alarm at least among independent comparisons, 0 to 1."""
    return 1.0 - confidence**comparisons


def check(protocol: Protocol) -> Found:
    count = len(protocol.set_point_values)
    if protocol.analysis.family != "single":
        return
    chance = false_alarm(protocol.analysis.confidence.to("%").value / 100, count)
    yield RULE.found(
        protocol.document.place(("analysis", "family")),
        f"{count} set points are compared one by one: were they independent, one false alarm at "
        f"least would come in {100 * chance:.0f} % of trials",
    )


RULE = ProtocolRule(
    id="no-family",
    severity=Severity.WARNING,
    title="Many comparisons, and no family.",
    looks_at=("analysis.family",),
    why=(
        "Each comparison at 95 % is wrong one time in twenty when nothing has changed. Over a "
        "whole sweep one of them then comes out as a gain or a loss far more often than that."
    ),
    fix="write 'family: set_points', or 'all' where any one quantity would do",
    source=(
        "US FDA, Multiple Endpoints in Clinical Trials (2022): about 10 % with two and 14 % "
        "with three"
    ),
    passes=Example(protocol="analysis: {family: set_points}"),
    fails=Example(protocol="analysis: {family: single}"),
    check=check,
    needs=(several_set_points,),
)
