"""Figures of the sweep as a whole against handbooks, standards and rules of the trade.

Froude numbers and air: from their definitions with g = 9.80665 m/s^2 and dry air at R = 287.05287
J/(kg K) (ISO 2533). Fuel: API gravity, 141.5 / SG - 131.5 at 60 F; US AP-42 appendix A for petrol,
from memory. Duty: test cycle E4 of ISO 8178-4, weights as in 40 CFR 1045 appendix II. Reserve and
rule of thirds: US Coast Guard safe-boating advice; both are common practice. Admiralty coefficient:
any handbook of naval architecture. Units against pint's own registry.
"""

from __future__ import annotations

import numpy as np
import pint
import pytest

from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.sweep.asked_tables import usable_fuel
from slackwater.analysis.sweep.corrections import Differed, air_density, corrected, fuel_mass
from slackwater.analysis.sweep.duty import duty_tables
from slackwater.analysis.sweep.equal_speed import Target, equal_speed_tables
from slackwater.analysis.sweep.figures import range_table
from slackwater.analysis.sweep.planing import length_froude, planing_range
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.declared.asked import Correction
from slackwater.protocol.declared.trial import Boat
from slackwater.protocol.units.quantity import conversion

RPM = np.array([1000.0, 2000.0, 3000.0, 4000.0, 5000.0])
GALLON, POUND = 3.785411784, 0.45359237  # [L], [kg]: exact


def table(quantity, values):
    """One session at five engine speeds, without noise."""
    measure = MEASURES[quantity]
    rows = np.atleast_2d(np.asarray(values, dtype=float))
    return SessionValues(
        quantity, measure.unit, measure.scale, measure.better,
        tuple(f"S{i}" for i in range(len(rows))), RPM, tuple(f"{r:g} rpm" for r in RPM), rows,
        np.zeros(rows.shape), np.ones(rows.shape, dtype=int), np.zeros(len(RPM)),
    )  # fmt: skip


def test_length_froude_number():
    """10 kn on 10 m: 0.51949; the hull speed rule 1.34 sqrt(ft) is 0.39873."""
    assert length_froude(10.0, 10.0) == pytest.approx(0.51949, abs=5e-6)
    assert length_froude(1.34 * np.sqrt(30.0), 30 * 0.3048) == pytest.approx(0.39873, abs=5e-6)


def test_planing_by_size_is_common_practice():
    """Common practice: about nine metres, roughly 18 to 20 mph; twice the length, sqrt(2) more."""
    mph = np.array(planing_range(9.0)) / 0.868976242  # kn a mph: 1609.344 / 1852
    assert mph == pytest.approx([18.0, 20.0], abs=1e-6)
    assert planing_range(18.0)[0] / planing_range(9.0)[0] == pytest.approx(np.sqrt(2))
    # Planing forms gain above a length Froude number of 0.4 and plane fully near 1 (Radojcic and
    # others, Polish Maritime Research 2(82) 2014): the rule lies between.
    assert 0.4 < length_froude(planing_range(9.0)[0], 9.0) < 1.0


@pytest.mark.parametrize(("celsius", "density"), [(15, 1.22500), (25, 1.1839), (5, 1.2690)])
def test_density_of_dry_air(celsius, density):
    """At 1013.25 hPa; the first is the sea level of the standard atmosphere."""
    half = 5e-6 if celsius == 15 else 5e-5
    assert air_density(celsius, 1013.25) == pytest.approx(density, abs=half)


@pytest.mark.parametrize(
    ("api", "specific_gravity"), [(34, 0.8550), (35, 0.8498), (40, 0.8251), (60, 0.7389)]
)
def test_fuel_mass_from_api_gravity(api, specific_gravity):
    density = 141.5 / (api + 131.5) * 999.016  # water at 60 F, kg/m^3
    assert fuel_mass(1000.0, density) / 999.016 == pytest.approx(specific_gravity, abs=5e-5)


def test_pounds_a_gallon():
    """Diesel 7.05 lb a gallon is 0.8448 kg/L; petrol 6.17 (AP-42, from memory) is 0.7393.

    Common practice counts petrol at 6 lb a gallon.
    """
    assert fuel_mass(GALLON, 844.8) / POUND == pytest.approx(7.05, abs=5e-3)
    assert fuel_mass(GALLON, 739.3) / POUND == pytest.approx(6.17, abs=5e-3)
    assert fuel_mass(GALLON, 739.3) / POUND == pytest.approx(6.0, rel=0.03)


def test_a_tank_of_petrol():
    """200 L at 95 %, 0.745 kg/L: 141.55 kg, as in the load of ISO 14946."""
    assert fuel_mass(0.95 * 200, 745.0) == pytest.approx(141.55, abs=5e-3)


@pytest.mark.parametrize(
    ("reserve", "nautical_miles"), [("10 %", 112.5), ("33.3333333 %", 83.33), (None, 112.5)]
)
def test_range_with_its_reserve(reserve, nautical_miles):
    """200 L, 40 L/h at 25 kn. A tenth kept back is common practice, and stands where none is said."""
    given = {"title": "x", "fuel_capacity": "200 L"} | (
        {"fuel_reserve": reserve} if reserve else {}
    )
    usable = usable_fuel(Boat.model_validate(given))
    economy = table("economy", np.full(5, 25 / 40))
    assert range_table(economy, usable.litres).values[0, 0] == pytest.approx(
        nautical_miles, abs=5e-3
    )


def test_economy_is_the_inverse_of_fuel_at_equal_speed():
    """A tenth less fuel a mile is 11.11 % more miles a litre; 40 L/h at 25 kn is 1.600 L/nmi."""
    flow = 8 * (RPM / 1000) ** 1.0
    tables = {
        "speed": table("speed", [5 * RPM / 1000, 5 * RPM / 1000]),
        "fuel_flow": table("fuel_flow", [flow, 0.9 * flow]),
    }
    axis = SweepAxis("engine_speed", "rpm")
    found = equal_speed_tables(tables, axis, ["A", "B"], [Target(25.0, "25 kn", 25.0)])
    economy = found["economy at equal speed"].values[:, 0]
    assert 1 / economy[0] == pytest.approx(1.600, abs=5e-4)
    assert economy[1] / economy[0] - 1 == pytest.approx(0.1111, abs=5e-5)


def test_duty_weighted_as_the_test_cycle_e4():
    """Modes 100, 60, 30, 12, 2 L/h at weights 0.06, 0.14, 0.15, 0.25, 0.40: 22.70 L an hour."""
    tables = {
        "speed": table("speed", [[4.0, 8.0, 16.0, 24.0, 30.0]]),
        "fuel_flow": table("fuel_flow", [[2.0, 12.0, 30.0, 60.0, 100.0]]),
    }
    weights = {4.0: 0.40, 8.0: 0.25, 16.0: 0.15, 24.0: 0.14, 30.0: 0.06}
    legs = [(Target(v, f"{v:g} kn", v), hours) for v, hours in weights.items()]
    trip, year = duty_tables(tables, ["A"], legs, 500)
    assert trip.values[0, 0] == pytest.approx(22.70, abs=5e-3)
    assert year.values[0, 0] == pytest.approx(11350, abs=2.5)


def test_displacement_by_the_admiralty_coefficient():
    """5 % more mass at one power is 1.08 % less speed; the declared correction gives it back."""
    correction = Correction.model_validate(
        {
            "of": "displacement", "per": "250 kg", "source": "Admiralty coefficient",
            "changes": {"speed": "-1.078 %"},
        }
    )  # fmt: skip
    light, heavy = 20.0, 20.0 * 1.05 ** (-2 / 9)  # 5000 and 5250 kg; C = D^(2/3) V^3 / P
    assert heavy / light - 1 == pytest.approx(-0.0108, abs=5e-5)
    speed = table("speed", [np.full(5, light), np.full(5, heavy)])
    excess = np.array([[0.0], [1.0]]) * np.ones(5)
    found = corrected({"speed": speed}, [Differed(correction, excess, 0.0, "")], ["A", "B"])
    assert found["speed"].values[1] == pytest.approx(light, rel=1e-5)


@pytest.mark.parametrize(
    ("start", "to"),
    [
        ("kn", "mph"), ("kn", "m/s"), ("nmi/L", "nmi/gal"), ("nmi/L", "mi/gal"), ("gal/h", "L/h"),
        ("nmi", "mi"), ("lb", "kg"), ("in", "m"), ("kg/h", "lb/h"),
    ],
)  # fmt: skip
def test_units_against_pint(start, to):
    registry = pint.UnitRegistry()
    names = {"kn": "knot", "nmi": "nautical_mile", "mi": "mile", "in": "inch", "lb": "pound"}

    def spelled(unit):
        parts = [names.get(part, part) for part in unit.split("/")]
        return "/".join({"L": "liter", "gal": "gallon", "h": "hour"}.get(p, p) for p in parts)

    expected = registry.Quantity(1.0, spelled(start)).to(spelled(to)).magnitude
    assert conversion(start, to) == pytest.approx(expected, rel=1e-12)
