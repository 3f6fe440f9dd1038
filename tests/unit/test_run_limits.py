"""The limits and checks of a single run, without any file."""

from __future__ import annotations

from dataclasses import replace

import pytest
from invented_protocols import protocol

from slackwater.protocol.schedule.run_limits import RunMade, check_run, hold_band, limits_of
from slackwater.protocol.units.quantity import Quantity

LIMITS = limits_of(protocol(), 2000.0, "out", 45.0)
GOOD = RunMade(
    {"speed_over_ground": 15.0, "engine_speed": 2000.0, "fuel_flow": 41.0}, 60.0, "out", 45.0
)


def rules(made: RunMade) -> list[str]:
    return [finding.rule for finding in check_run(LIMITS, made)]


@pytest.mark.parametrize(
    ("point", "unit", "hold", "band"),
    [
        (2000.0, "rpm", Quantity(1.0, "%"), (1980.0, 2020.0)),
        (2000.0, "rpm", Quantity(15.0, "rpm"), (1985.0, 2015.0)),
        (8.0, "kn", Quantity(0.926, "km/h"), (7.5, 8.5)),  # 0.926 km/h is half a knot
        (50.0, "%", Quantity(2.0, "%"), (48.0, 52.0)),  # points of the throttle, not a part of it
        (-2.0, "deg", Quantity(10.0, "%"), (-2.2, -1.8)),
        (80.0, "degC", Quantity(2.0, "delta_degC"), (78.0, 82.0)),
    ],
)
def test_the_band(point: float, unit: str, hold: Quantity, band: tuple[float, float]) -> None:
    assert hold_band(point, unit, hold) == pytest.approx(band, abs=1e-12)


def test_limits_of_a_run() -> None:
    assert (LIMITS.low, LIMITS.high, LIMITS.settle, LIMITS.record) == (1980, 2020, 20, 60)
    assert LIMITS.band == "1980 to 2020 rpm"
    assert LIMITS.measures == ("speed_over_ground", "engine_speed", "fuel_flow")


def test_a_good_run() -> None:
    assert rules(GOOD) == []


@pytest.mark.parametrize(
    ("held", "found"),
    [
        (1980.0, []),
        (2020.0, []),
        (1979.9, ["set-point-not-held"]),
        (2020.1, ["set-point-not-held"]),
    ],
)
def test_the_value_held(held: float, found: list[str]) -> None:
    assert rules(replace(GOOD, values={**GOOD.values, "engine_speed": held})) == found


@pytest.mark.parametrize(
    ("change", "found", "says"),
    [
        ({"duration": 59.0}, "record-too-short", "recorded 59 s; 60 s are needed"),
        ({"direction": "back"}, "direction-not-as-planned", "went back; out was planned"),
        ({"heading": 61.0}, "heading-off", "headed 061 deg, 16 deg off 045; the limit is 15 deg"),
        ({"values": {"engine_speed": 2000.0}}, "reading-missing", "speed_over_ground, fuel_flow"),
        ({"values": {**GOOD.values, "fuel_flow": float("nan")}}, "reading-missing", "of fuel_flow"),
    ],
)
def test_what_is_told(change: dict[str, object], found: str, says: str) -> None:
    told = list(check_run(LIMITS, replace(GOOD, **change)))  # type: ignore[arg-type]
    assert [finding.rule for finding in told] == [found]
    assert says in told[0].message
    assert told[0].fix


@pytest.mark.parametrize("change", [{"duration": None}, {"heading": 60.0}, {"heading": 30.0}])
def test_at_the_limit_and_not_noted(change: dict[str, object]) -> None:
    assert rules(replace(GOOD, **change)) == []  # type: ignore[arg-type]


def test_headings_on_both_sides_of_north() -> None:
    limits = limits_of(protocol(), 2000.0, "out", 355.0)
    assert not list(check_run(limits, replace(GOOD, heading=8.0)))
    assert [f.rule for f in check_run(limits, replace(GOOD, heading=11.0))] == ["heading-off"]


def test_a_run_set_aside_has_nothing_to_keep() -> None:
    assert rules(RunMade(set_aside="crossed a wake", duration=3.0)) == []
