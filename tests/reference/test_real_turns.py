"""Turns and steering of real boats: against what the source of the data tells, and against other instruments aboard.

Data: canboat's and Signal K's samples of NMEA 2000 (SOURCE.md beside them tells where from): a motor boat in a wide
circle, the same in two turns to either side, a yacht under sail.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy.signal import detrend

import slackwater
from slackwater.analysis.handling.circles import circle_through
from slackwater.analysis.handling.circles_found import circles_of
from slackwater.analysis.handling.drift import PAIRS, VELOCITIES, drift_by_velocities
from slackwater.analysis.handling.path import lay_path
from slackwater.analysis.handling.steering import heading_spread
from slackwater.analysis.handling.turning import TurningCircle
from slackwater.analysis.logs.channels import Channel, Log
from slackwater.analysis.steady.track import KNOT

Measured = Callable[[str], Path]


def log_of(path: Path) -> Log:
    return slackwater.logs(path).logs[0]


def of_device(log: Log, device: int, *without: str) -> list[Channel]:
    return [
        each
        for each in log.channels
        if each.source.endswith(f"from {device}") and each.quantity not in without
    ]


def by_gyro(log: Log, circle: TurningCircle, since: float) -> float:
    """Diameter from the speed of the circle and the rate gyro, which no receiver knows of: 2 v / r. [m]"""
    gyro = next(each for each in log.of("rate_of_turn") if each.source.endswith("from 52"))
    during = (gyro.seconds >= since) & (gyro.seconds <= circle.end)
    rate = abs(math.radians(float(gyro.values[during].mean()) / 60))
    speed = circle.figures["steady_speed"].value
    assert speed is not None
    return 2 * speed * KNOT / rate


@pytest.fixture(scope="module")
def wide(measured: Measured) -> Log:
    return log_of(measured("nmea2000-underway/furuno-130842-wide-turn.raw"))


@pytest.fixture(scope="module")
def both(measured: Measured) -> Log:
    return log_of(measured("nmea2000-underway/furuno-130842.raw"))


class TestWideCircle:
    def test_the_circle_of_velocities_is_that_of_the_source(self, wide: Log) -> None:
        """SOURCE.md: radius 2.78 m/s, centre 0.18 kn for receiver 52; to half a digit."""
        path = lay_path(of_device(wide, 52))
        x, y, radius, _ = circle_through(path.east_velocity, path.north_velocity)
        assert radius == pytest.approx(2.78, abs=0.005)
        assert math.hypot(x, y) / KNOT == pytest.approx(0.18, abs=0.005)

    def test_the_rougher_receiver_tells_the_same_within_its_noise(self, wide: Log) -> None:
        """SOURCE.md: radius 2.85 m/s, centre 0.16 kn for receiver 25, in another direction: within the noise."""
        path = lay_path(of_device(wide, 25))
        drift = drift_by_velocities(path, *path.span, 360.0)
        assert drift is not None
        assert drift.uncertainty is not None
        assert abs(drift.knots - 0.16) <= 2 * drift.uncertainty / KNOT
        radius = circle_through(path.east_velocity, path.north_velocity)[2]
        assert radius == pytest.approx(2.85, abs=0.03)  # 787 rough values: 0.28 / sqrt(100) at best

    def test_drift_and_diameter(self, wide: Log) -> None:
        (circle,) = circles_of(of_device(wide, 52)).found
        assert circle.side == "starboard"
        assert circle.drift is not None
        assert circle.drift.by == VELOCITIES
        assert circle.drift.uncertainty is not None
        noise = 2 * circle.drift.uncertainty / KNOT
        assert circle.drift.knots == pytest.approx(0.18, abs=0.005 + noise)
        speed = circle.figures["steady_speed"].value
        assert speed is not None
        assert speed * KNOT == pytest.approx(2.78, abs=0.12)  # the scatter that SOURCE.md names
        diameter = circle.figures["steady_diameter"].value
        since = circle.order + (circle.figures["time_to_180"].value or 0.0)
        # 3 %: what rate gyros of such instruments are off by in scale (common practice)
        assert diameter == pytest.approx(by_gyro(wide, circle, since), rel=0.03)

    def test_places_and_velocities_summed_give_one_circle(self, wide: Log) -> None:
        told, summed = (
            circles_of(of_device(wide, 52, *without)).found[0].figures["steady_diameter"]
            for without in ((), ("latitude", "longitude"))
        )
        assert told.value is not None
        assert summed.value is not None
        assert told.uncertainty is not None
        assert summed.uncertainty is not None
        noise = math.hypot(told.uncertainty, summed.uncertainty)
        assert abs(told.value - summed.value) <= 2 * noise


class TestOwnValues:
    def test_heel_and_rate_of_a_turn(self, measured: Measured, tmp_path: Path) -> None:
        """The whole way from the log: rate against what she turned by her course, heel against pandas' rolling means."""
        trial = tmp_path / "trial.yaml"
        trial.write_text(LEANING, encoding="utf-8")
        path = measured("nmea2000-underway/furuno-130842-wide-turn.raw")
        ((_, one),) = slackwater.tries(trial, path).tries
        assert one.direction == "starboard"
        assert one.circle is not None
        rate, lean, upright = (one.values[name].value for name in ("rate", "lean", "upright"))
        # of the gyro's scale 3 % (common practice), and a second at either end
        assert rate == pytest.approx(one.circle.turned / (one.end - one.start) * 60, rel=0.04)
        heel = next(c for c in log_of(path).of("heel") if c.source.endswith("from 52"))
        during = (heel.seconds >= one.start) & (heel.seconds <= one.end)
        stamps = pd.to_datetime(heel.seconds[during], unit="s")
        rolled = pd.Series(heel.values[during], index=stamps).rolling("3s").mean()[heel.seconds[during] - one.start >= 3.0]  # fmt: skip
        assert lean == pytest.approx(rolled.abs().max(), abs=0.05)
        assert upright == pytest.approx(float(np.mean(heel.values[during])), abs=0.01)


LEANING = """
trial: leaning
protocol:
  protocol: leaning
  runs: {set_points: {of: engine_speed, values: [2000 rpm]}}
  sessions: {per_configuration: 1}
  measures: {speed_over_ground: {unit: kn}}
  manoeuvres:
    turn:
      start: straight
      end: 360 degrees turned
      directions: port_and_starboard
      tries: 1
      current: drift_taken_out
      values:
        steady_diameter: {}
        rate: {unit: deg/min, from_log: {channel: rate_of_turn, take: mean}}
        lean: {unit: deg, scale: difference, from_log: {channel: heel, take: furthest}}
        upright: {unit: deg, scale: difference, from_log: {channel: heel, take: mean}}
configurations: {bare: {}}
sessions: [{id: S1, configuration: bare, date: 2026-08-03}]
cut: {sources: {heel: 127257 from 52, rate_of_turn: 127251 from 52}}
"""


class TestTurnsToEitherSide:
    def test_two_opposite_turns_are_found(self, both: Log) -> None:
        """SOURCE.md: two opposite turns at different speeds, no position."""
        port, starboard = circles_of(of_device(both, 25)).found
        assert (port.side, starboard.side) == ("port", "starboard")
        assert all(any("no positions" in note for note in each.notes) for each in (port, starboard))
        assert port.drift is not None
        assert port.drift.by == PAIRS
        assert starboard.drift is not None
        assert starboard.drift.by == "a turn 2 min away"
        assert starboard.figures["tactical_diameter"].value is not None
        assert starboard.figures["tactical_diameter"].uncertainty is None  # of a borrowed drift

    def test_diameter_against_the_gyro(self, both: Log) -> None:
        port, _ = circles_of(of_device(both, 25)).found
        found = port.figures["steady_diameter"]
        assert found.value is not None
        whole = 2 * math.pi * found.value / 2 / ((port.figures["steady_speed"].value or 0) * KNOT)
        # besides the gyro's 3 %: a course that stays the same for several values and then leaps makes the sum of
        # velocities short, by 1 - cos of what it is off by
        assert found.value == pytest.approx(by_gyro(both, port, port.end - whole), rel=0.05)


class TestHelm:
    def test_spread_of_heading_under_sail(self, measured: Measured) -> None:
        """The yacht's heading by stretches of 100 s, against scipy; compass and receiver tell of one helm."""
        log = log_of(measured("nmea2000-underway/aava-n2k.data"))
        heading, course = next(log.of("heading")), next(log.of("course_over_ground"))
        spreads = []
        for begin in np.arange(heading.seconds[0], heading.seconds[-1] - 100, 100.0):
            told = []
            for each in (heading, course):
                during = (each.seconds >= begin) & (each.seconds < begin + 100)
                seconds, values = each.seconds[during], each.values[during]
                found = heading_spread(seconds, values)["heading_spread"]
                if found.value is not None:
                    even = np.interp(np.arange(begin + 1, begin + 99), seconds, values)
                    assert found.value == pytest.approx(float(detrend(even).std()), rel=0.1)
                    told.append(found)
            if len(told) == 2:
                spreads.append(told)
        assert len(spreads) >= 3
        assert all(1.5 < compass.value < 6 for compass, _ in spreads if compass.value)
        # the course over ground is smoothed by the receiver: it shows no more than the compass does
        assert np.mean([r.value for _, r in spreads]) < np.mean([c.value for c, _ in spreads])

    def test_a_change_of_course_is_no_steering(self, measured: Measured) -> None:
        log = log_of(measured("nmea2000-underway/aava-n2k.data"))
        heading = next(log.of("heading"))
        during = (heading.seconds >= heading.seconds[0] + 400) & (
            heading.seconds < heading.seconds[0] + 500
        )
        found = heading_spread(heading.seconds[during], heading.values[during])
        assert "no straight" in found["heading_spread"].why_not

    def test_tries_of_keeping_straight(self, measured: Measured, tmp_path: Path) -> None:
        """The whole way from the log: straights found by the trial's own terms, each figure held to scipy and numpy."""
        trial = tmp_path / "trial.yaml"
        trial.write_text(STRAIGHTS, encoding="utf-8")
        path = measured("nmea2000-underway/aava-n2k.data")
        found = slackwater.tries(trial, path)
        heading = next(log_of(path).of("heading"))
        assert [round(one.end - one.start) for _, one in found.tries] == [60, 60]
        for _, one in found.tries:
            during = (heading.seconds >= one.start) & (heading.seconds <= one.end + 1e-6)
            values = heading.values[during]
            steered, strayed = (one.values[name] for name in ("steering_correction", "wandering"))
            assert steered.value == pytest.approx(float(detrend(values).std(ddof=2)), rel=0.03)
            assert strayed.value == pytest.approx(float(np.std(values, ddof=1)), rel=0.03)
            assert steered.uncertainty is not None
            assert (
                0.1 < steered.uncertainty / steered.value < 0.5
            )  # a minute holds few turns of the wheel
            assert one.values["turning"].why_not == "no rate of turn is recorded"


STRAIGHTS = """
trial: helm
protocol:
  protocol: helm
  runs: {set_points: {of: engine_speed, values: [2000 rpm]}, steady: {settle: 10 s, record: 60 s}}
  sessions: {per_configuration: 1}
  measures: {speed_over_ground: {unit: kn}}
  manoeuvres:
    straight:
      start: on a straight course
      end: a minute later
      directions: one_way
      tries: 2
      values:
        steering_correction: {}
        wandering: {unit: deg, from_log: {channel: heading, take: spread}}
        turning: {unit: deg/min, scale: difference, from_log: {channel: rate_of_turn, take: furthest}}
configurations: {bare: {}}
sessions: [{id: S1, configuration: bare, date: 2014-08-15}]
"""
