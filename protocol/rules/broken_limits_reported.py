"""A broken limit does not keep a verdict from being given."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    if protocol.analysis.limits_broken == "report":
        place = protocol.document.place(("analysis", "limits_broken"))
        yield RULE.found(place, "verdicts are given although a limit was broken")


RULE = ProtocolRule(
    id="broken-limits-reported",
    severity=Severity.ADVICE,
    title="A broken limit does not keep a verdict from being given.",
    looks_at=("analysis.limits_broken",),
    why=(
        "With 'limits_broken: report' a verdict stands although loading or conditions were "
        "outside what was declared. The reader then has to judge what the breach did."
    ),
    fix=(
        "write 'limits_broken: untestable', the default, unless the limits are wishes rather "
        "than limits"
    ),
    source="common practice",
    passes=Example(protocol="analysis: {limits_broken: untestable}"),
    fails=Example(protocol="analysis: {limits_broken: report}"),
    check=check,
)
