"""No deciding figure is declared."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    if protocol.analysis.decides is None:
        place = protocol.document.place(("analysis",))
        yield RULE.found(place, "the figure that answers the protocol's question is not declared")


RULE = ProtocolRule(
    id="no-deciding-figure",
    severity=Severity.ADVICE,
    title="No deciding figure is declared.",
    looks_at=("analysis.decides",),
    why=(
        "A trial gives many figures, each judged at the declared confidence: taken together they are "
        "wrong more often than one is. The figure that answers the question, named beforehand, keeps "
        "the error rate by itself; the others are then further figures and are said to be."
    ),
    fix="write 'decides: economy at equal speed' under 'analysis', with the figure that you will act on",
    source="ICH E9, Statistical Principles for Clinical Trials (1998), 2.2.2: primary variable",
    passes=Example(protocol="analysis: {decides: economy at equal speed}"),
    fails=Example(protocol="analysis: {decides: }"),
    check=check,
)
