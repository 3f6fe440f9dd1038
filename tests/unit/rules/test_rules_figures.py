"""The numbers that rules go by, against the published figures that they name."""

from __future__ import annotations

import math
from statistics import NormalDist, median

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import norm, t

from slackwater.analysis.checking.method_rules._powered import detectable
from slackwater.analysis.checking.run_rules import units_mixed
from slackwater.analysis.checking.run_rules._outliers import (
    CUTOFF,
    NORMAL_QUARTER,
    cutoff,
    mad,
    z_scores,
)
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.rules import (
    displacement_too_loose,
    few_sessions,
    hold_too_wide,
    no_family,
    record_too_short,
    tide_may_turn,
    wave_limit_too_wide,
    wind_limit_too_wide,
)
from slackwater.protocol.rules._breaches import DIESEL
from slackwater.protocol.rules._depth import (
    FREE_OF_BOTTOM,
    depth_froude,
    least_depth,
    least_depth_for_hull,
)
from slackwater.protocol.rules._orders import alternative, in_one_block, positions
from slackwater.protocol.rules._sizes import TIDE_PERIOD
from slackwater.protocol.rules._slip import apparent_slip
from slackwater.protocol.units.quantity import Quantity, conversion

KNOT = 1852 / 3600


# The depth formulae of ITTC 7.5-04-01-01.1 and ISO 15016 (from memory), worked through for three
# boats: beam, draught [m], speed [kn]; 3 sqrt(BT), 2.75 V^2/g, 2 sqrt(BT), 2 V^2/g [m].
@pytest.mark.parametrize(
    ("beam", "draught", "speed", "depths"),
    [
        (3, 0.6, 25, (4.025, 46.384, 2.683, 33.734)),
        (3, 0.6, 8, (4.025, 4.750, 2.683, 3.454)),
        (6, 1.8, 10, (9.859, 7.421, 6.573, 5.397)),
    ],
)
def test_depth_formulae(
    beam: float, draught: float, speed: float, depths: tuple[float, ...]
) -> None:
    found = (
        least_depth_for_hull(beam, draught),
        least_depth(speed),
        least_depth_for_hull(beam, draught, 2.0),
        least_depth(speed, 2.0),
    )
    assert_allclose(found, depths, atol=0.0005)


def test_depth_formula_is_a_depth_froude_number() -> None:
    assert_allclose(FREE_OF_BOTTOM, 0.6030, atol=0.00005)
    assert_allclose(depth_froude(17.0, least_depth(17.0)), FREE_OF_BOTTOM, rtol=1e-12)
    assert_allclose(depth_froude(17.0, least_depth(17.0, 2.0)), 0.7071, atol=0.00005)


# Critical speeds sqrt(g h), depth [m] and speed [kn], from the definition.
@pytest.mark.parametrize(("depth", "speed"), [(2, 8.609), (5, 13.612), (10, 19.250), (50, 43.043)])
def test_critical_speed(depth: float, speed: float) -> None:
    assert_allclose(depth_froude(speed, depth), 1.0, atol=0.0005 / speed)


# A current of 1.5 kn sin(2 pi t / 12.42 h), one double run from slack water on: the error of its
# mean, runs 20 and 30 min apart. From the algebra of the sine. [kn]
@pytest.mark.parametrize(("minutes", "error"), [(20, 0.126), (30, 0.188)])
def test_a_double_run_keeps_half_the_drift(minutes: float, error: float) -> None:
    hours = minutes / 60
    exact = 1.5 * math.sin(2 * math.pi * hours / TIDE_PERIOD) / 2
    assert_allclose(exact, error, atol=0.0005)
    # The rule takes the steepest slope for the whole of it: never less, and little more.
    kept = tide_may_turn.drift_kept(1.5, hours)
    assert exact <= kept < 1.02 * exact


def test_effective_number_of_readings() -> None:
    # n (1 - r) / (1 + r) for readings with lag-1 correlation r: 60 at 0.9 count as 3.16.
    assert_allclose(record_too_short.effective(60), 3.16, atol=0.005)
    assert_allclose(record_too_short.effective(600), 31.6, atol=0.05)


def test_receiver_of_the_gps_performance_standard() -> None:
    # GPS SPS Performance Standard, 5th ed. (2020): velocity within 0.2 m/s at 95 % (from memory).
    assert_allclose(norm.ppf(0.975) * record_too_short.RECEIVER * KNOT, 0.2, atol=1e-6)


def test_receiver_alone_against_simulated_readings() -> None:
    """The half-width for a record of 60 s, by drawing the correlated readings themselves."""
    rng = np.random.default_rng(20260504)
    shocks = rng.normal(size=(4000, 60)) * math.sqrt(1 - record_too_short.CORRELATION**2)
    readings = np.empty_like(shocks)
    readings[:, 0] = rng.normal(size=4000)
    for i in range(1, 60):
        readings[:, i] = record_too_short.CORRELATION * readings[:, i - 1] + shocks[:, i]
    spread = float(readings.mean(axis=1).std())
    # The formula holds for long records; at 60 s the exact number is 3.75 rather than 3.16.
    assert_allclose(1 / spread**2, 3.75, rtol=0.08)
    assert 1 / spread**2 > record_too_short.effective(60)


# US FDA, Multiple Endpoints in Clinical Trials (2022): about 10 and 14 % with two and three; the
# others from the binomial.
@pytest.mark.parametrize(
    ("count", "percent"), [(2, 9.75), (3, 14.26), (5, 22.6), (8, 33.7), (10, 40.1), (20, 64.2)]
)
def test_false_alarms(count: int, percent: float) -> None:
    places = 0.005 if count < 5 else 0.05
    assert_allclose(100 * no_family.false_alarm(0.95, count), percent, atol=places)


def test_admiralty_coefficient() -> None:
    # 5 t, 20 kn, 150 kW: five per cent more mass at the same coefficient takes power x 1.03306 at
    # equal speed, or leaves speed x 0.98922 at equal power.
    assert_allclose(1 + displacement_too_loose.power_added(0.05), 1.03306, atol=5e-6)
    assert_allclose(1 - displacement_too_loose.speed_lost(0.05), 0.98922, atol=5e-6)
    # Published notes on ship trials: displacement within 2 % of the required value.
    assert displacement_too_loose.WIDEST == 0.02


def test_propeller_law() -> None:
    # 40 CFR 1042 appendix II, E3: speed 100, 91, 80, 63 %, power 100, 75, 50, 25 %.
    power = hold_too_wide.ROTATION["shaft_power"]
    assert_allclose(np.array([1, 0.91, 0.80, 0.63]) ** power, [1, 0.75, 0.5, 0.25], atol=0.013)
    assert_allclose(0.91**power, 0.7536, atol=0.00005)
    assert hold_too_wide.ROTATION["speed"] == 1
    # Fuel with the cube at constant specific consumption; economy is speed over it.
    held = load_protocol("two-way-sweep")
    flow, speed, economy = (
        hold_too_wide.exponent(held, name) for name in ("fuel_flow", "speed", "economy")
    )
    assert (flow, speed, economy) == (3, 1, 2)


def test_beaufort_and_waves() -> None:
    # Beaufort 5 is 17 to 21 kn (Chapman's Piloting); 0.836 B^1.5 m/s is its middle.
    assert wind_limit_too_wide.WIDEST == 21
    middles = [0.836 * force**1.5 / KNOT for force in (5, 6)]
    assert middles[0] < wind_limit_too_wide.WIDEST < middles[1]
    # ITTC 7.5-04-01-01.1: 2.25 sqrt(L / 100) m, measured (from memory): 2.25 m at 100 m.
    assert_allclose(wave_limit_too_wide.highest(100), 2.25)
    assert_allclose(wave_limit_too_wide.highest(24), 1.10, atol=0.005)


def test_t_of_few_sessions() -> None:
    # JCGM 100:2008 (GUM), table G.2, 95 %: 4.30 with 2 degrees of freedom, 2.78 with 4.
    assert_allclose(t.ppf(0.975, [2, 4]), [few_sessions.T_95, 2.78], atol=0.005)


# Sessions for each side that show a difference at 80 % power and 5 % two-sided, from the exact
# power of the two-sample t-test: coefficient of variation [%], difference [%], number.
@pytest.mark.parametrize(
    ("noise", "difference", "sessions"),
    [(0.5, 1, 6), (1, 1, 17), (1, 2, 6), (1, 3, 4), (2, 1, 64), (2, 2, 17), (2, 3, 9)],
)
def test_detectable_difference(noise: float, difference: float, sessions: int) -> None:
    enough = detectable(noise, sessions, 2 * (sessions - 1), 0.95, power=0.8)
    too_few = detectable(noise, sessions - 1, 2 * (sessions - 2), 0.95, power=0.8)
    assert enough <= difference < too_few


@pytest.mark.parametrize("wanted", [0.8, 0.9])
def test_detectable_has_the_power_it_says(wanted: float) -> None:
    """At the difference named, the two-sample t-test finds it with the power wanted."""
    from scipy.stats import nct

    for sessions in (2, 3, 6, 12):
        df = 2 * (sessions - 1)
        shown = detectable(1.0, sessions, df, 0.95, wanted)
        shift = shown / math.sqrt(2 / sessions)
        power = float(nct.sf(t.ppf(0.975, df), df, shift))
        # The sum of two quantiles is the usual approximation; with 2 sessions it is the roughest.
        assert_allclose(power, wanted, atol=0.02 if sessions > 2 else 0.05)


# A deck examination of the US Coast Guard: pitch 19.0 ft, 183.5 miles in 24 h at 44 rpm; slip by
# the mile that is meant.
@pytest.mark.parametrize(
    ("mile", "percent"), [(6080 * 0.3048, 7.32), (1852.0, 7.38), (1609.344, 19.52)]
)
def test_apparent_slip(mile: float, percent: float) -> None:
    speed = 183.5 * mile / 86400
    found = apparent_slip(speed, 44 / 60, 19.0 * 0.3048)
    assert_allclose(100 * found, percent, atol=0.005)


def test_apparent_slip_with_a_gear() -> None:
    # 5000 rpm, 21 in, 1.5:1 is 57.603 kn; at 50 mph the slip is 24.57 %.
    whole = 5000 * 21 / (1.5 * 1215.2231)
    assert_allclose(whole, 57.603, atol=0.0005)
    found = apparent_slip(50 * 0.44704, 5000 / 60, 21 * 0.0254, 1.5)
    assert_allclose(100 * found, 24.57, atol=0.005)


# NIST SP 811: exact factors.
@pytest.mark.parametrize(
    ("unit", "other", "factor"),
    [
        ("kn", "km/h", 1.852),
        ("kn", "mph", 1.150779448),
        ("m/s", "kn", 3600 / 1852),
        ("gal/h", "L/h", 3.785411784),
        ("imp_gal/h", "L/h", 4.54609),
    ],
)
def test_factors_of_units(unit: str, other: str, factor: float) -> None:
    assert_allclose(conversion(unit, other), factor, rtol=1e-9)
    assert_allclose(units_mixed.factors(unit)[f"in {other}"], factor, rtol=1e-9)


def test_modified_z_score() -> None:
    # NIST/SEMATECH e-Handbook, 1.3.5.17.1: Grubbs' uranium example; 245.57 is the outlier.
    uranium = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
    off = [value - median(uranium) for value in uranium]
    scores = z_scores(off, mad(off))
    assert [abs(score) > CUTOFF for score in scores] == [False] * 7 + [True]
    # By hand: median 201.37, median absolute deviation (0.81 + 1.18) / 2.
    assert_allclose(scores[-1], 0.6745 * (245.57 - 201.37) / 0.995, rtol=1e-9)
    assert_allclose(NORMAL_QUARTER, NormalDist().inv_cdf(0.75), atol=5e-5)
    assert CUTOFF == 3.5


def test_no_outlier_among_values_alike() -> None:
    assert z_scores([0.0, 0.0, 0.0], mad([0.0, 0.0, 0.0])) == [0.0, 0.0, 0.0]
    assert z_scores([0.0, 0.0, 1.0], mad([0.0, 0.0, 1.0])) == [0.0, 0.0, math.inf]
    assert max(z_scores([0.0, 0.0, 1.0], 1.0)) < CUTOFF


def test_cutoff_grows_with_what_is_looked_at() -> None:
    assert cutoff(10) == cutoff(20) == CUTOFF
    assert_allclose(cutoff(1000), norm.isf(0.01 / 2000), rtol=1e-9)
    # So that among a thousand honest values one is named in one trial of a hundred.
    assert_allclose(1000 * 2 * norm.sf(cutoff(1000)), 0.01, rtol=1e-9)


# With equal spacing + - - + takes out a constant and a linear drift, + - + - does not; of eight,
# + - - + - + + - takes out a quadratic one too.
@pytest.mark.parametrize(
    ("order", "gap"), [("ABBA", 0.0), ("ABAB", 1.0), ("ABBABAAB", 0.0), ("AABB", 2.0)]
)
def test_mean_positions_tell_what_linear_drift_leaves(order: str, gap: float) -> None:
    means = positions(order)
    signs = np.array([1 if letter == "B" else -1 for letter in order])
    left = float(signs @ np.arange(len(order)) / (len(order) / 2))
    assert_allclose(means["B"] - means["A"], gap)
    assert_allclose(left, gap)


def test_orders() -> None:
    assert alternative("AAABBB") == "ABBAAB"
    assert alternative("AABB") == "ABBA"
    assert in_one_block("AAABBB")
    assert in_one_block("BBAA")
    assert in_one_block("AABBCC")
    assert not in_one_block("AB")
    assert not in_one_block("ABBA")


def test_diesel_lies_in_its_standard() -> None:
    # EN 590: 820 to 845 kg/m^3 at 15 degC (from memory).
    assert Quantity(820, "kg/m^3").to("kg/L").value <= DIESEL.value
    assert DIESEL.value <= Quantity(845, "kg/m^3").to("kg/L").value
