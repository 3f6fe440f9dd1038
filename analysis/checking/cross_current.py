"""Signs in the runs of a current across the track, which no averaging of directions takes out.

A boat that holds her line against a current from the side points up into it. Her speed over the
ground is then the same out and back, and lower than her speed through the water both ways: the
mean of a double run is sqrt(V^2 - c^2) for a speed V through the water and a current c across [1]_.
Only a second instrument can tell: a log, or a compass beside the course over ground.

References
----------
.. [1] The triangle of velocities; the checks and their limits are common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.reduction.reduction import Reduction, reduce_measure
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.units.quantity import conversion

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

RULE = "current-across-track"
SOURCE = "common practice; the triangle of velocities"

# What a log in good order may be off by, and what a crab angle may cost, before it is worth a word.
LOG_ALLOWANCE = 0.02  # [1]
CRAB_LIMIT = 6.0  # [deg]; costs 0.5 % of the speed
COVERAGE = 2.0  # standard errors

FIX = (
    "choose a course along the current, or slack water; the double runs do not take this "
    "current out"
)


def across_track(reduction: Reduction, units: Mapping[str, str]) -> tuple[Finding, ...]:
    """Warn where the runs themselves show a current across the track.

    Parameters
    ----------
    reduction : Reduction
        Its frame may carry `speed_through_water` (a log), and `course_over_ground` beside the
        heading [deg]. Without either, nothing can be told and nothing is.
    units : mapping
        Working unit of each measure, by name.

    Returns
    -------
    tuple of Finding
        At most one of each kind a session: the session's speed by double runs is below its log
        by more than noise and a log's usual error allow; or the crab angle is large. A speed
        *above* the log is told too, as a log that reads low.
    """
    return (*_against_log(reduction, units), *_crabbing(reduction.frame))


def _against_log(reduction: Reduction, units: Mapping[str, str]) -> list[Finding]:
    speed, frame = reduction.speed, reduction.frame
    if speed is None or "speed_through_water" not in frame:
        return []
    log = reduce_measure(reduction, "speed_through_water")
    factor = conversion(units["speed_through_water"], units["speed_over_ground"])
    unit = units["speed_over_ground"]
    findings = []
    for session in dict.fromkeys(name for name, _ in reduction.cells):
        mine = np.array([name == session for name, _ in reduction.cells])
        both = mine & np.isfinite(speed.value) & np.isfinite(log.value) & (log.value > 0)
        if not both.any():
            continue
        by_runs, by_log = speed.value[both], log.value[both] * factor
        off = by_runs / by_log - 1
        variance = (
            _run_variance(speed.scatter[mine], speed.df[mine]) * speed.factor[both]
            + _run_variance(log.scatter[mine], log.df[mine]) * factor**2 * log.factor[both]
        ) / by_log**2
        mean = float(off.mean())
        error = float(np.sqrt(variance.sum())) / off.size
        if abs(mean) <= float(np.hypot(LOG_ALLOWANCE, COVERAGE * error)):
            continue
        findings.append(_told(session, mean, float(by_runs.mean()), float(by_log.mean()), unit))
    return findings


def _run_variance(scatter: Array, df: Array) -> float:
    """Variance of one run from the scatter within the cells of a session; 0 where unknown."""
    freedom = float(df.sum())
    return float(scatter.sum()) / freedom if freedom > 0 else 0.0


def _told(session: str, mean: float, by_runs: float, by_log: float, unit: str) -> Finding:
    figures = (
        f"session {session}: the runs in both directions give {by_runs:.3g} {unit} through the "
        f"water, the log {by_log:.3g} {unit} ({100 * mean:+.1f} %)"
    )
    if mean > 0:
        return Finding(
            rule="log-reads-low",
            severity=Severity.WARNING,
            message=f"{figures}: the log reads low, or the ground speeds are not of this water",
            fix="check the log against double runs in slack water",
            source=SOURCE,
            session=session,
        )
    return Finding(
        rule=RULE,
        severity=Severity.WARNING,
        message=f"{figures}: a current across the track slows the boat over the ground both ways, "
        "and averaging the directions leaves it in; or the log reads high",
        fix=FIX,
        source=SOURCE,
        session=session,
    )


def crab_angles(frame: pd.DataFrame) -> Array:
    """Crab angle of each double run, its compass error taken out, shape (double runs,). [deg]

    A compass that is off is off to the same side out and back; a current across turns the boat
    to one hand out and to the other back. So half the difference is the crab angle.
    """
    off = (frame["course_over_ground"] - frame["heading"] + 180.0) % 360.0 - 180.0
    out = off[frame["sign"] > 0].groupby(frame["pair"]).mean()
    back = off[frame["sign"] < 0].groupby(frame["pair"]).mean()
    turn = (out - back + 180.0) % 360.0 - 180.0  # NaN for a double run that lacks either
    return np.asarray(turn.abs().to_numpy(dtype=float) / 2)


def _crabbing(frame: pd.DataFrame) -> list[Finding]:
    if not {"course_over_ground", "heading"} <= set(frame.columns):
        return []
    findings = []
    for session, part in frame.groupby("session", sort=False):
        angle = crab_angles(part)
        angle = angle[np.isfinite(angle)]
        if not angle.size or (worst := float(angle.max())) <= CRAB_LIMIT:
            continue
        cost = 1 - np.cos(np.radians(worst))
        findings.append(
            Finding(
                rule=RULE,
                severity=Severity.WARNING,
                message=f"session {session}: heading and course over ground differ by up to "
                f"{worst:.0f} deg to opposite sides out and back, which a current across the "
                f"track does; it costs {100 * cost:.1f} % of the speed over ground both ways, and "
                "averaging the directions leaves it in",
                fix=FIX,
                source=SOURCE,
                session=str(session),
            )
        )
    return findings
