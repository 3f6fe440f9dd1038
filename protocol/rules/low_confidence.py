"""The confidence is below 90 %."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity

LOWEST = 90.0  # [%]


def check(protocol: Protocol) -> Found:
    confidence = protocol.analysis.confidence.to("%").value
    if confidence < LOWEST:
        place = protocol.document.place(("analysis", "confidence"))
        yield RULE.found(
            place,
            f"a confidence of {confidence:g} %: {100 - confidence:g} verdicts in a hundred are wrong "
            "when nothing has changed",
        )


RULE = ProtocolRule(
    id="low-confidence",
    severity=Severity.WARNING,
    title="The confidence is below 90 %.",
    looks_at=("analysis.confidence",),
    why=(
        "The confidence sets how often a verdict is wrong when nothing has changed. Below 90 % "
        "that is more than one trial in ten."
    ),
    fix="write 'confidence: 95 %'",
    source="common practice; JCGM 100:2008 (GUM), 6.2.3: 95 % or 99 %",
    passes=Example(protocol="analysis: {confidence: 95 %}"),
    fails=Example(protocol="analysis: {confidence: 89 %}"),
    at_limit=Example(protocol="analysis: {confidence: 90 %}"),
    check=check,
)
