"""What is a try of planing slower and slower, and what is none: one outing at a time, from channels."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from slackwater.analysis.handling.crossing import noise_of
from slackwater.analysis.handling.found_try import NO_DRIFT
from slackwater.analysis.handling.own_values import OwnValue, read_own
from slackwater.analysis.handling.tries import Tried, tries_of
from slackwater.analysis.handling.wanted import Held, Wanted, WantedValue, wanted_of
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.terms import CutTerms
from slackwater.protocol.declared.limits import Limit
from slackwater.protocol.declared.manoeuvres import Manoeuvre
from slackwater.protocol.units.quantity import Quantity

TERMS = CutTerms("engine_speed", "rpm", (3000.0,), ((2900.0, 3100.0),))
HELD = Held(
    10.0,
    0.3,
    1.5,
    {"trim": Limit(at_most=Quantity(4, "deg")), "speed_over_ground": Limit(at_least=Quantity(8, "kn"))},
)  # fmt: skip
#: Seconds, speed [kn] and trim [deg]: down to 13 kn, and off the plane below it.
DOWN = ((20, 16.0, 3.0), (20, 14.0, 3.0), (20, 13.0, 3.0), (20, 12.2, 6.0), (20, 6.0, 5.0))


def outing(
    *parts: tuple[float, float, float],
    turn: float = 0.0,
    noise: float = 0.0,
    seed: int = 0,
    silent: tuple[int, int] | None = None,
    digits: int = 9,
) -> list[Channel]:
    """Channels at 1 Hz; she turns at `turn` degrees a second; trim is silent from one sample to another."""
    speed = np.concatenate([np.full(int(s), v) for s, v, _ in parts])
    trim = np.concatenate([np.full(int(s), t) for s, _, t in parts])
    t = np.arange(speed.size, dtype=float)
    speed = np.round(speed + noise * np.random.default_rng(seed).standard_normal(t.size), digits)
    made = {
        "speed_over_ground": (t, speed),
        "course_over_ground": (t, (70 + turn * t) % 360),
        "trim": (t, trim),
    }
    if silent is not None:
        heard = np.r_[0 : silent[0], silent[1] : t.size]
        made["trim"] = (t[heard], trim[heard])
    units = {"speed_over_ground": "kn"}
    return [Channel(name, "x", units.get(name, "deg"), *each) for name, each in made.items()]


def looked_at(channels: list[Channel], held: Held = HELD, current: str = "averaged") -> Tried:
    value = WantedValue("slowest", "slowest_planing_speed", "kn", held=held)
    wanted = Wanted("down", "planing", (value,), (), ("out", "back"), "reciprocal", 1, current)
    return tries_of(channels, [wanted], TERMS)


def reason(found: Tried) -> str:
    assert not found.tries
    (left,) = found.left_out
    return left.reason


def test_the_last_hold() -> None:
    (one,) = looked_at(outing(*DOWN)).tries
    assert one.values["slowest"].value == pytest.approx(13.0)
    assert 40 <= one.start < one.end <= 60
    assert one.notes[0].startswith("she came off the plane at 12.2 kn")


@pytest.mark.parametrize(("step", "found"), [(0.7, False), (0.9, True)])
def test_how_far_below_she_may_come_off(step: float, found: bool) -> None:
    """She holds 13.0 kn, and the first reading that shows her off the plane is of 12.2 kn."""
    told = looked_at(outing(*DOWN), replace(HELD, step=step))
    assert bool(told.tries) is found
    if not found:
        assert "came off the plane at 12.2 kn, more than 0.7 kn below the 13.0 kn" in reason(told)


def test_who_held_less_before_and_went_on() -> None:
    parts = ((20, 13.0, 3.0), (20, 15.0, 3.0), (20, 14.2, 6.0))
    assert "she held 13.0 kn, and came off the plane later, from 15.0 kn" in reason(looked_at(outing(*parts)))  # fmt: skip


def test_who_turns_holds_no_straight_course() -> None:
    assert "she turned by 40 deg while she held it" in reason(looked_at(outing(*DOWN, turn=4.0)))


def test_what_is_not_recorded_shows_nothing() -> None:
    """Trim is silent from within the hold until after she came off: when she did, nothing tells."""
    told = looked_at(outing(*DOWN, silent=(55, 75)))
    assert "the log does not go on to where she came off the plane" in reason(told)


def test_a_wave_is_no_coming_off() -> None:
    parts = (*DOWN[:2], (10, 13.0, 3.0), (1, 13.0, 6.0), (14, 13.0, 3.0), *DOWN[3:])
    (one,) = looked_at(outing(*parts)).tries
    assert one.values["slowest"].value == pytest.approx(13.0)


def test_lying_still_is_no_planing() -> None:
    parts = ((30, 0.0, 1.0), (20, 16.0, 6.0), (20, 0.5, 1.0), (10, 5.0, 6.0))
    found = looked_at(outing(*parts))
    assert not found.tries
    assert not found.left_out


def test_the_uncertainty_holds_the_noise_of_the_whole_hold() -> None:
    """The steadiest seconds of a hold stray by less than its readings do."""
    for seed in range(20):
        channels = outing(*DOWN, noise=0.08, seed=seed)
        (one,) = looked_at(channels).tries
        told = one.values["slowest"].uncertainty
        assert told is not None
        assert told >= 0.8 * noise_of(channels[0].values[41:59]) / math.sqrt(11)


def test_rounding_stays_in_the_uncertainty() -> None:
    (one,) = looked_at(outing(*DOWN, noise=0.02, digits=1)).tries
    told = one.values["slowest"].uncertainty
    assert told is not None
    assert told >= 0.1 / math.sqrt(12) - 1e-9
    heel = Channel("heel", "x", "deg", np.arange(40.0), np.repeat([2.0, 2.5], 20))
    own = read_own(OwnValue("lean", "deg", "heel", "mean"), [heel], 0.0, 15.0)
    assert own.value == 2.0
    assert own.uncertainty == pytest.approx(0.5 / math.sqrt(12))


def test_a_drift_that_nothing_tells_sets_it_aside() -> None:
    (one,) = looked_at(outing(*DOWN), current="drift_taken_out").tries
    assert one.aside == NO_DRIFT


def test_two_slowest_speeds_in_one_manoeuvre() -> None:
    how = {"hold": "10 s", "within": "0.3 kn", "step": "1 kn", "planing": {"trim": {"at_most": "4 deg"}, "speed_over_ground": {"at_least": "8 kn"}}}  # fmt: skip
    value: Mapping[str, object] = {"kind": "slowest_planing_speed", "from_log": how}
    declared = {"start": "planing", "end": "off", "values": {"one": value, "two": value}}
    found = wanted_of("down", Manoeuvre.model_validate(declared))
    assert found.why_not == "it has several slowest planing speeds: declare a manoeuvre for each"
    assert found.channels == ("trim", "speed_over_ground", "trim", "speed_over_ground")
