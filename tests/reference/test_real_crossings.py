"""A survey boat across a river and back: the current is across the track, and averaging must warn.

Data: river-adcp-crossings/*_crossing_002.csv and _003.csv, see the SOURCE.md beside them. The
boat moves at about 0.5 m/s over the ground both ways and at about 2 m/s through the water.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from slackwater.analysis import analyse

CROSSINGS = {"out": "002", "back": "003"}


@pytest.fixture
def crossings(measured):
    """Each crossing as a run: mean speeds, mean course and heading, start and duration."""
    runs = {}
    for way, number in CROSSINGS.items():
        path = measured(f"river-adcp-crossings/*_crossing_{number}.csv")
        track = pd.read_csv(path).dropna(subset=["sog_gps_mps", "stw_mps"])
        times = pd.to_datetime(track["time_gps_utc"])
        runs[way] = {
            "start": times.iloc[0].isoformat(timespec="milliseconds"),
            "duration": (times.iloc[-1] - times.iloc[0]).total_seconds(),
            "ground": track["sog_gps_mps"].mean(),
            "water": track["stw_mps"].mean(),
            "course": mean_direction(track["cog_gps_deg"], track["sog_gps_mps"]),
            "heading": mean_direction(track["heading_deg"], track["stw_mps"]),
        }
    return runs


def mean_direction(degrees, speed):
    angle = np.radians(degrees)
    return (
        np.degrees(np.arctan2((speed * np.sin(angle)).sum(), (speed * np.cos(angle)).sum())) % 360
    )


TRIAL = """
trial: river-crossing
protocol:
  protocol: across-and-back
  runs:
    set_points: {{of: throttle, values: [50 %]}}
    double_runs: 1
    reciprocal_within: {within} deg
  sessions: {{per_configuration: 1, order: A}}
  measures:
    speed_over_ground: {{unit: m/s}}
{measures}
  analysis: {{current: double_run}}
configurations: {{as_run: {{title: As run}}}}
sessions:
  - {{id: S1, configuration: as_run}}
"""
LOG = "    speed_through_water: {unit: m/s}"
COURSE = "    course_over_ground: {unit: deg}"
COLUMNS = {
    "speed_over_ground [m/s]": "ground",
    "speed_through_water [m/s]": "water",
    "course_over_ground [deg]": "course",
    "heading [deg]": "heading",
}


def analysed(write_trial, crossings, columns, within=15, measures=LOG):
    heading = ["session", "set_point [%]", "double_run", "direction", "start", "duration [s]"]
    rows = [
        ("S1", 50, 1, way, run["start"], run["duration"], *(run[COLUMNS[c]] for c in columns))
        for way, run in crossings.items()
    ]
    text = TRIAL.format(within=within, measures=measures)
    return analyse(write_trial(text, [*heading, *columns], rows))


def warnings(result):
    return [f for f in result.findings if f.rule == "current-across-track"]


def test_the_log_shows_what_the_mean_of_the_two_ways_hides(crossings, write_trial):
    columns = ["speed_over_ground [m/s]", "speed_through_water [m/s]"]
    result = analysed(write_trial, crossings, columns)
    means = {row["quantity"]: row["mean"] for row in result.records("set_points")}
    assert means["speed"] < 0.35 * means["speed_through_water"]  # 0.52 against 1.79 m/s
    # The track shows no current at all: out and back take the same speed over the ground.
    assert abs(result.current["value"].iloc[0]) < 0.05
    (warning,) = warnings(result)
    assert warning.severity == "warning"
    assert warning.session == "S1"
    assert "across the track" in warning.message
    assert "common practice" in warning.source


def test_without_a_second_instrument_nothing_can_be_told(crossings, write_trial):
    result = analysed(write_trial, crossings, ["speed_over_ground [m/s]"], measures="")
    assert not warnings(result)


def test_course_and_heading_show_it_too(crossings, write_trial):
    """Both headings point upstream, so they are far from opposite; a protocol that lets them
    through gets the warning from the crab angle."""
    columns = ["speed_over_ground [m/s]", "course_over_ground [deg]", "heading [deg]"]
    result = analysed(write_trial, crossings, columns, within=170, measures=COURSE)
    (warning,) = warnings(result)
    assert "opposite sides" in warning.message
    assert set(result.set_points["quantity"]) == {"speed"}  # a course is no result


def test_headings_that_are_not_opposite_are_refused_as_a_double_run(crossings, write_trial):
    columns = ["speed_over_ground [m/s]", "speed_through_water [m/s]", "heading [deg]"]
    result = analysed(write_trial, crossings, columns)
    assert result.runs.set_aside == 2
    assert all("off opposite" in row["reason"] for row in result.records("set_aside"))
