"""Steady stretches of invented channels: what is cut, what is not, and what is said of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.logs.lags import NoLag, compared, lag_between, lags_of
from slackwater.analysis.steady.cutting import Cut, cut_session
from slackwater.analysis.steady.doubling import line_of, opposite_by, overlap_of
from slackwater.analysis.steady.ordering import align, axis_of
from slackwater.analysis.steady.other_water import note_of
from slackwater.analysis.steady.terms import CutTerms, PlannedLeg
from slackwater.protocol.catalogue.logged import UNITS

KNOT = 1852.0 / 3600.0
POINTS = (1000.0, 2000.0, 3000.0)
SPEEDS = dict(zip(POINTS, (6.0, 12.0, 20.0), strict=True))
TERMS = CutTerms(
    "engine_speed", "rpm", POINTS, tuple((0.99 * p, 1.01 * p) for p in POINTS), double_runs=1
)  # fmt: skip

Leg = tuple[float, float, float, float]  # seconds, speed [kn], course [deg], engine speed [rpm]


def both_ways(point: float, seconds: float = 110.0) -> list[Leg]:
    """A run out and back over the same water."""
    return [(seconds, SPEEDS[point], course, point) for course in (40.0, 220.0)]


def channels(legs: list[Leg], *, engine: bool = True, seed: int = 1) -> list[Channel]:
    """A 1 Hz receiver and an engine, in a calm; turns of 180 degrees take 25 s at two thirds."""
    rng = np.random.default_rng(seed)
    speed, course, rpm = [], [], []
    before = legs[0][2]
    for seconds, knots, heading, point in legs:
        change = (heading - before + 180.0) % 360.0 - 180.0
        turn = round(abs(change) / 7.2)
        course += list(before + np.linspace(0, change, turn)) + [heading] * int(seconds)
        speed += [0.7 * knots] * turn + [knots] * int(seconds)
        rpm += [point] * (turn + int(seconds))
        before = heading
    count = len(speed)
    time = 1_777_881_600.0 + np.arange(count)
    sog = np.array(speed) + 0.03 * rng.standard_normal(count)
    cog = (np.array(course) + 0.5 * rng.standard_normal(count)) % 360.0
    found = [
        Channel("speed_over_ground", "receiver", "kn", time, sog),
        Channel("course_over_ground", "receiver", "deg", time, cog),
    ]
    if engine:
        turns = np.array(rpm) + 2.0 * rng.standard_normal(count)
        found.append(Channel("engine_speed", "engine", "rpm", time, turns))
    return found


def sweep() -> list[Leg]:
    return [leg for point in POINTS for leg in both_ways(point)]


def reasons(cut: Cut) -> str:
    return " | ".join(each.reason for each in cut.left_out)


class TestRuns:
    def test_a_sweep_gives_its_runs(self) -> None:
        cut = cut_session(channels(sweep()), TERMS)
        assert [(r.set_point, r.direction, r.double_run) for r in cut.runs] == [
            (point, way, 1) for point in POINTS for way in ("out", "back")
        ]
        assert not cut.missing
        assert not cut.why_none
        for run in cut.runs:
            reading = run.readings["speed_over_ground"]
            assert reading.value == pytest.approx(SPEEDS[run.set_point], abs=0.02)
            assert (run.duration, reading.used, reading.missing) == (60.0, 60, 0)
            assert run.overlap >= 0.6

    def test_settling_is_left_out(self) -> None:
        cut = cut_session(channels(sweep()), TERMS)
        first = 1_777_881_600.0 + 110 + 25  # on course for the second run
        assert cut.runs[1].start >= first + TERMS.settle - 3.0

    def test_the_course_out_can_be_given(self) -> None:
        cut = cut_session(channels(sweep()), TERMS, out_course=220.0)
        assert [run.direction for run in cut.runs[:2]] == ["back", "out"]

    @pytest.mark.parametrize("out", [129.0, 131.0, 309.0, 311.0])
    def test_a_line_across_the_one_of_before_goes_both_ways(self, out: float) -> None:
        cut = cut_session(channels(sweep()), TERMS, out_course=out)
        assert sorted(run.direction for run in cut.runs) == ["back"] * 3 + ["out"] * 3
        assert all(one.direction != other.direction for one, other in pairwise(cut.runs[:2]))

    def test_the_same_channels_give_the_same_runs(self) -> None:
        assert cut_session(channels(sweep()), TERMS) == cut_session(channels(sweep()), TERMS)

    def test_a_gap_is_counted(self) -> None:
        found = channels(sweep())
        keep = np.ones(found[0].seconds.size, dtype=bool)
        keep[50:58] = False
        cut_out = [
            Channel(c.quantity, c.source, c.unit, c.seconds[keep], c.values[keep]) for c in found
        ]
        reading = cut_session(cut_out, TERMS).runs[0].readings["speed_over_ground"]
        assert reading.missing == 8
        assert reading.used == 52

    def test_several_engines_are_one_reading(self) -> None:
        found = channels(sweep())
        time = found[0].seconds
        flows = [
            Channel("fuel_flow", name, UNITS["fuel_flow"], time, np.full(time.size, value))
            for name, value in (("port", 10.0), ("starboard", 12.0))
        ]
        terms = CutTerms(
            TERMS.held, TERMS.unit, POINTS, TERMS.bands, double_runs=1,
            measures=(("fuel_flow", "L/h", "sum"),),
        )  # fmt: skip
        reading = cut_session([*found, *flows], terms).runs[0].readings["fuel_flow"]
        assert reading.value == pytest.approx(22.0)
        assert reading.sources == ("port", "starboard")


def broken_off(point: float) -> list[Leg]:
    """A run out, one back that is broken off after 65 s, some of the way out again, and the run back anew."""
    out, back = 40.0, 220.0
    timed = ((110.0, out), (65.0, back), (20.0, out), (110.0, back))
    return [(seconds, SPEEDS[point], course, point) for seconds, course in timed]


class TestOverOtherWater:
    LEGS = (*both_ways(1000.0), *broken_off(2000.0))

    def test_runs_next_to_each_other_are_paired_by_order_and_that_is_told(self) -> None:
        cut = cut_session(channels(list(self.LEGS)), TERMS)
        assert [(r.set_point, r.double_run, r.paired_by) for r in cut.runs] == [
            (1000.0, 1, "water"), (1000.0, 1, "water"), (2000.0, 1, "order"), (2000.0, 1, "order"),
        ]  # fmt: skip
        assert all(0.1 < run.overlap < 0.6 for run in cut.runs[2:])
        assert note_of(cut.runs[2]) == note_of(cut.runs[3])
        assert "too short: held for 5" in reasons(cut)

    def test_a_run_in_between_keeps_them_apart(self) -> None:
        first, *rest = broken_off(2000.0)
        legs = [*both_ways(1000.0), first, (110.0, SPEEDS[3000.0], 40.0, 3000.0), *rest]
        cut = cut_session(channels(legs), TERMS)
        aside = [run for run in cut.runs if run.set_point == 2000.0]
        assert len(aside) == 2
        assert not any(run.double_run for run in aside)

    @pytest.mark.parametrize(("planned", "numbers"), [(1, [1, 1, 0, 0]), (2, [1, 1, 2, 2])])
    def test_no_more_double_runs_than_are_planned(self, planned: int, numbers: list[int]) -> None:
        terms = replace(TERMS, double_runs=planned)
        cut = cut_session(channels([*both_ways(2000.0), *broken_off(2000.0)]), terms)
        assert [run.double_run for run in cut.runs] == numbers
        assert [run.paired_by for run in cut.runs[:2]] == ["water", "water"]
        assert all(run.paired_by == "order" or run.set_aside for run in cut.runs[2:])

    def test_by_order_alone_makes_no_trial(self) -> None:
        cut = cut_session(channels(broken_off(2000.0)), TERMS)
        assert not cut.runs
        assert "over the same water" in cut.why_none


class TestByOrder:
    PLAN = tuple(PlannedLeg(p, 1, way) for p in POINTS for way in ("out", "back"))

    def test_the_plan_tells_the_set_points(self) -> None:
        cut = cut_session(channels(sweep(), engine=False), TERMS, self.PLAN)
        assert [(r.set_point, r.direction) for r in cut.runs] == [
            (leg.set_point, leg.direction) for leg in self.PLAN
        ]
        assert cut.placed_by == "order"

    def test_a_missing_double_run_moves_no_other(self) -> None:
        legs = [*both_ways(1000.0), *both_ways(3000.0)]
        cut = cut_session(channels(legs, engine=False), TERMS, self.PLAN)
        assert [run.set_point for run in cut.runs] == [1000.0, 1000.0, 3000.0, 3000.0]
        assert {leg.set_point for leg in cut.missing} == {2000.0}

    def test_without_a_plan_nothing_is_guessed(self) -> None:
        cut = cut_session(channels(sweep(), engine=False), TERMS)
        assert not cut.runs
        assert "order of the plan is not known" in cut.why_none

    def test_a_leg_off_the_line_is_left_out(self) -> None:
        legs = sweep()
        legs.insert(2, (110.0, 12.0, 130.0, 2000.0))
        cut = cut_session(channels(legs, engine=False), TERMS, self.PLAN)
        assert len(cut.runs) == 6
        assert "off the line" in reasons(cut)


class TestLeftOut:
    def test_too_short(self) -> None:
        legs = [*both_ways(1000.0), *both_ways(2000.0, 60.0), *both_ways(3000.0)]
        cut = cut_session(channels(legs), TERMS)
        assert {run.set_point for run in cut.runs} == {1000.0, 3000.0}
        assert "too short: held for" in reasons(cut)
        assert [(leg.set_point, leg.double_run) for leg in cut.missing] == [
            (2000.0, 1),
            (2000.0, 1),
        ]

    def test_not_planned(self) -> None:
        cut = cut_session(channels([*sweep(), (200.0, 15.0, 130.0, 2500.0)]), TERMS)
        assert len(cut.runs) == 6
        assert "not planned: engine speed 2" in reasons(cut)

    def test_not_held(self) -> None:
        legs = sweep()
        legs[2] = (110.0, 12.0, 40.0, 2060.0)
        cut = cut_session(channels(legs), TERMS)
        assert "not held: engine speed 20" in reasons(cut)
        single = [run for run in cut.runs if run.set_aside]
        assert [run.set_point for run in single] == [2000.0]
        assert "opposite direction" in single[0].set_aside

    def test_other_water(self) -> None:
        # After the turn the boat goes on for a mile and a half before she is brought to the set point.
        legs = [*both_ways(1000.0), (110.0, 12.0, 40.0, 2000.0), (400.0, 12.0, 40.0, 2400.0)]
        legs += [(110.0, 12.0, 220.0, 2000.0), *both_ways(3000.0)]
        cut = cut_session(channels(legs), TERMS)
        assert [run.double_run for run in cut.runs if run.set_point == 2000.0] == [0, 0]
        assert all("same water" in r.set_aside for r in cut.runs if r.set_point == 2000.0)

    def test_gathering_speed_evenly_is_not_steady(self) -> None:
        count = 400
        time = np.arange(count, dtype=float)
        found = [
            Channel("speed_over_ground", "r", "kn", time, np.linspace(5.0, 12.0, count)),
            Channel("course_over_ground", "r", "deg", time, np.full(count, 40.0)),
            Channel("engine_speed", "e", "rpm", time, np.full(count, 1000.0)),
        ]
        assert not cut_session(found, TERMS).runs

    def test_turning_evenly_is_not_steady(self) -> None:
        time = np.arange(1200.0)
        found = [
            Channel("speed_over_ground", "r", "kn", time, np.full(1200, 6.0)),
            Channel("course_over_ground", "r", "deg", time, (1.5 * time) % 360.0),
            Channel("engine_speed", "e", "rpm", time, np.full(1200, 1000.0)),
        ]
        cut = cut_session(found, TERMS)
        assert not cut.runs
        assert cut.why_none

    def test_a_passage_is_no_trial(self) -> None:
        cut = cut_session(channels([(3000.0, 12.0, 40.0, 2000.0)]), TERMS)
        assert not cut.runs
        assert "opposite ways" in cut.why_none
        assert len(cut.missing) == 6

    @pytest.mark.filterwarnings("error")
    def test_a_value_a_minute_is_too_seldom(self) -> None:
        found = [
            Channel(c.quantity, c.source, c.unit, c.seconds[::60], c.values[::60])
            for c in channels([(3000.0, 12.0, course, 2000.0) for course in (40.0, 220.0)])
        ]
        cut = cut_session(found, TERMS)
        assert not cut.runs
        assert "a value every 60 s is too seldom" in reasons(cut)

    def test_engine_speed_of_another_time(self) -> None:
        *way, engine = channels(sweep())
        late = Channel(engine.quantity, "e", "rpm", engine.seconds + 9e4, engine.values)
        assert "no engine speed lies within" in cut_session([*way, late], TERMS).why_none

    def test_without_speed_there_is_no_track(self) -> None:
        cut = cut_session([], TERMS)
        assert "neither speed and course" in cut.why_none


class TestParts:
    @pytest.mark.parametrize(
        ("one", "other", "shared"),
        [
            ((0, 10), (5, 15), 0.5),
            ((0, 10), (2, 4), 1.0),
            ((0, 1), (2, 3), 0.0),
            ((0, 0), (0, 1), 0),
        ],
    )
    def test_overlap(self, one: tuple[int, int], other: tuple[int, int], shared: float) -> None:
        assert overlap_of(one, other) == overlap_of(other, one) == shared

    def test_opposite(self) -> None:
        assert opposite_by(350.0, 170.0) == 0.0
        assert opposite_by(10.0, 200.0) == pytest.approx(10.0)

    @pytest.mark.parametrize("one", [0.0, 10.0, 179.0, 355.0])
    @pytest.mark.parametrize("off", [-14.0, 0.0, 9.0])
    def test_line_of_two_courses_is_the_same_from_either(self, one: float, off: float) -> None:
        other = (one + 180.0 + off) % 360.0
        assert line_of(one, other) == pytest.approx(one + off / 2)
        assert opposite_by(line_of(one, other), line_of(other, one)) == pytest.approx(0.0, abs=1e-9)

    def test_axis_of_courses_both_ways(self) -> None:
        assert axis_of(np.array([358.0, 179.0, 1.0, 182.0])) % 180.0 == pytest.approx(0.0, abs=1.0)

    def test_alignment_leaves_out_on_both_sides(self) -> None:
        found = align(
            np.array([6.0, 15.0, 12.0]), np.ones(3), np.array([6.0, 9.0, 12.0]), np.ones(3)
        )
        assert found.planned == (0, -1, 2)

    @pytest.mark.parametrize("late", [0.0, 1.4, 2.9, -2.0])
    def test_lag_is_found(self, late: float) -> None:
        rng = np.random.default_rng(3)
        time = np.arange(0.0, 900.0, 1.0)
        knots = 10.0 + np.cumsum(rng.standard_normal(900)) * 0.2

        def told(quantity: str, shift: float) -> Channel:
            offset = 0.2 if quantity == "speed_over_ground" else 0.0
            return Channel(quantity, "x", "kn", time, np.interp(time - shift, time, knots) + offset)

        lag = lag_between(told("speed_through_water", 0.0), told("speed_over_ground", late))
        assert lag is not None
        assert lag.seconds == pytest.approx(late, abs=0.1)

    def test_a_speed_through_water_that_is_the_one_over_ground(self) -> None:
        time = np.arange(0.0, 300.0)
        knots = 10.0 + np.random.default_rng(3).standard_normal(300).cumsum()
        names = ("speed_over_ground", "speed_through_water")
        both = [Channel(name, "x", "kn", time, knots) for name in names]
        told = compared(*both)
        assert isinstance(told, NoLag)
        assert "one was filled with the other" in told.why

    @pytest.mark.filterwarnings("error")
    def test_no_lag_is_told_of_a_log_that_stuck(self) -> None:
        time = np.arange(300.0)
        live = 5.0 + np.random.default_rng(1).standard_normal(300).cumsum()
        stuck = np.where(time < 4, 0.0, 5.0)
        made = [
            Channel(q, "x", "kn", time, values)
            for q, values in (("speed_over_ground", live), ("speed_through_water", stuck))
        ]
        assert lags_of(made) == []

    def test_no_lag_is_told_of_what_is_not_alike(self) -> None:
        rng = np.random.default_rng(4)
        time = np.arange(900.0)
        made = [
            Channel(q, "x", "kn", time, 10.0 + rng.standard_normal(900))
            for q in ("speed_over_ground", "speed_through_water")
        ]
        assert lags_of(made) == []
