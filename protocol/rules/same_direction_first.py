"""Every double run starts in the same direction."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import reciprocal_runs


def check(protocol: Protocol) -> Found:
    if protocol.runs.first_direction == "fixed":
        place = protocol.document.place(("runs", "first_direction"))
        yield RULE.found(
            place, "every double run starts in the same direction: drift does not cancel"
        )


RULE = ProtocolRule(
    id="same-direction-first",
    severity=Severity.WARNING,
    title="Every double run starts in the same direction.",
    looks_at=("runs.first_direction",),
    why=(
        "The current drifts between the two runs of a pair, and leaves half its drift in their "
        "mean. Where the same direction always comes first, that error has the same sign every "
        "time and does not average out."
    ),
    fix=(
        "write 'first_direction: alternate', or waive this rule where mean of means asks for "
        "out, back, out, back"
    ),
    source=(
        "algebra: alternating runs take out a steady drift; E. C. Tupper, Introduction to "
        "Naval Architecture, pp. 243-245"
    ),
    passes=Example(protocol="runs: {first_direction: alternate}"),
    fails=Example(protocol="runs: {first_direction: fixed}"),
    check=check,
    needs=(reciprocal_runs,),
)
