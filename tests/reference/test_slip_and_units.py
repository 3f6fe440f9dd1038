"""Propeller figures, economy and unit factors against handbook constants.

Constants: 63360/60 = 1056 and (1852/0.0254)/60 = 1215.223, exact from definitions (mph and knots
from pitch in inches and propeller speed). Deck examination: a US Coast Guard question, pitch 19 ft
at 44 rpm for 24 h, 183.5 miles observed. Unit factors: NIST SP 811, appendix B.8. Rules of thumb
are marked as common practice.
"""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pandas as pd
import pytest

from slackwater.analysis.quantities.derived import Fitted, derived
from slackwater.analysis.quantities.making import SweepAxis, measured
from slackwater.analysis.reduction.reduction import reduce_runs
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.units.quantity import conversion, convert

INCH, FOOT = 0.0254, 0.3048


def propeller(speed, unit, rpm, pitch=None, gear_ratio=1.0, fuel_flow=None):
    """What the package derives from one run out and one back at the same speed."""
    frame = pd.DataFrame(
        {
            "row": [2, 3],
            "session": "S1",
            "configuration": "bare",
            "set_point": float(rpm),
            "double_run": 1,
            "direction": ["out", "back"],
            "heading": np.nan,
            "start": pd.Series([datetime(2026, 5, 4)] * 2, dtype="datetime64[ns]"),
            "duration": 60.0,
            "speed_over_ground": [speed + 0.5, speed - 0.5],
            "engine_speed": float(rpm),
            "fuel_flow": np.nan if fuel_flow is None else float(fuel_flow),
            "set_aside": "",
            "note": "",
        }
    )
    names = ("speed_over_ground", "engine_speed", "fuel_flow")
    used = {name: MEASURES[name] for name in names}
    used["speed_over_ground"] = type(used["speed_over_ground"])(
        "speed_over_ground", "", unit, "more", "ratio", "measured"
    )
    axis = SweepAxis("engine_speed", "rpm")
    reduction = reduce_runs(frame, method="double_run", one_way=False)
    tables = measured(reduction, used, {}, axis, ("S1",))
    found = derived(tables, Fitted((pitch,), (gear_ratio,)), axis)
    return {name: table.values[0, 0] for name, table in found.items()}


def test_no_slip_at_the_speed_of_the_screw():
    """rpm * P / (R * 1056) mph and rpm * P / (R * 1215.223) kn: 66.288 mph, 57.603 kn."""
    rpm, pitch, ratio = 5000, 21, 1.5
    assert rpm * pitch / (ratio * 1056) == pytest.approx(66.288, abs=5e-4)
    for unit, constant in (("mph", 1056.0), ("kn", 1215.2230971)):
        speed = rpm * pitch / (ratio * constant)
        found = propeller(speed, unit, rpm, pitch * INCH, ratio)
        # 1e-9 for slip: the constant is printed to ten digits.
        assert found["slip"] == pytest.approx(0.0, abs=1e-9)
        assert found["advance"] == pytest.approx(pitch * INCH, rel=1e-9)
    assert rpm * pitch / (ratio * 1215.2230971) == pytest.approx(57.603, abs=5e-4)


def test_apparent_slip_at_50_mph():
    """Slip 24.57 %, advance 15.84 in a turn of the propeller."""
    found = propeller(50.0, "mph", 5000, 21 * INCH, 1.5)
    assert found["slip"] == pytest.approx(0.2457, abs=5e-5)
    assert found["advance"] / INCH == pytest.approx(15.84, abs=5e-3)


@pytest.mark.parametrize(("unit", "slip"), [("kn", 0.0738), ("mph", 0.1952)])
def test_deck_examination(unit, slip):
    """183.5 miles in 24 h: 7.38 % if they are nautical, 19.52 % if they are statute."""
    found = propeller(183.5 / 24, unit, 44, 19 * FOOT)
    assert found["slip"] == pytest.approx(slip, abs=5e-5)


def test_deck_examination_with_the_old_nautical_mile():
    """198.00 miles by the screw and 7.32 %, with the nautical mile of 6080 ft."""
    by_screw = 19 * 44 * 60 * 24 / 6080
    assert by_screw == pytest.approx(198.00, abs=0.005)
    metres_a_day = 183.5 * 6080 * FOOT
    found = propeller(metres_a_day / 86400, "m/s", 44, 19 * FOOT)
    assert found["slip"] == pytest.approx(0.0732, abs=5e-5)


@pytest.mark.parametrize(
    ("speed", "rpm", "pitch", "ratio", "low", "high"),
    [
        (26.0, 4200, 19, 1.75, 0.10, 0.35),  # a planing runabout
        (7.0, 2400, 14, 2.5, 0.30, 0.60),  # a displacement launch
    ],
)
def test_rules_of_the_trade(speed, rpm, pitch, ratio, low, high):
    """Common practice, from memory: apparent slip of 10 to 35 % planing, 30 to 60 % at displacement
    speeds; invented boats of the usual proportions fall where the rule says."""
    found = propeller(speed, "kn", rpm, pitch * INCH, ratio)
    assert low < found["slip"] < high
    by_rule = 1 - speed / (rpm * pitch / (ratio * 1215.223))
    assert found["slip"] == pytest.approx(by_rule, abs=1e-6)  # the constant to seven digits


def test_economy():
    """40 L/h at 25 kn: 1.600 L/nmi, 2.3659 nmi a US gallon."""
    economy = propeller(25.0, "kn", 3000, fuel_flow=40)["economy"]
    assert 1 / economy == pytest.approx(1.600, abs=5e-4)
    assert economy * conversion("nmi/L", "nmi/gal") == pytest.approx(2.3659, abs=5e-5)


def test_what_is_not_declared_is_not_derived():
    assert set(propeller(25.0, "kn", 3000, fuel_flow=40)) == {"economy", "advance"}
    assert "slip" in propeller(25.0, "kn", 3000, pitch=0.5)


# from, to, factor, half the last printed digit (0 where the factor is exact)
FACTORS = [
    ("nmi", "m", 1852.0, 0),
    ("mi", "m", 1609.344, 0),
    ("ft", "m", 0.3048, 0),
    ("in", "m", 0.0254, 0),
    ("kn", "m/s", 1852 / 3600, 0),
    ("mph", "m/s", 0.44704, 0),
    ("kn", "mph", 1.150779448, 5e-10),
    ("gal", "L", 3.785411784, 0),
    ("imp_gal", "L", 4.54609, 0),
    ("hp", "W", 745.69987, 5e-6),
    ("metric_hp", "W", 735.49875, 0),
    ("lb", "kg", 0.45359237, 0),
    ("lbf", "N", 4.4482216, 5e-8),
    ("psi", "Pa", 6894.7573, 5e-5),
    ("long_ton", "kg", 1016.04691, 5e-6),
    ("short_ton", "kg", 907.18474, 0),
    ("lb/hp/h", "g/kWh", 608.2774, 5e-5),
    ("nmi/L", "nmi/gal", 3.785411784, 0),
]


@pytest.mark.parametrize(("start", "to", "factor", "half"), FACTORS)
def test_unit_factors(start, to, factor, half):
    found = conversion(start, to)
    assert found == pytest.approx(factor, abs=half or 1e-12 * factor)
    assert found * conversion(to, start) == pytest.approx(1.0, abs=1e-14)


@pytest.mark.parametrize(
    ("value", "start", "to", "expected"),
    [
        (15.0, "degC", "degF", 59.0),
        (32.0, "degF", "degC", 0.0),
        (0.0, "degC", "K", 273.15),
        (-40.0, "degF", "degC", -40.0),
    ],
)
def test_temperatures(value, start, to, expected):
    assert convert(value, start, to) == pytest.approx(expected, abs=1e-9)
