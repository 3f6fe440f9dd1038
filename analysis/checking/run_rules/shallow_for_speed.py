"""The water was too shallow for the speeds run."""

from __future__ import annotations

import math
from statistics import fmean

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    listed,
    sessions_of,
    set_point_text,
    speed_measure,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import a_speed
from slackwater.protocol.rules._depth import depth_froude, least_depth, least_depth_for_hull
from slackwater.protocol.rules._trials import session_place
from slackwater.protocol.units.quantity import conversion


def check(trial: Trial, runs: RunTable) -> Found:
    bare = [name for name in sessions_of(runs) if trial.session(name).water_depth is None]
    if bare:
        yield RULE.unseen(f"no water depth of {listed(bare, 8)}", "'water_depth:' of each session")
    speed = speed_measure(trial)
    to_kn = conversion(trial.protocol.measure(speed).unit, "kn")
    for name, group in sessions_of(runs).items():
        session = trial.session(name)
        depth = session.water_depth.to("m").value if session.water_depth else 0.0
        if depth <= 0:
            continue
        cells: dict[float, list[float]] = {}
        for run in group:
            if run.used and math.isfinite(run.values[speed]):
                cells.setdefault(run.set_point, []).append(run.values[speed] * to_kn)
        speeds = {point: fmean(values) for point, values in cells.items()}
        fast = [point for point, mean in speeds.items() if least_depth(mean) > depth * (1 + 1e-9)]
        hull = None
        if trial.boat.beam and (session.draught or trial.boat.draught):
            draught = session.draught or trial.boat.draught
            if draught is not None:
                hull = least_depth_for_hull(trial.boat.beam.to("m").value, draught.to("m").value)
        place = session_place(trial, name, "water_depth")
        if fast:
            top = max(speeds[point] for point in fast)
            points = [set_point_text(trial, point) for point in sorted(fast)]
            yield RULE.found(
                place,
                f"session {name}: {depth:g} m of water at {top:.3g} kn is a depth Froude number of "
                f"{depth_froude(top, depth):.2f}; to be free of the bottom takes {least_depth(top):.3g} "
                f"m, and {least_depth(top, 2.0):.3g} m is the least for a trial"
                + touched(trial, [name], points),
                session=name,
            )
        if hull is not None and depth < hull * (1 - 1e-9):
            yield RULE.found(
                place,
                f"session {name}: {depth:g} m of water; beam and draught ask for {hull:.3g} m"
                + touched(trial, [name]),
                session=name,
            )


RULE = RunsRule(
    id="shallow-for-speed",
    severity=Severity.WARNING,
    title="The water was too shallow for the speeds run.",
    looks_at=(
        "sessions.water_depth",
        "runs: speed_over_ground",
        "boat.beam",
        "boat.draught",
    ),
    why=(
        "Above a depth Froude number of about 0.6 the bottom changes the resistance, most of "
        "all near 1, the critical speed. A difference in depth can then pass for a difference "
        "between configurations."
    ),
    fix=(
        "run where it is deeper; leave out the fast set points; or show that the depth was the "
        "same throughout and waive this rule with that reason"
    ),
    source=(
        "common practice: in ship trials results are corrected below the larger of 3 sqrt(B "
        "T) and 2.75 V^2/g, and below that of 2 sqrt(B T) and 2 V^2/g no trial is run; ITTC "
        "7.5-04-01-01.1 (2017): there is a clause on water depth, for displacement vessels; "
        "ISO 15016:2015: the reference is deep water"
    ),
    passes=Example(trial="sessions: [{id: S1, water_depth: 30 m}]"),
    fails=Example(trial="sessions: [{id: S1, water_depth: 8 m}]"),
    check=check,
    needs=(a_speed,),
)
