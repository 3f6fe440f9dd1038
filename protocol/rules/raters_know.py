"""The raters know which configuration is fitted."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import rated
from slackwater.protocol.rules._rated import ASKED


def check(protocol: Protocol) -> Found:
    asked = protocol.ratings
    if asked is not None and not asked.blind:
        place = protocol.document.place(("ratings", "blind"))
        yield RULE.found(
            place, "the ratings are not blind: who knows what is fitted scores what is hoped for"
        )


RULE = ProtocolRule(
    id="raters-know",
    severity=Severity.WARNING,
    title="The raters know which configuration is fitted.",
    looks_at=("ratings.blind",),
    why=(
        "Expectation moves a score as surely as a wave does, and nothing in the figures tells the"
        " two apart. Ratings that are not blind are called so in every output."
    ),
    fix="hide the change where that can be done safely and write 'blind: true'; else say in print that the raters knew",
    source="ICH E9, Statistical Principles for Clinical Trials (1998), 2.3.1: blinding",
    passes=Example(protocol=ASKED),
    fails=Example(
        protocol="ratings: {raters: 4, blind: false, guess: true, items: {ride: {points: 7, anchors: {1: hard, 7: soft}, better: more}}}"
    ),
    check=check,
    needs=(rated,),
)
