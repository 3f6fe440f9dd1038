"""Runs to double runs to session values: what is used, what is set aside, and how it is told."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented_runs import runs, sweep, table
from numpy.testing import assert_allclose

from slackwater.analysis.reduction.reduction import (
    Reduction,
    reduce_measure,
    reduce_runs,
    split_outings,
)
from slackwater.analysis.reduction.set_aside import directions


def reduced(frame: pd.DataFrame, method: str = "double_run", **options: bool) -> Reduction:
    return reduce_runs(frame, method=method, one_way=options.get("one_way", False))


PAIR = [("S1", 1000, 1, "out", 0, 9.0), ("S1", 1000, 1, "back", 2, 7.0)]


def reasons(frame: pd.DataFrame) -> list[str]:
    return [each.reason for each in reduced(frame).set_aside]


def test_half_a_double_run_is_set_aside() -> None:
    found = reduced(runs(*PAIR, ("S1", 1000, 2, "out", 5, 9.3)))
    (aside,) = found.set_aside
    assert (aside.row, aside.session, aside.double_run, aside.direction) == (4, "S1", 2, "out")
    assert aside.reason == "half a double run: double run 2 has no run back"
    assert found.speed is not None
    assert_allclose(found.speed.value, [8.0])


def test_two_runs_the_same_way_are_no_double_run() -> None:
    found = reasons(runs(*PAIR, ("S1", 1000, 2, "back", 5, 7.0), ("S1", 1000, 2, "back", 7, 7.1)))
    assert found == ["half a double run: every run of double run 2 went back"] * 2


def test_three_runs_are_no_double_run() -> None:
    found = reasons(runs(*PAIR, ("S1", 1000, 1, "out", 5, 9.0)))
    assert len(found) == 3
    assert all("has 3 runs; a double run is one out and one back" in each for each in found)


def test_a_run_without_direction() -> None:
    found = reasons(runs(PAIR[0], ("S1", 1000, 1, "", 2, 7.0)))
    assert found == ["double run 1 has a run without direction or heading"] * 2


def test_what_the_user_set_aside_takes_its_partner_along() -> None:
    frame = runs(*PAIR, ("S1", 1000, 2, "out", 5, 9.2), ("S1", 1000, 2, "back", 7, 7.2))
    frame.loc[3, "set_aside"] = "wash of a ferry"
    found = reduced(frame)
    assert {each.row: each.reason for each in found.set_aside} == {
        4: "half a double run: double run 2 has no run back",
        5: "wash of a ferry",
    }
    assert len(found.frame) == 2


def headed(first: float, second: float, direction: str = "") -> pd.DataFrame:
    frame = runs(*PAIR, heading=[first, second])
    frame["direction"] = direction or ["", ""]
    return frame


@pytest.mark.parametrize(("first", "second"), [(45, 225), (350, 175), (2, 170), (180, 0)])
def test_directions_from_headings(first: float, second: float) -> None:
    found = reduced(headed(first, second))
    assert found.frame["direction"].tolist() == ["out", "back"]  # the first run went out
    assert found.speed is not None
    assert_allclose(found.speed.value, [8.0])


def test_what_is_set_aside_tells_the_direction_that_its_heading_gave() -> None:
    frame = headed(45.0, 225.0)
    frame.loc[1, "set_aside"] = "wash of a ferry"
    told = {each.row: each.direction for each in reduced(frame).set_aside}
    assert set(told.values()) == {"out", "back"}


def test_a_heading_says_out_or_back_and_nothing_between() -> None:
    signs = directions(headed(20.0, 200.0))
    assert signs.tolist() == [1.0, -1.0]


def test_headings_too_far_from_opposite() -> None:
    found = reasons(headed(45, 205))
    assert found == ["headings 45 and 205 deg are 20 deg off opposite; the limit is 15 deg"] * 2
    within = reduce_runs(headed(45, 205), method="double_run", one_way=False, reciprocal_within=20)
    assert not within.set_aside


def test_headings_of_one_side_only() -> None:
    found = reasons(headed(45, 47))
    assert found == ["half a double run: every run of double run 1 went out"] * 2


def test_current_of_each_run_and_outward_positive() -> None:
    found = reduced(runs(*PAIR))
    assert_allclose(found.current_of_run, [1.0, 1.0])


def test_one_way_runs_give_no_speed() -> None:
    found = reduced(runs(*PAIR), method="tide_fit", one_way=True)
    assert found.method == "one_way"
    assert found.speed is None
    assert np.isnan(found.current_of_run).all()
    assert len(found.frame) == 2


def test_no_current_declared_is_the_plain_mean() -> None:
    frame = runs(PAIR[0], ("S1", 1000, 2, "out", 3, 9.5))
    found = reduced(frame, method="none")
    assert found.speed is not None
    assert_allclose(found.speed.value, [9.25])
    assert not found.set_aside
    assert np.isnan(found.current_of_run).all()


def test_nothing_left_to_reduce() -> None:
    found = reduced(runs(PAIR[0]))
    assert found.speed is None
    assert found.cells == ()
    assert len(found.set_aside) == 1


# --- missing starts and measures -----------------------------------------------------------------


@pytest.mark.parametrize("method", ["tide_fit", "mean_of_means"])
def test_missing_starts_fall_back_and_say_so(method: str) -> None:
    frame = sweep(lambda minute: 0.8)
    frame.loc[[3, 5], "start"] = pd.NaT
    found = reduced(frame, method=method)
    assert found.method == "double_run"
    (note,) = found.notes
    assert note.startswith(f"{method} needs the start of every run; it is missing on 2 of 12 runs")
    assert found.speed is not None
    assert_allclose(found.speed.value, [8.0, 12.0, 16.0])
    assert not found.outings


def test_missing_speed_in_one_run_leaves_out_its_double_run_only() -> None:
    frame = sweep(lambda minute: 0.8)
    frame["fuel_flow"] = 10.0
    frame.loc[0, "speed_over_ground"] = np.nan
    found = reduced(frame, method="tide_fit")
    assert found.speed is not None
    assert_allclose(found.speed.value, [8.0, 12.0, 16.0], atol=1e-9)
    assert "runs without a speed over ground" in found.notes[0]
    assert np.isnan(found.current_of_run).sum() == 2
    flow = reduce_measure(found, "fuel_flow")
    assert_allclose(flow.factor, [1 / 4] * 3)  # the fuel flow of the same runs is still there


def test_missing_measure_in_one_run_leaves_out_its_partner() -> None:
    """The partner alone would weigh one direction more."""
    frame = sweep(lambda minute: 0.8)
    frame["fuel_flow"] = np.where(frame["direction"] == "out", 9.0, 11.0)
    frame.loc[0, "fuel_flow"] = np.nan
    cells = reduce_measure(reduced(frame), "fuel_flow")
    assert_allclose(cells.value, [10.0, 10.0, 10.0])
    assert_allclose(cells.factor, [1 / 2, 1 / 4, 1 / 4])


def test_a_measure_that_a_cell_lacks_is_missing_there() -> None:
    frame = sweep(lambda minute: 0.8)
    frame["fuel_flow"] = np.where(frame["set_point"] == 2000, np.nan, 10.0)
    cells = reduce_measure(reduced(frame), "fuel_flow")
    assert np.isnan(cells.value).tolist() == [False, True, False]
    assert cells.df[1] == 0
    frame["fuel_flow"] = np.nan
    assert np.isnan(reduce_measure(reduced(frame), "fuel_flow").value).all()


def test_a_measure_of_one_way_runs_is_the_mean_of_the_runs() -> None:
    frame = runs(PAIR[0], ("S1", 1000, 2, "out", 3, 9.5), fuel_flow=[10.0, 12.0])
    cells = reduce_measure(reduced(frame, method="tide_fit", one_way=True), "fuel_flow")
    assert_allclose(cells.value, [11.0])
    assert_allclose(cells.df, [1.0])


# --- outings -------------------------------------------------------------------------------------


def test_outings_part_at_a_gap_of_two_hours() -> None:
    minutes = np.array([0, 30, 150.1, 160, 279.98, 400, 20])
    parts = split_outings(60 * minutes)
    assert [part.tolist() for part in parts] == [[0, 1, 6], [2, 3, 4], [5]]


def test_each_outing_has_its_own_current() -> None:
    first, second = sweep(lambda minute: 0.8), sweep(lambda minute: -1.2, session="S2")
    second["start"] += pd.Timedelta(hours=9)
    found = reduced(pd.concat([first, second], ignore_index=True), method="tide_fit")
    assert len(found.outings) == 2
    levels = [
        outing.curve.at([outing.curve.start])[0][0] for outing in found.outings if outing.curve
    ]
    assert_allclose(levels, [0.8, -1.2], atol=1e-9)
    assert found.speed is not None
    assert_allclose(found.speed.value, [8.0, 12.0, 16.0] * 2, atol=1e-9)


def test_sessions_of_one_outing_share_its_current() -> None:
    """Changes made afloat: whatever was fitted, the water is the same."""
    first, second = sweep(lambda minute: 0.8), sweep(lambda minute: 0.8, session="S2")
    second["start"] += pd.Timedelta(minutes=35)
    found = reduced(pd.concat([first, second], ignore_index=True), method="tide_fit")
    assert len(found.outings) == 1


def test_a_set_point_run_in_two_outings_is_joined_by_precision() -> None:
    morning, evening = sweep(lambda minute: 0.8), sweep(lambda minute: 0.2, doubles=1)
    evening["start"] += pd.Timedelta(hours=8)
    evening["double_run"] = 3
    evening["speed_over_ground"] += 0.3
    found = reduced(pd.concat([morning, evening], ignore_index=True), method="tide_fit")
    assert len(found.outings) == 2
    assert found.speed is not None
    shares = (found.speed.value - [8.0, 12.0, 16.0]) / 0.3
    assert (shares > 0.2).all()
    assert (shares < 0.5).all()  # two runs in the evening against four in the morning


def test_a_double_run_over_a_long_gap_stays_whole() -> None:
    frame = runs(
        *PAIR,
        ("S1", 1000, 2, "out", 10, 9.0),
        ("S1", 1000, 2, "back", 300, 7.0),  # middle at minute 155
        ("S1", 2000, 1, "out", 220, 13.0),
        ("S1", 2000, 1, "back", 222, 11.0),
    )
    found = reduced(frame, method="tide_fit")
    assert sorted(len(outing.rows) for outing in found.outings) == [2, 4]


def test_runs_that_do_not_alternate_are_told() -> None:
    found = reduced(sweep(lambda minute: 0.8), method="mean_of_means")
    assert "the runs do not alternate in direction" in found.notes[0]
    assert "S1 at 1000, S1 at 2000, S1 at 3000" in found.notes[0]


def test_a_current_that_drifts_is_taken_out_of_the_whole_sweep() -> None:
    def drifting(minute: float) -> float:
        return 1.0 + 0.02 * minute - 0.0003 * minute**2

    found = reduced(sweep(drifting, doubles=3), method="tide_fit")
    assert found.speed is not None
    assert_allclose(found.speed.value, [8.0, 12.0, 16.0], atol=1e-6)
    minutes = (found.frame["middle"] - found.frame["middle"].min()) / 60 + 0.5
    assert_allclose(found.current_of_run, drifting(minutes), atol=1e-6)


# --- the seam ------------------------------------------------------------------------------------


def test_values_on_the_scale_of_the_analysis() -> None:
    values = table([[8.0, np.nan], [-1.0, 12.0]], run_variance=np.full((2, 2), 0.04))
    on_scale = values.on_scale()
    assert_allclose(on_scale[[0, 1], [0, 1]], np.log([8.0, 12.0]))
    assert np.isnan(on_scale[[0, 1], [1, 0]]).all()  # there is no ratio to a speed below zero
    assert values.run_variance_on_scale()[1] == pytest.approx(0.04 / 144)
    plain = table([[8.0, np.nan], [-1.0, 12.0]], scale="difference")
    assert plain.on_scale()[1, 0] == -1.0
