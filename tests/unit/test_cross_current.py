"""A current across the track shows in a log, or in course and heading; only then can it be told."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented_runs import runs, sweep

from slackwater.analysis.checking.cross_current import CRAB_LIMIT, across_track, crab_angles
from slackwater.analysis.reduction.reduction import reduce_runs
from slackwater.protocol.findings import Finding

UNITS = {"speed_over_ground": "kn", "speed_through_water": "kn", "course_over_ground": "deg"}


def told(frame: pd.DataFrame, method: str = "double_run", **units: str) -> tuple[Finding, ...]:
    within = 60.0
    reduction = reduce_runs(frame, method=method, one_way=False, reciprocal_within=within)
    return across_track(reduction, UNITS | units)


def crossed(water: float, across: float) -> pd.DataFrame:
    """A sweep at one true speed on a current across only, the log true."""
    over_ground = float(np.sqrt(water**2 - across**2))
    frame = sweep(lambda minute: 0.0, (over_ground,) * 3)
    frame["speed_through_water"] = water
    return frame


def test_a_knot_across_at_five_knots_is_told() -> None:
    """V 5, 1 across: 4.899, 2.0 % below the log."""
    (finding,) = told(crossed(5.0, 1.02))
    assert finding.rule == "current-across-track"
    assert finding.severity == "warning"
    assert finding.session == "S1"
    assert "4.89 kn through the water, the log 5 kn (-2.1 %)" in finding.message
    assert finding.fix
    assert "common practice" in finding.source


def test_a_knot_across_at_25_knots_is_not_worth_a_word() -> None:
    assert told(crossed(25.0, 1.0)) == ()


@pytest.mark.parametrize("method", ["tide_fit", "double_run"])
def test_a_current_along_is_taken_out_and_nothing_to_tell(method: str) -> None:
    frame = sweep(lambda minute: 1.5 - 0.01 * minute)
    frame["speed_through_water"] = frame["set_point"] / 1000 * 4 + 4
    assert told(frame, method) == ()


def test_a_log_that_reads_low_is_another_matter() -> None:
    frame = sweep(lambda minute: 0.5)
    frame["speed_through_water"] = 0.95 * (frame["set_point"] / 1000 * 4 + 4)
    (finding,) = told(frame)
    assert finding.rule == "log-reads-low"
    assert "+5.3 %" in finding.message


def test_units_of_the_two_may_differ() -> None:
    frame = crossed(5.0, 0.0)
    frame["speed_through_water"] *= 1852 / 3600
    assert told(frame, speed_through_water="m/s") == ()
    assert told(frame)[0].rule == "log-reads-low"  # the same figures taken for knots


def test_noise_excuses_what_noise_can_do() -> None:
    frame = crossed(5.0, 1.02)
    frame["speed_over_ground"] += np.tile([0.4, 0.4, -0.4, -0.4], 3)  # double runs 0.8 kn apart
    assert told(frame) == ()


def test_each_session_is_told_by_itself() -> None:
    calm, crossing = crossed(5.0, 0.0), crossed(5.0, 1.5)
    crossing["session"] = "S2"
    found = told(pd.concat([calm, crossing], ignore_index=True))
    assert [finding.session for finding in found] == ["S2"]


def test_nothing_is_told_without_a_second_instrument() -> None:
    assert told(sweep(lambda minute: 0.0)) == ()


def test_a_log_that_was_never_read_is_none() -> None:
    frame = crossed(5.0, 2.0)
    frame["speed_through_water"] = np.nan
    assert told(frame) == ()


def headed(crab: float, compass_error: float = 0.0) -> pd.DataFrame:
    """Out on a course of 90 deg and back on 270 deg; the current comes from the south."""
    return runs(
        ("S1", 1000, 1, "out", 0, 5.0),
        ("S1", 1000, 1, "back", 3, 5.0),
        heading=[(90 + crab + compass_error) % 360, (270 - crab + compass_error) % 360],
        course_over_ground=[90.0, 270.0],
    )


@pytest.mark.parametrize("compass_error", [0.0, 12.0, -95.0])
def test_a_crab_angle_is_told_from_a_compass_error(compass_error: float) -> None:
    frame = headed(12.0, compass_error)
    frame["sign"], frame["pair"] = [1.0, -1.0], 0
    assert crab_angles(frame) == pytest.approx([12.0])


def test_a_large_crab_angle_is_told() -> None:
    (finding,) = told(headed(12.0))
    assert finding.rule == "current-across-track"
    assert "up to 12 deg" in finding.message
    assert "2.2 % of the speed" in finding.message  # 1 - cos 12 deg


def test_a_small_one_and_a_compass_error_are_not() -> None:
    assert told(headed(CRAB_LIMIT - 0.5, 4.0)) == ()


def test_course_without_heading_tells_nothing() -> None:
    frame = headed(12.0)
    frame["heading"] = np.nan
    assert told(frame) == ()
