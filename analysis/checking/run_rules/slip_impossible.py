"""A speed is impossible for the propeller."""

from __future__ import annotations

import math
from statistics import median

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    listed,
    row_place,
    sessions_of,
    set_point_text,
    speed_measure,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import a_speed
from slackwater.protocol.rules._slip import LEAST, MOST, SOURCE, apparent_slip
from slackwater.protocol.units.quantity import conversion


def check(trial: Trial, runs: RunTable) -> Found:
    protocol, speed = trial.protocol, speed_measure(trial)
    if "engine_speed" not in protocol.measures:
        yield RULE.not_applicable("no engine speed is measured")
        return
    bare = [
        name
        for name, one in trial.configurations.items()
        if one.propeller_pitch is None or not one.gear_ratio
    ]
    if bare:
        yield RULE.unseen(
            f"no pitch or no gear ratio of {listed(bare, 8)}",
            "'propeller_pitch:' and 'gear_ratio:' of each configuration",
        )
    to_ms = conversion(protocol.measure(speed).unit, "m/s")
    to_rpm = conversion(protocol.measure("engine_speed").unit, "rpm")
    for session, group in sessions_of(runs).items():
        fitted = trial.configurations[group[0].configuration]
        if fitted.propeller_pitch is None or fitted.gear_ratio is None or fitted.gear_ratio <= 0:
            continue
        pitch = fitted.propeller_pitch.to("m").value
        cells: dict[float, list[float]] = {}
        for run in group:
            ground, turns = run.values[speed], run.values["engine_speed"]
            if run.used and math.isfinite(ground) and turns > 0:
                slip = apparent_slip(ground * to_ms, turns * to_rpm / 60, pitch, fitted.gear_ratio)
                cells.setdefault(run.set_point, []).append(slip)
        slips = {point: median(values) for point, values in cells.items() if len(values) > 1}
        odd = [point for point, slip in slips.items() if not LEAST <= slip <= MOST]
        if odd:
            told = [f"{100 * slips[p]:.0f} % at {set_point_text(trial, p)}" for p in odd]
            yield RULE.found(
                row_place(trial, runs, group[0].row, speed),
                f"session {session}: apparent slip of {listed(told)}"
                + touched(trial, [session], [set_point_text(trial, p) for p in odd]),
                session=session,
            )


RULE = RunsRule(
    id="slip-impossible",
    severity=Severity.WARNING,
    title="A speed is impossible for the propeller.",
    looks_at=(
        "runs: speed_over_ground",
        "runs: engine_speed",
        "configurations.propeller_pitch",
        "configurations.gear_ratio",
    ),
    why=(
        "Apart from a following sea, a boat does not go faster than her propeller screws "
        "through the water, nor stay at a tenth of that under way. A speed outside says that a "
        "unit, the pitch, the gear ratio or the engine speed is wrong."
    ),
    fix=(
        "check the units of the speed and the engine speed, the pitch and the gear ratio (turns"
        " of the engine for one of the propeller)"
    ),
    source=SOURCE,
    passes=Example(trial="configurations: {bare: {propeller_pitch: 21 in, gear_ratio: 1.75}}"),
    fails=Example(trial="configurations: {bare: {propeller_pitch: 21 in, gear_ratio: 3.5}}"),
    check=check,
    needs=(a_speed,),
)
