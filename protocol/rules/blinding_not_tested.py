"""Blinding is declared and not tested."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import rated
from slackwater.protocol.rules._rated import ASKED


def check(protocol: Protocol) -> Found:
    asked = protocol.ratings
    if asked is not None and asked.blind and not asked.guess:
        place = protocol.document.place(("ratings",))
        yield RULE.found(
            place, "the raters are blind, and nobody asks them what they think is fitted"
        )


RULE = ProtocolRule(
    id="blinding-not-tested",
    severity=Severity.ADVICE,
    title="Blinding is declared and not tested.",
    looks_at=("ratings.blind", "ratings.guess"),
    why=(
        "Blinding fails without a sound: a hum, a lamp, a word at the quay. A guess after each"
        " session shows whether it held."
    ),
    fix="write 'guess: true', and add a column guess to the table of ratings",
    source="H. Bang, L. Ni and C. E. Davis, Controlled Clinical Trials 25 (2004), 143-156: an index for each side",
    passes=Example(protocol=ASKED),
    fails=Example(
        protocol="ratings: {raters: 4, blind: true, guess: false, items: {ride: {points: 7, anchors: {1: hard, 7: soft}, better: more}}}"
    ),
    check=check,
    needs=(rated,),
)
