"""Each set point is run once in a session."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity

FEWEST = 2  # double runs


def check(protocol: Protocol) -> Found:
    count = protocol.runs.double_runs
    if count < FEWEST:
        place = protocol.document.place(("runs", "double_runs"))
        yield RULE.found(place, f"{count} double run at each set point; nothing tells its scatter")


RULE = ProtocolRule(
    id="no-repeats",
    severity=Severity.WARNING,
    title="Each set point is run once in a session.",
    looks_at=("runs.double_runs",),
    why=(
        "A single double run gives no scatter, so that a slip in it cannot be seen. It also "
        "leaves the drift of the current in, which alternating double runs take out."
    ),
    fix="write 'double_runs: 2' or more, with 'first_direction: alternate'",
    source=("common practice; ITTC 7.5-04-01-01.1 (2017), 8: the conduct of speed trials"),
    passes=Example(protocol="runs: {double_runs: 3}"),
    fails=Example(protocol="runs: {double_runs: 1}"),
    at_limit=Example(protocol="runs: {double_runs: 2}"),
    check=check,
)
