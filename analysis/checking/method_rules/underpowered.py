"""The trial is too small for the worthwhile difference."""

from __future__ import annotations

import math

from slackwater.analysis.checking.method_rules._powered import POWER, detectable
from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._needs import worthwhile_declared
from slackwater.protocol.rules._sizes import fraction, percent, slowest, worthwhile
from slackwater.protocol.units.quantity import Quantity


def check(protocol: Protocol) -> Found:
    bare = [quantity for quantity in protocol.analysis.worthwhile if quantity not in protocol.noise]
    if bare:
        yield RULE.unseen(
            f"no noise of {' and '.join(bare)} is declared, so nothing tells what the sessions can show",
            f"'noise: {{{bare[0]}: ...}}', from earlier trials ('slackwater noise' prints it); until then "
            "'slackwater plan' shows what usual noise would mean",
        )
    sessions = protocol.sessions.per_configuration
    confidence = protocol.analysis.confidence.to("%").value / 100
    for quantity, noise in protocol.noise.items():
        size = worthwhile(protocol, quantity)
        reference = Quantity(slowest(protocol)[0], "kn") if quantity == "speed" else None
        parts = [
            fraction(part, reference)
            for part in (noise.between_sessions, noise.session_by_set_point)
            if part is not None
        ]
        if noise.within_session is not None:
            within = fraction(noise.within_session, reference)
            parts.append(None if within is None else within / math.sqrt(protocol.runs.double_runs))
        if size is None or None in parts:
            yield RULE.unseen(
                f"{quantity}: no worthwhile difference is declared, or a unit hides which part of a "
                "value it or the noise is",
                "both in per cent",
            )
            continue
        whole = math.sqrt(sum(part**2 for part in parts if part is not None))
        df = noise.sessions - 1 + 2 * (sessions - 1)
        shown = detectable(whole, sessions, df, confidence)
        if shown > size:
            yield RULE.found(
                protocol.document.place(("noise", quantity), key=True),
                f"{sessions} sessions with each configuration show a difference in {quantity} of "
                f"{percent(shown)} with {100 * POWER:.0f} % power; the worthwhile difference is "
                f"{percent(size)}",
            )


RULE = ProtocolRule(
    id="underpowered",
    severity=Severity.WARNING,
    title="The trial is too small for the worthwhile difference.",
    looks_at=(
        "noise",
        "sessions",
        "runs.double_runs",
        "analysis.worthwhile",
    ),
    why=(
        "With the noise that earlier trials showed, a worthwhile difference would more often be"
        " missed than the word 'trial' suggests. 'within noise' then says nothing about the "
        "boat."
    ),
    fix="more sessions, or a larger worthwhile difference; 'slackwater plan' says how many",
    source=(
        "Student's t: (t at the confidence + t at 90 % power) times the standard error; JCGM "
        "100:2008 (GUM), table G.2"
    ),
    passes=Example(
        protocol=(
            "{noise: {speed: {between_sessions: 0.35 %, sessions: 12}}, analysis: {worthwhile: "
            "{speed: 1 %}}}"
        )
    ),
    fails=Example(
        protocol=(
            "{noise: {speed: {between_sessions: 0.6 %, sessions: 12}}, analysis: {worthwhile: "
            "{speed: 1 %}}}"
        )
    ),
    check=check,
    needs=(worthwhile_declared,),
)
