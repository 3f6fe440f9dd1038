"""Derived quantities worked out by hand: powers, units, needs, uncertainties of all parts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from invented_runs import table
from numpy.testing import assert_allclose

from slackwater.analysis.quantities.derived import Fitted, derived, product, slip, unit_of
from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.protocol.catalogue.measures import MEASURES, Recipe

RPM = SweepAxis("engine_speed", "rpm")
NAN = np.nan
BARE = Fitted((None, None), (None, None))


def part(quantity: str, unit: str, values: Any, **more: Any) -> SessionValues:
    measure = MEASURES[quantity]
    given = {"quantity": quantity, "unit": unit, "scale": measure.scale, "better": measure.better}
    return table(values, **(given | more))


def speed(unit: str = "kn", **more: Any) -> SessionValues:
    return part("speed", unit, [[8.0, 12.0], [10.0, 15.0]], **more)


def flow(unit: str = "L/h", name: str = "fuel_flow", **more: Any) -> SessionValues:
    return part(name, unit, [[4.0, 24.0], [5.0, 30.0]], **more)


# --- units ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "speed_unit", "other", "amount_unit", "unit"),
    [
        ("economy", "kn", "fuel_flow", "L/h", "nmi/L"),
        ("economy", "km/h", "fuel_flow", "L/h", "km/L"),
        ("economy", "mph", "fuel_flow", "gal/h", "mi/gal"),
        ("fuel_per_distance", "mph", "fuel_flow", "gal/h", "gal/mi"),
        ("economy", "km/h", "fuel_mass_flow", "kg/h", "km/L"),
        ("distance_per_energy", "km/h", "electric_power", "kW", "km/kWh"),
        ("energy_per_distance", "mph", "electric_power", "kW", "kWh/mi"),
        ("economy", "m/s", "fuel_flow", "L/h", "nmi/L"),  # no distance goes with m/s
        ("economy", "km/h", "fuel_flow", "mL/s", "nmi/L"),  # nor an amount with mL/s
        ("advance", "km/h", "engine_speed", "rpm", "m"),
    ],
)
def test_the_unit_follows_those_declared(
    name: str, speed_unit: str, other: str, amount_unit: str, unit: str
) -> None:
    parts = {"speed": speed(speed_unit), other: flow(amount_unit, other)}
    assert unit_of(MEASURES[name], parts) == unit


def test_without_a_speed_or_an_amount_the_unit_is_that_of_the_catalogue() -> None:
    assert unit_of(MEASURES["economy"], {"fuel_flow": flow()}) == "nmi/L"
    assert unit_of(MEASURES["economy"], {"speed": speed("km/h")}) == "nmi/L"
    # Of what is no distance per amount the unit does not follow.
    other = replace(MEASURES["economy"], unit="m")
    assert unit_of(other, {"speed": speed("km/h"), "fuel_flow": flow()}) == "m"


# --- products ------------------------------------------------------------------------------------


def made(chosen: Recipe, have: dict[str, SessionValues], **factors: Any) -> SessionValues:
    found = product(MEASURES["economy"], chosen, have, factors, RPM)
    assert found is not None
    return found


def test_a_product_of_any_powers_with_the_uncertainty_of_all_its_parts() -> None:
    """Relative variances add with the squares of the powers (JCGM 100:2008, 5.1.6)."""
    have = {
        "speed": speed(run_variance=np.full((2, 2), 0.04), instrument_variance=np.array([1e-4, 2e-4]),
                       curve_variance=np.full((2, 2), 3e-4), common_errors=True,
                       double_runs=np.array([[2, 3], [4, 5]])),
        "fuel_flow": flow(run_variance=np.full((2, 2), 0.01), instrument_variance=np.array([5e-4, 0.0]),
                          level_variance=np.full((2, 2), 7e-4), common_errors=True, curve_variance=np.full((2, 2), 2e-4),
                          double_runs=np.array([[3, 2], [1, 9]])),
    }  # fmt: skip
    found = made(Recipe({"speed": 3.0, "fuel_flow": -2.0}), have)
    v, q = have["speed"].values, have["fuel_flow"].values
    assert_allclose(found.values, v**3 / q**2)
    relative = 9 * 0.04 / v**2 + 4 * 0.01 / q**2
    assert_allclose(found.run_variance, relative * (v**3 / q**2) ** 2)
    assert_allclose(found.instrument_variance, [9e-4 + 20e-4, 18e-4])
    assert found.curve_variance is not None
    assert found.level_variance is not None
    assert_allclose(found.curve_variance, 27e-4 + 8e-4)
    assert_allclose(found.level_variance, 28e-4)
    assert found.double_runs.tolist() == [[2, 2], [1, 5]]
    assert found.common_errors is True
    assert (found.quantity, found.unit, found.better, found.untestable) == (
        "economy", "nmi/L", "more", "",
    )  # fmt: skip
    apart = {**have, "fuel_flow": replace(have["fuel_flow"], common_errors=False)}
    assert made(Recipe({"speed": 3.0, "fuel_flow": -2.0}), apart).common_errors is False


def test_units_of_the_parts_are_brought_to_those_of_the_catalogue_with_their_powers() -> None:
    """36 km/h are 10 m/s; squared over a flow in gallons."""
    have = {"speed": speed("m/s"), "fuel_flow": flow("gal/h")}
    found = made(Recipe({"speed": 2.0, "fuel_flow": -1.5}), have)
    knots, litres = 3600 / 1852, 3.785411784
    expected = (have["speed"].values * knots) ** 2 / (have["fuel_flow"].values * litres) ** 1.5
    assert_allclose(found.values, expected, rtol=1e-12)


def test_economy_in_the_units_declared() -> None:
    found = derived({"speed": speed("km/h"), "fuel_flow": flow()}, BARE, RPM)["economy"]
    assert found.unit == "km/L"
    assert_allclose(found.values, [[2.0, 0.5], [2.0, 0.5]])
    by_gallon = derived({"speed": speed("mph"), "fuel_flow": flow("gal/h")}, BARE, RPM)["economy"]
    assert by_gallon.unit == "mi/gal"
    assert_allclose(by_gallon.values, [[2.0, 0.5], [2.0, 0.5]], rtol=1e-9)


def test_mass_flow_takes_the_density_and_is_untestable_without_it() -> None:
    have = {"speed": speed("km/h"), "fuel_mass_flow": flow("kg/h", "fuel_mass_flow")}
    with_it = Fitted((None, None), (None, None), fuel_density=0.84)
    found = derived(have, with_it, RPM)["economy"]
    assert_allclose(found.values, [[1.68, 0.42], [1.68, 0.42]])
    assert found.untestable == ""
    lacks = derived(have, BARE, RPM)["economy"]
    assert np.isnan(lacks.values).all()
    assert lacks.untestable == (
        "economy needs the fuel density, which is not declared; write "
        "boat: {fuel_density: 0.84 kg/L}"
    )
    asked = Fitted((None, None), (None, None), fuel_density=0.84, asked=("fuel_per_distance",))
    per_mile = derived(have, asked, RPM)["fuel_per_distance"]
    assert_allclose(per_mile.values * found.values, 1.0)
    assert "fuel_per_distance" not in derived(have, with_it, RPM)


def test_the_first_way_that_the_measures_allow_is_taken() -> None:
    have = {
        "speed": speed("km/h"),
        "fuel_mass_flow": flow("kg/h", "fuel_mass_flow"),
        "fuel_flow": flow(),
    }
    found = derived(have, Fitted((None, None), (None, None), fuel_density=0.5), RPM)
    assert_allclose(found["economy"].values, [[2.0, 0.5], [2.0, 0.5]])


def test_all_that_nobody_declared_is_named() -> None:
    chosen = Recipe({"speed": 1}, {"gear_ratio": 1, "propeller_pitch": 2})
    found = made(chosen, {"speed": speed()}, gear_ratio=None, propeller_pitch=None)
    assert found.untestable == (
        "economy needs the gear ratio and propeller pitch, which is not declared; write "
        "configurations: gear_ratio, of each"
    )
    given = made(
        chosen, {"speed": speed()}, gear_ratio=np.array([[2.0]]), propeller_pitch=np.array([[3.0]])
    )
    assert_allclose(given.values, speed().values * 18)
    assert given.untestable == ""


def test_what_forbids_a_part_forbids_the_whole() -> None:
    have = {"speed": speed(), "fuel_flow": flow(untestable="no")}
    assert derived(have, BARE, RPM)["economy"].untestable == "no"
    both = {"speed": speed(untestable="first"), "fuel_flow": flow(untestable="second")}
    assert derived(both, BARE, RPM)["economy"].untestable == "first"


def test_no_flow_is_no_value_nor_double_run() -> None:
    none = flow(double_runs=np.full((2, 2), 2), run_variance=np.full((2, 2), 0.1))
    none = replace(none, values=np.array([[0.0, 24.0], [NAN, 30.0]]))
    found = derived({"speed": speed(), "fuel_flow": none}, BARE, RPM)["economy"]
    assert np.isnan(found.values).tolist() == [[True, False], [True, False]]
    assert np.isnan(found.run_variance).tolist() == [[True, False], [True, False]]
    assert found.double_runs.tolist() == [[0, 2], [0, 2]]


# --- which are made, and of what -----------------------------------------------------------------


def test_they_come_in_the_order_of_the_catalogue_and_only_those_asked_for() -> None:
    have = {"electric_power": flow("kW", "electric_power"), "speed": speed(), "fuel_flow": flow()}
    asked = Fitted((0.5, 0.5), (2.0, 2.0), asked=("energy_per_distance", "fuel_per_distance"))
    assert list(derived(have, asked, RPM)) == [
        "economy", "fuel_per_distance", "distance_per_energy", "energy_per_distance", "advance", "slip",
    ]  # fmt: skip
    assert list(derived(have, Fitted((0.5, 0.5), (2.0, 2.0)), RPM)) == [
        "economy", "distance_per_energy", "advance", "slip",
    ]  # fmt: skip
    # What the runs carry themselves is not made again; what is read at equal speed is made elsewhere.
    own = {**have, "economy": part("economy", "nmi/L", [[1.0, 1.0], [1.0, 1.0]])}
    assert list(derived(own, BARE, RPM)) == ["distance_per_energy"]


def test_a_part_that_is_missing_makes_nothing() -> None:
    assert product(MEASURES["economy"], Recipe({"speed": 1, "fuel_flow": -1}), {"speed": speed()}, {}, RPM) is None  # fmt: skip
    assert derived({"speed": speed()}, BARE, SweepAxis("throttle", "%")) == {}


def test_the_gear_ratio_and_the_pitch_are_those_of_each_session() -> None:
    fitted = Fitted((0.5, 0.6), (2.0, 2.5), fuel_density=0.8)
    assert_allclose(fitted.of_sessions("gear_ratio"), [[2.0], [2.5]])
    assert_allclose(fitted.of_sessions("propeller_pitch"), [[0.5], [0.6]])
    assert_allclose(fitted.of_sessions("fuel_density"), [[0.8]])
    assert BARE.of_sessions("fuel_density") is None
    assert Fitted((0.5, None), (2.0, 2.0)).of_sessions("propeller_pitch") is None
    assert Fitted((0.5, None), (2.0, 2.0)).of_sessions("gear_ratio") is not None


# --- advance and slip ----------------------------------------------------------------------------


def test_advance_a_turn_of_the_screw_itself() -> None:
    """10 kn at 600 turns a minute: 308.67 m a minute, 0.5144 m a turn, whatever the gear."""
    turns = part("propeller_speed", "rpm", [[480.0, 720.0], [600.0, 900.0]])
    found = derived({"speed": speed(), "propeller_speed": turns}, BARE, SweepAxis("throttle", "%"))
    assert_allclose(found["advance"].values, 1852 / 60 / 60, rtol=1e-12)
    assert found["advance"].unit == "m"
    slow = part("propeller_speed", "deg/s", np.array([[480.0, 720.0], [600.0, 900.0]]) * 6)
    in_degrees = derived({"speed": speed(), "propeller_speed": slow}, BARE, RPM)
    assert_allclose(in_degrees["advance"].values, 1852 / 60 / 60, rtol=1e-12)
    # Where both are held, the set points stand for it in their own unit.
    axis = SweepAxis("propeller_speed", "deg/s")  # 8 and 12 turns a second
    held = derived({"speed": speed(positions=np.array([2880.0, 4320.0]))}, BARE, axis)
    assert_allclose(held["advance"].values[0], 1852 / 3600, rtol=1e-12)
    assert_allclose(held["advance"].values[1], 1852 / 3600 * 1.25, rtol=1e-12)


def test_slip_carries_what_the_advance_is_off_by() -> None:
    """S = 1 - J / p: standard deviations are divided by the pitch, relative ones times the part."""
    moved = part(
        "advance", "m", [[0.40, NAN], [0.45, 0.54]], run_variance=np.full((2, 2), 1e-4),
        curve_variance=np.full((2, 2), 2e-4), level_variance=np.full((2, 2), 3e-4),
        instrument_variance=np.array([4e-4, 5e-4]),
    )  # fmt: skip
    pitch = np.array([[0.5], [0.6]])
    found = slip(MEASURES["slip"], MEASURES["slip"].made_of[0], {"advance": moved}, {"propeller_pitch": pitch}, RPM)  # fmt: skip
    assert found is not None
    assert_allclose(found.values, [[0.2, NAN], [0.25, 0.1]])
    assert_allclose(found.run_variance, [[4e-4] * 2, [1e-4 / 0.36] * 2])
    assert_allclose(found.curve_variance, [[2e-4 * 0.64, NAN], [2e-4 * 0.75**2, 2e-4 * 0.81]])
    assert_allclose(found.level_variance, [[3e-4 * 0.64, NAN], [3e-4 * 0.75**2, 3e-4 * 0.81]])
    assert_allclose(found.instrument_variance, [4e-4 * 0.775**2, 5e-4 * 0.81])
    assert (found.unit, found.scale, found.better) == ("1", "difference", None)
    plain = replace(moved, curve_variance=None, level_variance=None, values=np.full((2, 2), NAN))
    nothing = slip(MEASURES["slip"], MEASURES["slip"].made_of[0], {"advance": plain}, {"propeller_pitch": pitch}, RPM)  # fmt: skip
    assert nothing is not None
    assert nothing.curve_variance is nothing.level_variance is None
    assert nothing.instrument_variance.tolist() == [0.0, 0.0]
    for have, need in (({}, pitch), ({"advance": moved}, None)):
        assert slip(MEASURES["slip"], MEASURES["slip"].made_of[0], have, {"propeller_pitch": need}, RPM) is None  # fmt: skip
