"""Limits that come out of a computation: silent on one side of them, heard on the other."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from statistics import median
from typing import Any

import pytest
from laid_examples import base_runs

from slackwater.analysis.checking.method_rules import underpowered
from slackwater.analysis.checking.method_rules._powered import detectable
from slackwater.analysis.checking.run_rules import (
    clock_jump,
    current_above_limit,
    fuel_burned,
    set_aside_many,
    shallow_for_speed,
    slip_impossible,
    units_mixed,
    value_outlier,
)
from slackwater.analysis.checking.run_rules._conditions import CLEARLY
from slackwater.analysis.checking.run_rules._outliers import CUTOFF, NORMAL_QUARTER
from slackwater.analysis.intake.tables import read_runs
from slackwater.protocol.findings import Finding
from slackwater.protocol.rules import no_family, tide_may_turn
from slackwater.protocol.rules._depth import least_depth, least_depth_for_hull
from slackwater.protocol.rules._outcome import Said
from slackwater.protocol.rules._rule import Example

Lay = Callable[[Example], Any]
HAIR = 1e-6
ROWS = [row.split(",") for row in base_runs()]
S1 = [row for row in ROWS if row[0] == "S1"]


def count(said: Iterable[Said]) -> int:
    """How many findings there are among what a rule said."""
    return sum(isinstance(one, Finding) for one in said)


def on_runs(rule: Any, lay: Lay, example: Example) -> int:
    laid = lay(example)
    return count(rule.said(laid.trial, read_runs(laid.trial)))


@pytest.mark.parametrize(("minute", "second", "found"), [(15, 0, 0), (15, 1, 1)])
def test_clock_jump(lay: Lay, minute: int, second: int, found: int) -> None:
    # The last run but one starts at 08:45:00; half an hour is a pause, a second more a jump.
    row = f"S1,2000,2,out,2026-05-04T09:{minute:02d}:{second:02d},60,12.7,2000,22.0,,"
    assert on_runs(clock_jump.RULE, lay, Example(runs=row)) == found


@pytest.mark.parametrize(("more", "found"), [(HAIR, 0), (-HAIR, 6)])
def test_current_above_limit(lay: Lay, more: float, found: int) -> None:
    # The smoothed current of each session is about 0.9 kn; take the least of the six strongest.
    strongest = []
    for session in {row[0] for row in ROWS}:
        mine = [row for row in ROWS if row[0] == session]
        pairs = [
            (float(out[6]) - float(back[6])) / 2
            for out in mine
            for back in mine
            if out[:3] == back[:3] and (out[3], back[3]) == ("out", "back")
        ]
        strongest.append(max(median(pairs[:3]), median(pairs[1:4])))
    bound = (max(strongest) if more > 0 else min(strongest)) - CLEARLY + more
    example = Example(protocol=f"conditions: {{current: {{at_most: {bound:.9f} kn}}}}")
    assert on_runs(current_above_limit.RULE, lay, example) == found


@pytest.mark.parametrize("factor", [1 + HAIR, 1 - HAIR])
def test_fuel_burned(lay: Lay, factor: float) -> None:
    # By hand: seven gaps of 150 s and a last run of 60 s, at the mean flow, 0.84 kg/L.
    burned = {}
    for session in {row[0] for row in ROWS}:
        flows = [float(row[8]) for row in ROWS if row[0] == session]
        burned[session] = 0.84 * (7 * 150 + 60) / 3600 * sum(flows) / len(flows)
    limit = max(burned.values()) * factor
    over = sum(value > limit for value in burned.values())
    assert (over == 0) == (factor > 1)
    example = Example(protocol=f"loading: {{displacement: {{within: {limit:.9f} kg}}}}")
    assert on_runs(fuel_burned.RULE, lay, example) == over


@pytest.mark.parametrize(("factor", "found"), [(1 + HAIR, 0), (1 - HAIR, 1)])
def test_shallow_for_speed(lay: Lay, factor: float, found: int) -> None:
    speeds = [float(row[6]) for row in S1 if row[1] == "2000"]
    depth = least_depth(sum(speeds) / len(speeds)) * factor
    example = Example(trial=f"sessions: [{{id: S1, water_depth: {depth:.9f} m}}]")
    assert on_runs(shallow_for_speed.RULE, lay, example) == found


@pytest.mark.parametrize(("factor", "found"), [(1 + HAIR, 0), (1 - HAIR, 1)])
def test_shallow_for_the_hull(lay: Lay, factor: float, found: int) -> None:
    depth = least_depth_for_hull(30.0, 4.0) * factor  # 32.9 m, more than the speeds ask for
    sessions = ", ".join(
        f"{{id: S{i}, water_depth: {depth if i == 1 else 99:.9f} m}}" for i in range(1, 7)
    )
    example = Example(trial=f"{{boat: {{beam: 30 m, draught: 4 m}}, sessions: [{sessions}]}}")
    assert on_runs(shallow_for_speed.RULE, lay, example) == found


@pytest.mark.parametrize(("count", "found"), [(9, 0), (10, 1)])
def test_set_aside_many(lay: Lay, count: int, found: int) -> None:
    # A fifth of 48 runs is 9.6. One run of every other double run, so that no set point goes.
    rows = [row for row in ROWS if row[2] == "1"][:count]
    patch = "\n".join(",".join([*row[:9], "crossed a wake", ""]) for row in rows)
    assert on_runs(set_aside_many.RULE, lay, Example(runs=patch)) == found


@pytest.mark.parametrize(("slip", "found"), [(-0.03 + HAIR, 0), (-0.03 - HAIR, 3)])
def test_slip_impossible(lay: Lay, slip: float, found: int) -> None:
    # The gear ratio at which the median apparent slip of the worst cell is so much. The pitch of
    # 21 in; turns of the engine over those of the propeller.
    def ratio_for(cell: list[list[str]]) -> float:
        per_turn = [float(row[6]) * 1852 / 60 / float(row[7]) for row in cell]
        return (1 - slip) * 21 * 0.0254 / median(per_turn)

    cells = [
        [row for row in ROWS if row[0] == session and row[1] == point]
        for session in ("S1", "S4", "S5")
        for point in ("1000", "2000")
    ]
    ratios = [ratio_for(cell) for cell in cells]
    # The smallest ratio of all leaves every session at the limit or inside; the largest, none.
    ratio = min(ratios) if found == 0 else max(ratios)
    example = Example(
        trial=f"configurations: {{bare: {{propeller_pitch: 21 in, gear_ratio: {ratio:.12f}}}}}"
    )
    assert on_runs(slip_impossible.RULE, lay, example) == found


@pytest.mark.parametrize(("off", "found"), [(0.03, 1), (0.30, 0)])
def test_units_mixed_takes_known_factors_only(lay: Lay, off: float, found: int) -> None:
    # US gallons are 1 / 3.785 of the litres; half as much again is no unit.
    factor = math.exp(off) / 3.785411784
    rows = [[*row[:8], f"{float(row[8]) * factor:.4f}", "", ""] for row in ROWS if row[0] == "S2"]
    patch = "\n".join(",".join(row) for row in rows)
    assert on_runs(units_mixed.RULE, lay, Example(runs=patch)) == found


@pytest.mark.parametrize(("factor", "found"), [(1 - HAIR, 0), (1 + HAIR, 1)])
def test_underpowered(lay: Lay, factor: float, found: int) -> None:
    noise = 1.0 / detectable(1.0, 3, 11 + 4, 0.95) * factor
    laid = lay(
        Example(protocol=f"noise: {{speed: {{between_sessions: {noise:.9f} %, sessions: 12}}}}")
    )
    assert count(underpowered.RULE.said(laid.protocol)) == found


def test_underpowered_counts_the_double_runs(lay: Lay) -> None:
    # Within a session the scatter goes with the root of the double runs: two of them here.
    whole = 1.0 / detectable(1.0, 3, 15, 0.95)
    for factor, found in ((1 - HAIR, 0), (1 + HAIR, 1)):
        within = whole * math.sqrt(2) * factor
        laid = lay(
            Example(
                protocol="noise: {speed: {between_sessions: 0 %, sessions: 12, "
                f"within_session: {within:.9f} %}}}}"
            )
        )
        assert count(underpowered.RULE.said(laid.protocol)) == found


@pytest.mark.parametrize(("double_runs", "found"), [(19, 0), (20, 1)])
def test_tide_may_turn(lay: Lay, double_runs: int, found: int) -> None:
    # Runs of 20 + 60 + 60 s: 76 of them take 2.96 h, 80 take 3.11 h; a quarter of M2 is 3.105 h.
    laid = lay(
        Example(
            protocol=f"{{analysis: {{current: double_run}}, runs: {{double_runs: {double_runs}}}}}"
        )
    )
    assert count(tide_may_turn.RULE.said(laid.protocol)) == found


def test_one_comparison_needs_no_family(lay: Lay) -> None:
    for values, found in (("[1000 rpm]", 0), ("[1000 rpm, 2000 rpm]", 1)):
        laid = lay(
            Example(
                protocol=f"{{analysis: {{family: single}}, runs: {{set_points: {{values: {values}}}}}}}"
            )
        )
        assert count(no_family.RULE.said(laid.protocol)) == found


@pytest.mark.parametrize(("factor", "found"), [(1 - HAIR, 0), (1 + HAIR, 1)])
def test_outlier_at_the_cutoff(factor: float, found: int) -> None:
    """Ten values whose median absolute deviation is 1, and one at the cut-off."""
    offs = [-1.0, 1.0, -1.0, 1.0, -1.0, 1.0, -1.0, 1.0, -1.0]
    spread = 1 + value_outlier.MAD_ERROR / math.sqrt(10)
    last = CUTOFF / NORMAL_QUARTER * spread * factor
    group = [(str(i), 100.0, off) for i, off in enumerate([*offs, last])]
    got = list(value_outlier.scored({1000.0: group}, ratio=False))
    assert len(got) == found
