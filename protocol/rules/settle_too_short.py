"""No time to settle before recording."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity

SHORTEST = 10.0  # [s]


def check(protocol: Protocol) -> Found:
    settle = protocol.runs.steady.settle
    if settle.to("s").value < SHORTEST:
        place = protocol.document.place(("runs", "steady", "settle"))
        yield RULE.found(place, f"{settle} to settle before recording; {SHORTEST:g} s is the least")


RULE = ProtocolRule(
    id="settle-too-short",
    severity=Severity.WARNING,
    title="No time to settle before recording.",
    looks_at=("runs.steady.settle",),
    why=(
        "After a turn or a change of throttle a boat takes a while to reach her speed. Recorded"
        " too early, the run holds the acceleration too, and the more so the heavier the "
        "configuration."
    ),
    fix="write 'steady: {settle: 20 s, ...}' or longer; watch until the speed stands",
    source=(
        "common practice; ITTC 7.5-04-01-01.1 (2017): a steady approach, in no number for "
        "small craft"
    ),
    passes=Example(protocol="runs: {steady: {settle: 20 s}}"),
    fails=Example(protocol="runs: {steady: {settle: 9 s}}"),
    at_limit=Example(protocol="runs: {steady: {settle: 10 s}}"),
    check=check,
)
