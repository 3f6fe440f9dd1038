"""Seven timed 2 000 m passes, with and against a stream.

Data: rowing-gps-impeller/*_7x2000m.csv, see the SOURCE.md beside it. The means (3.835,
4.01, 3.96) and half-differences (0.515, 0.52, 0.48) of the three pairs are stated there; they are
exact halves of printed figures, so only rounding of doubles is allowed for.
"""

from __future__ import annotations

import csv
from datetime import datetime, timedelta

import pytest
from numpy.testing import assert_allclose

from slackwater.analysis import analyse

REST = 90.0  # [s] between passes: the session's own name ends in "1:30"; no time of day is given
EXACT = 1e-9

HEADING = (
    "session",
    "set_point [rpm]",
    "double_run",
    "direction",
    "start",
    "duration [s]",
    "speed_over_ground [m/s]",
    "stroke_rate [rpm]",
)


def trial(sessions: str, current: str) -> str:
    return f"""
trial: seven-passes
protocol:
  protocol: passes-out-and-back
  title: 2 000 m out and back at one stroke rate
  runs:
    set_points: {{of: stroke_rate, values: [22 rpm]}}
    double_runs: 3
    first_direction: fixed
  sessions: {{per_configuration: 1, order: A}}
  measures:
    speed_over_ground: {{unit: m/s}}
    stroke_rate: {{unit: rpm}}
  analysis: {{current: {current}}}
configurations: {{as_rowed: {{title: As rowed}}}}
sessions:
{sessions}
"""


@pytest.fixture
def passes(measured):
    text = measured("rowing-gps-impeller/*_7x2000m.csv").read_text(encoding="utf-8")
    lines = text.splitlines()
    first = lines.index("Summary for Session Intervals:") + 4
    found = []
    for cells in csv.reader(lines[first : first + 7]):
        hours, minutes, seconds = cells[1].split(":")
        elapsed = 3600 * int(hours) + 60 * int(minutes) + float(seconds)
        found.append((elapsed, float(cells[4]), float(cells[5])))
    return found


def rows(passes, session_of):
    start = datetime(2015, 6, 2, 6, 29)
    out = []
    for i, (elapsed, speed, rate) in enumerate(passes):
        way = ("out", "back")[i % 2]
        session, number = session_of(i // 2)
        stamp = start.isoformat(timespec="milliseconds")
        out.append((session, 22, number, way, stamp, elapsed, speed, rate))
        start += timedelta(seconds=elapsed + REST)
    return out


def test_each_double_run_gives_the_speed_and_the_current(passes, write_trial):
    """Each double run its own short session: the session values are the three means."""
    names = "\n".join(f"  - {{id: D{i}, configuration: as_rowed}}" for i in (1, 2, 3, 4))
    path = write_trial(
        trial(names, "double_run"), HEADING, rows(passes, lambda pair: (f"D{pair + 1}", 1))
    )
    result = analyse(path)
    speeds = result.session_values.query("quantity == 'speed'")
    assert speeds["session"].tolist() == ["D1", "D2", "D3"]
    assert_allclose(speeds["value"], [3.835, 4.01, 3.96], rtol=0, atol=EXACT)
    # Out went against the stream, so the current along the outward course is negative.
    assert_allclose(result.current["value"], [-0.515, -0.52, -0.48], rtol=0, atol=EXACT)


def test_the_seventh_pass_is_set_aside_and_counted(passes, write_trial):
    path = write_trial(
        trial("  - {id: S1, configuration: as_rowed}", "double_run"),
        HEADING,
        rows(passes, lambda pair: ("S1", pair + 1)),
    )
    result = analyse(path)
    assert (result.runs.read, result.runs.used, result.runs.set_aside) == (7, 6, 1)
    (aside,) = result.records("set_aside")
    assert (aside["row"], aside["double_run"], aside["direction"]) == (8, 4, "out")
    assert "half a double run" in aside["reason"]
    (mean,) = result.records("set_points")
    # The mean of the three pairs; with the half double run it would be 3.976.
    assert mean["mean"] == pytest.approx((3.835 + 4.01 + 3.96) / 3, abs=EXACT)
    assert mean["double_runs"] == 3
    assert mean["low"] is None  # one session: no interval, and no NaN in its place


@pytest.mark.parametrize("method", ["mean_of_means", "tide_fit"])
def test_the_other_methods_stay_between_the_double_runs(passes, write_trial, method):
    """The stream hardly changed, so each method must land among the three pairs' own means."""
    path = write_trial(
        trial("  - {id: S1, configuration: as_rowed}", method),
        HEADING,
        rows(passes, lambda pair: ("S1", pair + 1)),
    )
    result = analyse(path)
    (mean,) = result.records("set_points")
    assert 3.835 < mean["mean"] < 4.01
    assert result.current["value"].between(-0.62, -0.42).all()  # 0.1 m/s about 0.515 and 0.52


def test_distance_over_time_is_not_the_speed(passes):
    """The file's own mean, 3.91 m/s, is distance over time: low, as check value 1.7 says."""
    time = sum(elapsed for elapsed, _, _ in passes)
    assert 14002.0 / time == pytest.approx(3.91, abs=0.005)
    assert sum(speed for _, speed, _ in passes) / 7 > 3.96
