"""One person scores alone."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import rated


def check(protocol: Protocol) -> Found:
    asked = protocol.ratings
    if asked is not None and asked.raters < 2:
        place = protocol.document.place(("ratings", "raters"))
        yield RULE.found(
            place, "one rater: nothing tells a feeling that others would share from a mood"
        )


RULE = ProtocolRule(
    id="one-rater",
    severity=Severity.WARNING,
    title="One person scores alone.",
    looks_at=("ratings.raters",),
    why=(
        "Whether raters agree takes two of them. An item that one person scored is untestable,"
        " however often it was scored."
    ),
    fix="let two or more score every session, better four to six",
    source="common practice",
    passes=Example(
        protocol="ratings: {raters: 2, blind: true, guess: true, items: {ride: {points: 7, anchors: {1: hard, 7: soft}, better: more}}}"
    ),
    fails=Example(
        protocol="ratings: {raters: 1, blind: true, guess: true, items: {ride: {points: 7, anchors: {1: hard, 7: soft}, better: more}}}"
    ),
    at_limit=Example(
        protocol="ratings: {raters: 2, blind: true, guess: true, items: {ride: {points: 7, anchors: {1: hard, 7: soft}, better: more}}}"
    ),
    check=check,
    needs=(rated,),
)
