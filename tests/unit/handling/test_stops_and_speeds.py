"""Stops, times between speeds and steering against closed forms of motion."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from slackwater.analysis.handling.drift import Drift
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.path import NoPath, Path
from slackwater.analysis.handling.speeds import time_between, time_to_plane, time_to_speed
from slackwater.analysis.handling.steering import heading_spread
from slackwater.analysis.handling.stopping import Stop, stopping

CURRENT = (0.3, -0.4)


class Astern:
    """A boat with drag k v^2 that goes astern with an even push a: v' = -a - k v^2, solved in closed form.

    Until she stops after t = atan(v0 sqrt(k/a)) / sqrt(a k) she runs on for x = ln(1 + k v0^2 / a) / (2 k), as separating
    the variables and integrating v dv / (a + k v^2) gives.
    """

    def __init__(self, k: float, a: float, v0: float, course: float) -> None:
        self.time = math.atan(v0 * math.sqrt(k / a)) / math.sqrt(a * k)
        self.reach = math.log(1 + k * v0**2 / a) / (2 * k)
        self.v0, self.k, self.a = v0, k, a
        self.course = course

    def path(self, current: tuple[float, float] = CURRENT, step: float = 0.02) -> Path:
        t = np.arange(-20.0, self.time + 5, step)
        during = np.clip(t, 0, self.time)
        angle = (
            math.atan(self.v0 * math.sqrt(self.k / self.a)) - math.sqrt(self.a * self.k) * during
        )
        v = np.where(t < self.time, math.sqrt(self.a / self.k) * np.tan(angle), 0.0)
        ran = np.log(np.cos(angle) / np.cos(angle[0])) / self.k
        x = np.where(t < 0, self.v0 * t, ran)
        way = math.radians(self.course)
        east, north = (x * f + c * t for f, c in zip((math.sin(way), math.cos(way)), current, strict=True))  # fmt: skip
        ve, vn = v * math.sin(way) + current[0], v * math.cos(way) + current[1]
        return Path(t, east, north, t, ve, vn)


def value(figure: Figure) -> float:
    assert figure.value is not None, figure.why_not
    return figure.value


class TestStops:
    @pytest.mark.parametrize(
        ("k", "a", "v0"), [(0.05, 0.4, 6.0), (0.01, 0.2, 10.0), (0.1, 1.0, 3.0), (0.02, 0.05, 4.0)]
    )
    def test_reach_and_time_against_the_closed_form(self, k: float, a: float, v0: float) -> None:
        boat = Astern(k, a, v0, 70.0)
        drift = Drift(*CURRENT, 0.0, "given")
        found = stopping(boat.path(), 0.0, boat.time + 5, drift=drift, stopped=1e-9)
        assert value(found.figures["head_reach"]) == pytest.approx(boat.reach, abs=1e-6)
        assert value(found.figures["track_reach"]) == pytest.approx(boat.reach, abs=1e-4 * v0)
        assert value(found.figures["stopping_time"]) == pytest.approx(boat.time, abs=0.02)
        assert value(found.figures["lateral_deviation"]) == pytest.approx(0.0, abs=1e-9)
        assert found.course == pytest.approx(70.0, abs=1e-9)

    def test_slow_enough_is_what_the_protocol_calls_so(self) -> None:
        """From v0 to v1: x = ln((a + k v0^2) / (a + k v1^2)) / (2 k)."""
        boat, v1 = Astern(0.05, 0.4, 6.0, 200.0), 1.5
        found = stopping(
            boat.path((0.0, 0.0)), 0.0, boat.time + 5,
            drift=Drift(0, 0, 0, "given"), stopped=v1 * 3600 / 1852,
        )  # fmt: skip
        expected = math.log((0.4 + 0.05 * 36) / (0.4 + 0.05 * v1**2)) / 0.1
        assert value(found.figures["head_reach"]) == pytest.approx(expected, abs=2e-3)

    def test_where_the_current_is_not_known_no_uncertainty_is_made_up(self) -> None:
        boat = Astern(0.05, 0.4, 6.0, 70.0)
        found = stopping(boat.path((0.02, 0.03)), 0.0, boat.time + 5)
        assert found.figures["head_reach"].uncertainty is None
        assert any("current is left in" in note for note in found.notes)

    def test_one_that_never_stops_says_how_slow_she_was(self) -> None:
        boat = Astern(0.05, 0.4, 6.0, 70.0)
        found = stopping(boat.path((0.9, 0.3)), 0.0, boat.time + 5)
        assert "she never came down to 0.3 kn" in found.figures["head_reach"].why_not
        assert found.end is None

    def test_one_that_lay_still_already(self) -> None:
        t = np.arange(0.0, 60.0)
        rest = Path(t, 0 * t, 0.01 * t, t, 0 * t, 0.01 + 0 * t)
        found = stopping(rest, 20.0, 50.0)
        assert "no faster than 0.3 kn" in found.figures["stopping_time"].why_not

    def test_gaps_and_beginnings_that_lack(self) -> None:
        path = Astern(0.05, 0.4, 6.0, 70.0).path(step=0.5)
        with pytest.raises(NoPath, match="too little"):
            stopping(path, -20.0, 10.0)
        seldom = path.seconds % 8 == 0  # two places before the order make no course
        with pytest.raises(NoPath, match="too little"):
            stopping(
                replace(
                    path,
                    seconds=path.seconds[seldom],
                    east=path.east[seldom],
                    north=path.north[seldom],
                ),
                0.0,
                12.0,
            )
        kept = (path.seconds < 2) | (path.seconds > 9)
        holed = replace(path, seconds=path.seconds[kept], east=path.east[kept], north=path.north[kept])  # fmt: skip
        with pytest.raises(NoPath, match="breaks off"):
            stopping(holed, 0.0, 12.0)

    def test_places_alone_do_not_lengthen_the_track(self) -> None:
        boat = Astern(0.02, 0.05, 4.0, 70.0)
        path = boat.path((0.0, 0.0), step=1.0)
        rng = np.random.default_rng(3)
        e, n = (each + rng.normal(0, 0.3, each.size) for each in (path.east, path.north))
        made = replace(
            path, east=e, north=n, derived=True,
            east_velocity=np.gradient(e, path.seconds), north_velocity=np.gradient(n, path.seconds),
        )  # fmt: skip
        found: Stop = stopping(made, 0.0, boat.time + 5, stopped=0.6)
        track, head = (value(found.figures[n]) for n in ("track_reach", "head_reach"))
        assert track == pytest.approx(head, abs=1.5)


class TestSpeeds:
    T = np.arange(-10.0, 60.0, 0.1)
    RISING = np.where(T < 0, 2.0, 2 + 18 * (1 - np.exp(-np.clip(T, 0, None) / 8)))

    def test_to_a_speed_in_closed_form(self) -> None:
        """v = 2 + 18 (1 - exp(-t / 8)) comes to 15 at t = -8 ln(1 - 13 / 18)."""
        found = time_to_speed(self.T, self.RISING, 0.0, 15.0)
        assert value(found.time) == pytest.approx(-8 * math.log(1 - 13 / 18), abs=1e-3)

    def test_between_two_speeds_whichever_way(self) -> None:
        """From 5 to 15 takes 8 ln(15 / 5)."""
        up = time_between(self.T, self.RISING, 5.0, 15.0)
        down = time_between(self.T, 20 - self.RISING, 15.0, 5.0)
        assert value(up.time) == pytest.approx(8 * math.log(3.0), abs=1e-3)
        assert value(down.time) == pytest.approx(8 * math.log(3.0), abs=1e-3)

    def test_noise_moves_it_by_no_more_than_is_told(self) -> None:
        truth = -8 * math.log(1 - 13 / 18)
        held, t = 0, self.T[::10]
        for seed in range(60):
            rng = np.random.default_rng(seed)
            noisy = self.RISING[::10] + rng.normal(0, 0.3, t.size)
            found = time_to_speed(t, noisy, 0.0, 15.0).time
            assert found.uncertainty is not None
            held += abs(value(found) - truth) <= 2 * found.uncertainty
        assert held >= 60 * (0.95 - 3 * math.sqrt(0.05 * 0.95 / 60))

    @pytest.mark.parametrize(
        ("target", "told"),
        [(25.0, "its highest was 19.99 kn"), (2.0, "before the command"), (1.0, "its lowest was")],
    )
    def test_what_never_comes_is_said(self, target: float, told: str) -> None:
        assert told in time_to_speed(self.T, self.RISING, 0.0, target).time.why_not

    def test_between_speeds_that_were_not(self) -> None:
        assert "never came to 30" in time_between(self.T, self.RISING, 5, 30).time.why_not
        assert "never below 1" in time_between(self.T, self.RISING, 1, 10).time.why_not

    def test_no_samples(self) -> None:
        none = np.empty(0)
        assert "no speed" in time_to_speed(none, none, 0.0, 5.0).time.why_not
        assert "no trim" in time_to_plane(none, none, 0.0).time.why_not

    def test_she_planes_when_the_bow_is_half_way_down(self) -> None:
        """Trim up to 6 at t = 5, then down to 2: half-way, 4, at t = 7."""
        trim = np.interp(self.T, [0, 5, 9], [0.0, 6.0, 2.0])
        assert value(time_to_plane(self.T, trim, 0.0).time) == pytest.approx(7.0, abs=1e-6)

    def test_a_bow_that_stays_up_planes_not(self) -> None:
        trim = np.interp(self.T, [0, 5], [0.0, 6.0])
        assert "came down by 0.0 deg" in time_to_plane(self.T, trim, 0.0).time.why_not


class TestSteering:
    T = np.arange(0.0, 140.0, 0.2)

    def test_a_swing_in_closed_form(self) -> None:
        """A sine of 3 degrees has the standard deviation 3 / sqrt 2, and turns back twice a period; north is no leap."""
        heading = (359 + 3 * np.sin(2 * math.pi * self.T / 7)) % 360
        found = heading_spread(self.T, heading)
        assert value(found["heading_spread"]) == pytest.approx(3 / math.sqrt(2), rel=0.01)
        assert value(found["steering_corrections"]) == pytest.approx(2 * 60 / 7, rel=0.05)

    def test_a_slow_bend_is_no_spread(self) -> None:
        rng = np.random.default_rng(2)
        noise = rng.normal(0, 1.0, self.T.size)
        found = heading_spread(self.T, 100 + self.T * 5 / 140 + noise)["heading_spread"]
        assert found.uncertainty is not None
        assert abs(value(found) - 1.0) < 3 * found.uncertainty

    @pytest.mark.parametrize(
        ("seconds", "heading", "told"),
        [
            (T, 100 + T * 20 / 140, "no straight"),
            (T[:100], T[:100], "20 s of straight"),
            (T[:5], T[:5], "5 headings"),
            (np.where(T > 70, T + 30, T), T * 0, "silent for 30 s"),
        ],
    )
    def test_what_tells_nothing_says_so(self, seconds: np.ndarray, heading: np.ndarray, told: str) -> None:  # fmt: skip
        found = heading_spread(seconds, heading)
        assert all(told in each.why_not and each.value is None for each in found.values())
