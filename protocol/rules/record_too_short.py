"""Runs are too short for the receiver and the worthwhile difference."""

from __future__ import annotations

import math

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._sizes import percent, slowest, worthwhile

RECEIVER = 0.2 / 1.959964 / 0.514444  # [kn], standard error of one reading
CORRELATION = 0.9  # of readings one second apart
ONE_READING = (1 + CORRELATION) / (1 - CORRELATION)  # [s], worth one independent reading


def effective(readings: float, correlation: float = CORRELATION) -> float:
    """How many independent readings a row of correlated ones is worth."""
    return readings * (1 - correlation) / (1 + correlation)


def least_difference(protocol: Protocol) -> float:
    """Half-width that the receiver alone gives to a difference of two configurations. [kn]"""
    seconds = max(protocol.runs.steady.record.to("s").value, 1.0)
    ways = 2 if protocol.runs.directions == "reciprocal" else 1
    runs = ways * protocol.runs.double_runs * protocol.sessions.per_configuration
    of_run = RECEIVER / math.sqrt(max(effective(seconds), 1.0))
    return 1.959964 * of_run * math.sqrt(2 / runs)


def check(protocol: Protocol) -> Found:
    if "speed_over_ground" not in protocol.measures:
        yield RULE.not_applicable(
            "no receiver's speed is read; a timed mile is as long as it takes"
        )
        return
    quantity = next((q for q in ("speed", "economy") if q in protocol.analysis.worthwhile), None)
    size = worthwhile(protocol, quantity) if quantity else None
    speed, where = slowest(protocol)
    reached = least_difference(protocol) / speed
    place = protocol.document.place(("runs", "steady", "record"))
    if effective(protocol.runs.steady.record.to("s").value) < 1 - 1e-9:
        yield RULE.found(
            place,
            f"recording {protocol.runs.steady.record} is worth less than one independent reading "
            f"of the receiver; that takes {ONE_READING:.0f} s",
        )
        return
    if size is None:
        yield RULE.unseen(
            "no worthwhile difference of speed or economy is declared, or not in per cent",
            "'worthwhile:' with either, in per cent",
        )
    if size is None or reached <= size * (1 + 1e-9):
        return
    yield RULE.found(
        place,
        f"recording {protocol.runs.steady.record} leaves ±{percent(reached)} of the receiver's "
        f"scatter in a difference {where}; the worthwhile difference of {quantity} is "
        f"{percent(size)}",
    )


RULE = ProtocolRule(
    id="record-too-short",
    severity=Severity.WARNING,
    title="Runs are too short for the receiver and the worthwhile difference.",
    looks_at=(
        "runs.steady.record",
        "analysis.worthwhile",
    ),
    why=(
        "Readings a second apart are nearly the same reading: sixty of them count as three. A "
        "short record leaves the receiver's own scatter in the speed, and it may be larger than"
        " what is looked for."
    ),
    fix="lengthen 'record:', or make more double runs",
    source=(
        "GPS SPS Performance Standard, 5th ed. (2020): velocity within 0.2 m/s at 95 %; "
        "algebra: of n correlated readings n(1-r)/(1+r) count; common practice: r = 0.9 at "
        "one second"
    ),
    passes=Example(
        protocol="{runs: {steady: {record: 60 s}}, analysis: {worthwhile: {speed: 1 %}}}"
    ),
    fails=Example(
        protocol="{runs: {steady: {record: 18 s}}, analysis: {worthwhile: {speed: 5 %}}}"
    ),
    at_limit=Example(
        protocol="{runs: {steady: {record: 19 s}}, analysis: {worthwhile: {speed: 5 %}}}"
    ),
    check=check,
)
