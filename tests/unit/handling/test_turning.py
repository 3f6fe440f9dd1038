"""Turning circles against closed forms: a circle in a uniform current has to come out exactly."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from invented_turns import Circle

from slackwater.analysis.handling.circles import circle_through
from slackwater.analysis.handling.crossing import crossing
from slackwater.analysis.handling.drift import PAIRS, VELOCITIES, Drift
from slackwater.analysis.handling.path import NoPath, Path
from slackwater.analysis.handling.turning import TurningCircle, turning_circle
from slackwater.analysis.steady.track import KNOT


def truth(circle: Circle) -> dict[str, float]:
    """In closed form: of a quarter and of half a circle, and of the speeds."""
    return {
        "advance": circle.radius,
        "transfer": circle.radius,
        "tactical_diameter": 2 * circle.radius,
        "steady_diameter": 2 * circle.radius,
        "approach_speed": circle.speed / KNOT,
        "steady_speed": circle.slowed * circle.speed / KNOT,
        "speed_lost": (1 - circle.slowed) * circle.speed / KNOT,
        "time_to_90": math.pi / 2 / circle.rate,
        "time_to_180": math.pi / circle.rate,
        "time_to_360": 2 * math.pi / circle.rate,
    }


def drawn(seed: int) -> Circle:
    """A circle of any size, side, course, speed and current, sampled finely."""
    rng = np.random.default_rng(seed)
    circle = Circle(
        radius=float(rng.uniform(10, 200)),
        speed=float(rng.uniform(2, 15)),
        course=float(rng.uniform(0, 360)),
        side=int(rng.choice([-1, 1])),
        degrees=float(rng.uniform(545, 1100)),
        current=(float(rng.normal(0, 0.8)), float(rng.normal(0, 0.8))),
        slowed=float(rng.uniform(0.5, 1)),
    )
    return replace(circle, step=0.0015 / circle.rate)


def value(result: TurningCircle, name: str) -> float:
    found = result.figures[name].value
    assert found is not None, result.figures[name].why_not
    return found


class TestExact:
    @pytest.mark.parametrize("compass", [True, False])
    def test_circles_in_any_current(self, compass: bool) -> None:
        for seed in range(20):
            circle = drawn(seed)
            result = turning_circle(circle.path(compass=compass), 0.0, circle.end)
            assert result.drift is not None
            assert result.drift.by == PAIRS
            assert result.side == ("starboard" if circle.side > 0 else "port")
            assert (result.drift.east, result.drift.north) == pytest.approx(
                circle.current, abs=1e-9
            )
            assert result.course == pytest.approx(circle.course, abs=1e-9)
            for name, expected in truth(circle).items():
                assert value(result, name) == pytest.approx(expected, abs=1e-9), (seed, name)

    def test_the_freed_path_is_the_circle(self) -> None:
        circle = drawn(3)
        result = turning_circle(circle.path(), 0.0, circle.end)
        after = result.freed.within(0.0, circle.end)
        _, _, radius, strays = circle_through(after.east, after.north)
        assert radius == pytest.approx(circle.radius, abs=1e-9)
        assert np.abs(strays).max() < 1e-9

    def test_a_circle_of_velocities_where_there_is_no_whole_turn_to_pair(self) -> None:
        circle = replace(drawn(5), degrees=400.0)
        result = turning_circle(circle.path(), 0.0, circle.end)
        assert result.drift is not None
        assert result.drift.by == VELOCITIES
        for name, expected in truth(circle).items():
            assert value(result, name) == pytest.approx(expected, abs=1e-9), name

    def test_a_boat_that_skids_has_turned_sooner_than_her_way(self) -> None:
        """Heading 10 degrees ahead of the course: 90 degrees of heading are 80 of way, in closed form."""
        circle = replace(drawn(7), skid=10.0, slowed=1.0)
        result = turning_circle(circle.path(), 0.0, circle.end)
        arc = math.radians(80.0)
        assert value(result, "advance") == pytest.approx(circle.radius * math.sin(arc), abs=1e-9)
        assert value(result, "transfer") == pytest.approx(
            circle.radius * (1 - math.cos(arc)), abs=1e-9
        )
        assert value(result, "steady_diameter") == pytest.approx(2 * circle.radius, abs=1e-9)

    def test_what_carries_her_may_be_given(self) -> None:
        circle = replace(drawn(9), degrees=200.0)
        given = Drift(*circle.current, 0.0, "given")
        result = turning_circle(circle.path(), 0.0, circle.end, drift=given)
        assert value(result, "tactical_diameter") == pytest.approx(2 * circle.radius, abs=1e-9)
        assert "360 deg are needed" in result.figures["steady_diameter"].why_not


class TestNoise:
    """What is told as uncertain has to be as uncertain as that."""

    def test_intervals_hold_the_truth(self) -> None:
        circle = Circle(degrees=760.0, step=1.0)
        names = [name for name in truth(circle) if name != "time_to_360"]
        held = dict.fromkeys(names, 0)
        count = 60
        for seed in range(count):
            result = turning_circle(circle.path(noise=0.7, seed=seed), 0.0, circle.end)
            for name in names:
                figure = result.figures[name]
                assert figure.value is not None
                assert figure.uncertainty is not None
                off = abs(figure.value - truth(circle)[name])
                held[name] += off <= 2 * figure.uncertainty + 1e-9
        # 95 % less three standard errors of 60 trials
        assert min(held.values()) >= count * (0.95 - 3 * math.sqrt(0.05 * 0.95 / count)), held

    def test_more_turn_tells_the_drift_no_worse(self) -> None:
        spreads = []
        for degrees in (560.0, 900.0):
            circle = Circle(degrees=degrees, step=1.0)
            strays = [
                np.subtract((d.east, d.north), circle.current)
                for seed in range(20)
                if (d := turning_circle(circle.path(noise=0.7, seed=seed), 0.0, circle.end).drift)
            ]
            spreads.append(float(np.sqrt(np.mean(np.square(strays)))))
        assert spreads[1] < spreads[0] < 0.05

    def test_an_order_that_is_not_known_well_widens_the_advance(self) -> None:
        circle = Circle(step=0.5)
        sharp, blunt = (
            turning_circle(circle.path(), 0.0, circle.end, order_uncertainty=u).figures["advance"]
            for u in (0.0, 1.0)
        )
        assert sharp.uncertainty is not None
        assert blunt.uncertainty is not None
        assert blunt.uncertainty > math.hypot(sharp.uncertainty, 0.9 * circle.speed)


class TestTooLittle:
    def test_a_turn_broken_off_tells_what_it_lacks(self) -> None:
        circle = Circle(degrees=100.0)
        result = turning_circle(circle.path(), 0.0, circle.end)
        assert result.drift is None
        assert any("current is left in" in note for note in result.notes)
        assert result.figures["advance"].value is not None
        assert result.figures["advance"].uncertainty is None  # what the current adds nobody knows
        assert "100 deg; 180 deg are needed" in result.figures["tactical_diameter"].why_not
        assert "360 deg are needed" in result.figures["speed_lost"].why_not

    def test_without_an_approach_nothing_is_measured_from_it(self) -> None:
        circle = Circle(degrees=760.0, approach=0.0)
        result = turning_circle(circle.path(), 0.0, circle.end)
        assert "no approach" in result.figures["advance"].why_not
        assert value(result, "steady_diameter") == pytest.approx(2 * circle.radius, rel=1e-3)
        assert result.course is None

    def test_who_turned_already_has_no_straight_approach(self) -> None:
        circle = Circle(degrees=760.0)
        result = turning_circle(circle.path(), 8.0, circle.end)
        assert "no straight approach: she turned by" in result.figures["advance"].why_not

    def test_a_gap_in_the_turn_is_refused(self) -> None:
        circle = Circle(step=0.5)
        path = circle.path()
        kept = (path.seconds < 20) | (path.seconds > 32)
        holed = replace(path, seconds=path.seconds[kept], east=path.east[kept], north=path.north[kept])  # fmt: skip
        with pytest.raises(NoPath, match=r"breaks off for 1[23] s"):
            turning_circle(holed, 0.0, circle.end)

    def test_a_heading_that_ends_early_is_refused(self) -> None:
        circle = Circle(step=0.5)
        path = circle.path()
        kept = path.heading_seconds < 3
        short = replace(path, heading_seconds=path.heading_seconds[kept], heading=path.heading[kept])  # fmt: skip
        with pytest.raises(NoPath, match="heading is not recorded throughout"):
            turning_circle(short, 0.0, circle.end)

    def test_a_change_of_course_is_no_turn(self) -> None:
        circle = Circle(degrees=30.0)
        with pytest.raises(NoPath, match="by 30 deg only"):
            turning_circle(circle.path(), 0.0, circle.end)

    def test_no_places_at_all(self) -> None:
        circle = Circle()
        with pytest.raises(NoPath, match="0 places"):
            turning_circle(circle.path(), circle.end + 10, circle.end + 20)

    def test_no_compass_is_said(self) -> None:
        circle = Circle(step=0.1)
        result = turning_circle(circle.path(compass=False), 0.0, circle.end)
        assert any(note.startswith("no heading") for note in result.notes)


class TestParts:
    def test_a_level_that_noise_crosses_often_is_met_in_the_middle(self) -> None:
        t = np.arange(0.0, 20.0, 0.1)
        misses = []
        for seed in range(40):
            rng = np.random.default_rng(seed)
            found = crossing(t, t - 10 + rng.normal(0, 0.8, t.size), 0.0)
            assert found is not None
            misses.append(found[0] - 10)
        assert abs(np.mean(misses)) < 3 * np.std(misses) / math.sqrt(40) + 0.1

    def test_no_level_no_moment(self) -> None:
        t = np.arange(5.0)
        assert crossing(t, t, 9.0) is None
        assert crossing(t, t, -1.0) is None

    def test_noisy_arcs_make_no_circle_too_small(self) -> None:
        rng = np.random.default_rng(4)
        radii = []
        for _ in range(200):
            a = np.linspace(0, 2.5, 60)
            x, y = (50 * f(a) + rng.normal(0, 1.0, a.size) for f in (np.cos, np.sin))
            radii.append(circle_through(x, y)[2])
        assert np.mean(radii) == pytest.approx(50.0, abs=3 * np.std(radii) / math.sqrt(200) + 0.1)

    def test_places_between_samples(self) -> None:
        t = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
        path = Path(t, t**3, 2 * t, t, 3 * t**2, 2 + 0 * t)
        east, north = path.at(np.array([0.5, 2.2, 3.9]))
        np.testing.assert_allclose(east, [0.125, 2.2**3, 3.9**3])
        np.testing.assert_allclose(north, [1.0, 4.4, 7.8])
