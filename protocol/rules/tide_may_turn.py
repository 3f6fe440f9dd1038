"""The tide may turn in a session, and the simplest method takes the current out."""

from __future__ import annotations

import math

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity
from slackwater.protocol.rules._sizes import (
    TIDE_PERIOD,
    percent,
    run_spacing,
    session_length,
    slowest,
    worthwhile,
)

QUARTER = TIDE_PERIOD / 4  # [h]
ORDINARY_CURRENT = 1.0  # [kn], where the protocol sets no limit


def drift_kept(current: float, spacing: float) -> float:
    """Largest error of one double run in a sinusoidal tide.

    Parameters
    ----------
    current : float
        Amplitude. [any unit of speed]
    spacing : float
        From one run to the next. [h]
    """
    return math.pi * current * spacing / TIDE_PERIOD


def check(protocol: Protocol) -> Found:
    runs = protocol.runs
    if protocol.analysis.current != "double_run" or runs.directions != "reciprocal":
        yield RULE.not_applicable("the current is not taken out pair by pair")
        return
    place = protocol.document.place(("analysis", "current"))
    length = session_length(protocol)
    if length > QUARTER:
        yield RULE.found(
            place,
            f"a session takes about {length:.1f} h, more than a quarter of a tide "
            f"({QUARTER:.1f} h), and 'double_run' keeps the drift of the current",
        )
        return
    limit = protocol.limits.get("current")
    strongest = limit.at_most.to("kn").value if limit and limit.at_most else ORDINARY_CURRENT
    kept = drift_kept(strongest, run_spacing(protocol) / 3600)
    size = worthwhile(protocol, "speed")
    speed, where = slowest(protocol)
    averaged = runs.first_direction == "alternate" and runs.double_runs > 1
    if size is None and not averaged:
        yield RULE.unseen(
            "no worthwhile difference of speed is declared", "'worthwhile: {speed: ...}'"
        )
    if size is not None and not averaged and kept / speed > size:
        yield RULE.found(
            place,
            f"in a tide of {strongest:g} kn a double run keeps up to {kept:.2g} kn of drift, "
            f"{percent(kept / speed)} {where}; the worthwhile difference is {percent(size)}",
        )


RULE = ProtocolRule(
    id="tide-may-turn",
    severity=Severity.WARNING,
    title="The tide may turn in a session, and the simplest method takes the current out.",
    looks_at=(
        "analysis.current",
        "runs",
    ),
    why=(
        "'double_run' takes a current out that stands still between the two runs of a pair. In "
        "a session of more than a quarter of a tide the current changes from slack to full, and"
        " the drift stays in."
    ),
    fix="write 'current: tide_fit' or 'mean_of_means', or make the sessions shorter",
    source=(
        "algebra: a pair keeps half the drift between its runs, and the principal lunar tide "
        "M2 takes 12.42 h"
    ),
    passes=Example(protocol="{analysis: {current: double_run}, runs: {double_runs: 10}}"),
    fails=Example(protocol="{analysis: {current: double_run}, runs: {double_runs: 40}}"),
    check=check,
)
