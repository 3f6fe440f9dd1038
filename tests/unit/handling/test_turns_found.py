"""Turns found in a path: begun and ended where they were; what is no turn is none; drift borrowed and said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from invented_turns import Circle

from slackwater.analysis.handling.circles_found import circles_of
from slackwater.analysis.handling.onset import left_level, moved
from slackwater.analysis.handling.path import NoPath, Path, lay_path
from slackwater.analysis.handling.turns_found import find_turns
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.track import KNOT, METRES_A_DEGREE


def channels(path: Path, *, compass: bool = True, rudder: bool = False) -> list[Channel]:
    """A path as instruments near the equator would have written it."""
    fast = np.hypot(path.east_velocity, path.north_velocity) / KNOT
    course = np.degrees(np.arctan2(path.east_velocity, path.north_velocity)) % 360
    t = path.seconds
    made = {
        "latitude": ("deg", path.north / METRES_A_DEGREE),
        "longitude": ("deg", path.east / METRES_A_DEGREE),
        "speed_over_ground": ("kn", fast),
        "course_over_ground": ("deg", course),
    }
    if compass:
        made["heading"] = ("deg", path.heading % 360)
    if rudder:
        made["rudder_angle"] = ("deg", np.where(t >= -0.9, 20.0, 0.5 * np.sin(t)))
    return [Channel(name, "x", unit, t, values) for name, (unit, values) in made.items()]


def after(first: Path, second: Path, apart: float) -> Path:
    """Two paths one after the other, the heading carried on."""
    later = first.seconds[-1] + apart - second.seconds[0]
    t = np.concatenate([first.seconds, second.seconds + later])
    joined = [
        np.concatenate([getattr(first, name), getattr(second, name)])
        for name in ("east", "north", "east_velocity", "north_velocity")
    ]
    heading = np.concatenate([first.heading, second.heading])
    return Path(t, joined[0], joined[1], t, joined[2], joined[3], t, heading)


class TestFound:
    @pytest.mark.parametrize("compass", [True, False])
    @pytest.mark.parametrize("side", [-1, 1])
    def test_where_it_began_and_ended(self, compass: bool, side: int) -> None:
        circle = Circle(side=side, step=1.0, approach=60.0)
        (turn,) = find_turns(circle.path(compass=compass, noise=0.5))
        assert abs(turn.order) < 3 * turn.uncertainty + 0.1
        assert circle.end - 3 < turn.end <= circle.end
        assert turn.degrees == pytest.approx(side * 720, abs=15)

    def test_a_rudder_tells_it_better(self) -> None:
        circle = Circle(step=0.5, approach=60.0)
        (found,) = circles_of(channels(circle.path(), rudder=True)).found
        assert found.order == pytest.approx(-1.0, abs=0.5)
        assert not any("no rudder angle" in note for note in found.notes)

    def test_without_one_it_is_said(self) -> None:
        (found,) = circles_of(channels(Circle(step=0.5, approach=60.0).path())).found
        assert any("no rudder angle" in note for note in found.notes)

    def test_a_change_of_course_is_none(self) -> None:
        assert find_turns(Circle(degrees=100.0, step=0.5).path()) == []

    def test_a_bend_along_a_shore_is_none(self) -> None:
        slow = Circle(radius=1500.0, speed=4.0, degrees=200.0, step=1.0)
        assert find_turns(slow.path()) == []

    def test_a_boat_at_her_berth_makes_none(self) -> None:
        rng = np.random.default_rng(2)
        t = np.arange(0.0, 600.0)
        e, n = rng.normal(0, 0.1, (2, t.size))
        assert find_turns(Path(t, e, n, t, e, n)) == []

    def test_a_gap_parts_a_turn(self) -> None:
        path = Circle(step=0.5, degrees=285.0, approach=60.0).path()
        kept = (path.seconds < 15) | (path.seconds > 25)
        holed = replace(
            path, heading_seconds=path.heading_seconds[kept], heading=path.heading[kept]
        )
        assert find_turns(holed) == []


class TestOuting:
    def test_a_short_turn_takes_the_drift_of_a_long_one(self) -> None:
        whole, short = (
            Circle(step=0.5, approach=40.0),
            Circle(step=0.5, approach=40.0, degrees=250.0),
        )
        path = after(whole.path(), short.path(), 40.0)
        one, two = circles_of(channels(path)).found
        assert one.drift is not None
        assert two.drift is not None
        assert two.drift.by == "a turn 3 min away"
        assert (two.drift.east, two.drift.north) == pytest.approx((0.3, -0.2), abs=0.01)
        assert two.figures["tactical_diameter"].value == pytest.approx(80.0, rel=0.05)
        assert two.figures["tactical_diameter"].uncertainty is None

    def test_nothing_to_borrow_leaves_the_current_in(self) -> None:
        (alone,) = circles_of(channels(Circle(step=0.5, approach=40.0, degrees=250.0).path())).found
        assert alone.drift is None
        assert any("the current is left in" in note for note in alone.notes)

    def test_what_lacks_is_said(self) -> None:
        heading = [each for each in channels(Circle().path()) if each.quantity == "heading"]
        assert "neither positions nor speed" in circles_of(heading).why_none
        with pytest.raises(NoPath):
            lay_path(heading)

    def test_places_alone_and_velocities_alone(self) -> None:
        everything = channels(Circle(step=0.2).path())
        places = [e for e in everything if e.quantity in ("latitude", "longitude", "heading")]
        ways = [e for e in everything if e.quantity not in ("latitude", "longitude")]
        for some, told in ((places, "no speed and course"), (ways, "no positions")):
            path = lay_path(some)
            assert any(note.startswith(told) for note in path.notes)
            (circle,) = circles_of(some).found
            assert circle.figures["steady_diameter"].value == pytest.approx(80.0, rel=0.01)


class TestOnset:
    def test_a_smoothed_step_is_where_it_was(self) -> None:
        t = np.arange(-20.0, 20.0, 0.5)
        ramp = np.clip((t + 3) / 6, 0, 1)  # a step smoothed over 6 s
        found = left_level(t, ramp, 0.0, 1.0, 6.0)
        assert found is not None
        assert found[0] == pytest.approx(0.0, abs=1e-9)

    def test_a_lever_that_is_not_moved(self) -> None:
        t = np.arange(-20.0, 20.0, 0.5)
        rng = np.random.default_rng(1)
        assert moved(t, 1000 + rng.normal(0, 5, t.size), 0.0) is None
        assert moved(t[:5], t[:5], 0.0) is None

    def test_a_lever_that_is(self) -> None:
        t = np.arange(-20.0, 20.0, 0.5)
        rng = np.random.default_rng(1)
        found = moved(t, np.where(t > -2.2, 3000.0, 800.0) + rng.normal(0, 5, t.size), 0.0)
        assert found is not None
        assert found[0] == pytest.approx(-2.2, abs=0.5)
