"""Session values of what is measured and of what is derived from it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from invented_runs import sweep, table
from numpy.testing import assert_allclose

from slackwater.analysis.quantities.derived import Fitted, derived
from slackwater.analysis.quantities.making import ONE_WAY, Instrument, SweepAxis, measured
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.reduction.reduction import reduce_runs
from slackwater.protocol.catalogue.measures import MEASURES

RPM = SweepAxis("engine_speed", "rpm")
NOTHING = Fitted((None, None), (None, None))
NAMES = ("engine_speed", "fuel_flow", "speed_over_ground", "trim")


def tables(
    frame: pd.DataFrame, instruments: dict[str, Instrument] | None = None, one_way: bool = False
) -> dict[str, SessionValues]:
    reduction = reduce_runs(frame, method="double_run", one_way=one_way)
    sessions = tuple(dict.fromkeys(frame["session"]))
    used = {name: MEASURES[name] for name in NAMES}
    return measured(reduction, used, instruments or {}, RPM, sessions)


@pytest.fixture
def frame() -> pd.DataFrame:
    both = [sweep(lambda minute: 0.8), sweep(lambda minute: 0.3, (8.4, 12.6, 16.8), session="S2")]
    whole = pd.concat(both, ignore_index=True)
    whole["fuel_flow"] = whole["set_point"] / 100
    whole["engine_speed"] = whole["set_point"] + 10
    return whole


def test_speed_comes_first_and_is_called_speed(frame: pd.DataFrame) -> None:
    found = tables(frame)
    assert list(found) == ["speed", "engine_speed", "fuel_flow"]  # trim is declared, and absent
    speed = found["speed"]
    assert speed.sessions == ("S1", "S2")
    assert speed.labels == ("1000 rpm", "2000 rpm", "3000 rpm")
    assert_allclose(speed.values, [[8.0, 12.0, 16.0], [8.4, 12.6, 16.8]], atol=1e-9)
    assert (speed.double_runs == 2).all()


def test_a_set_point_that_a_session_lacks_is_missing(frame: pd.DataFrame) -> None:
    short = frame[(frame["session"] != "S2") | (frame["set_point"] != 2000)]
    speed = tables(short)["speed"]
    assert np.isnan(speed.values).tolist() == [[False] * 3, [False, True, False]]
    assert speed.double_runs[1, 1] == 0
    assert np.isnan(speed.run_variance[1, 1])


def test_one_way_speed_is_there_and_cannot_be_compared(frame: pd.DataFrame) -> None:
    found = tables(frame, one_way=True)
    assert found["speed"].untestable == ONE_WAY
    assert found["fuel_flow"].untestable == ""
    economy = derived(found, NOTHING, RPM)["economy"]
    assert economy.untestable == ONE_WAY


def test_label_of_a_plain_number() -> None:
    assert SweepAxis("tip_speed", "1").label(2.5) == "2.5"
    assert SweepAxis("engine_speed", "rpm").label(2500.0) == "2500 rpm"


# --- instruments ---------------------------------------------------------------------------------


def test_a_shared_instrument_cancels(frame: pd.DataFrame) -> None:
    shared = {"fuel_flow": Instrument("L/h", relative=0.01, shared=True)}
    assert (tables(frame, shared)["fuel_flow"].instrument_variance == 0).all()


def test_an_instrument_of_each_configuration_is_added_twice(frame: pd.DataFrame) -> None:
    apart = {
        "fuel_flow": Instrument("L/h", relative=0.01, shared=False),
        "speed_over_ground": Instrument("kn", absolute=0.05, shared=False),
    }
    found = tables(frame, apart)
    assert_allclose(found["fuel_flow"].instrument_variance, [2 * 0.01**2] * 3)
    level = np.array([8.2, 12.3, 16.4])
    assert_allclose(found["speed"].instrument_variance, 2 * (0.05 / level) ** 2, rtol=1e-9)
    economy = derived(found, NOTHING, RPM)["economy"]
    both = found["fuel_flow"].instrument_variance + found["speed"].instrument_variance
    assert_allclose(economy.instrument_variance, both)


def test_on_the_scale_of_differences_an_instrument_is_in_the_unit(frame: pd.DataFrame) -> None:
    frame["trim"] = 2.0
    found = tables(frame, {"trim": Instrument("deg", absolute=0.1, relative=0.02, shared=False)})
    assert_allclose(found["trim"].instrument_variance, [2 * (0.1**2 + 0.04**2)] * 3)


# --- run noise -----------------------------------------------------------------------------------


def many(column: str, noise: float, relative: bool) -> SessionValues:
    """Sixty sessions whose runs err by a known amount in one column."""
    rng = np.random.default_rng(6)
    each = [sweep(lambda minute: 0.8, session=f"S{i}") for i in range(60)]
    whole = pd.concat(each, ignore_index=True)
    whole["fuel_flow"] = whole["set_point"] / 100
    size = whole[column] if relative else 1.0
    whole[column] = whole[column] + size * rng.normal(0, noise, len(whole))
    return tables(whole)["speed" if column == "speed_over_ground" else column]


# 60 degrees of freedom at each set point: 18 % of a variance is one standard error; pooling steadies
# it and never lowers it.
def test_run_noise_comes_from_the_double_runs() -> None:
    """Run noise 0.1 kn, a value from four runs: variance 0.0025, at 8 kn as at 16."""
    speed = many("speed_over_ground", 0.1, relative=False)
    assert_allclose(speed.run_variance.mean(axis=0), 0.0025, rtol=0.4)
    assert np.ptp(speed.run_variance, axis=0) == pytest.approx(0.0, abs=1e-15)


def test_flows_are_as_noisy_as_they_are_large() -> None:
    flow = many("fuel_flow", 0.02, relative=True)
    assert_allclose((flow.run_variance / flow.values**2).mean(axis=0), 0.0001, rtol=0.4)


# --- derived -------------------------------------------------------------------------------------

FITTED = Fitted((0.5, 0.6), (2.0, 2.0))


def speeds(**more: object) -> dict[str, SessionValues]:
    speed = table([[8.0, 12.0], [8.4, 12.6]], run_variance=np.full((2, 2), 0.0064))
    return {"speed": speed, **more}  # type: ignore[dict-item]


def test_advance_from_the_measured_engine_speed() -> None:
    turns = table([[1010.0, 2000.0], [1000.0, 1990.0]], quantity="engine_speed", unit="rpm")
    found = derived(speeds(engine_speed=turns), FITTED, RPM)
    metres = np.array([[8.0, 12.0], [8.4, 12.6]]) * 1852 / 60
    assert_allclose(found["advance"].values, metres / (turns.values / 2.0), rtol=1e-12)
    pitch = np.array([[0.5], [0.6]])
    assert_allclose(found["slip"].values, 1 - found["advance"].values / pitch, rtol=1e-12)
    assert found["slip"].scale == "difference"
    # What is subtracted from one and divided by the pitch: so is its standard deviation.
    assert (found["advance"].run_variance > 0).all()
    assert_allclose(found["slip"].run_variance, found["advance"].run_variance / pitch**2)


def test_advance_from_the_set_points_where_engine_speed_is_held() -> None:
    found = derived(speeds(), FITTED, RPM)
    assert_allclose(found["advance"].values[0, 0], 8.0 * 1852 / 60 / 500)


def test_nothing_turns_where_neither_is_known() -> None:
    assert derived(speeds(), FITTED, SweepAxis("throttle", "%")) == {}


@pytest.mark.parametrize(
    ("fitted", "expected"),
    [
        (Fitted((0.5, 0.5), (2.0, None)), set()),
        (Fitted((0.5, None), (2.0, 2.0)), {"advance"}),
        (FITTED, {"advance", "slip"}),
    ],
)
def test_what_is_not_declared_for_both_is_not_derived(fitted: Fitted, expected: set[str]) -> None:
    assert set(derived(speeds(), fitted, RPM)) == expected


def test_without_speed_nothing_is_derived() -> None:
    flow = table([[10.0]], quantity="fuel_flow", unit="L/h")
    assert derived({"fuel_flow": flow}, FITTED, RPM) == {}


def test_economy_in_any_units_and_its_run_noise() -> None:
    flow = table(
        [[10.0, 0.0], [np.nan, 20.0]],
        quantity="fuel_flow",
        unit="gal/h",
        run_variance=np.full((2, 2), 0.01),
        double_runs=np.array([[2, 2], [0, 3]]),
    )
    speed = replace(speeds()["speed"], unit="m/s")
    found = derived(
        {"speed": speed, "fuel_flow": flow},
        NOTHING,
        RPM,
    )
    economy = found["economy"]
    knots = 8.0 * 3600 / 1852
    assert economy.values[0, 0] == pytest.approx(knots / (10 * 3.785411784), rel=1e-9)
    assert np.isnan(economy.values[[0, 1], [1, 0]]).all()  # no flow, and an unknown one
    assert economy.double_runs.tolist() == [[2, 0], [0, 3]]
    relative = economy.run_variance[0, 0] / economy.values[0, 0] ** 2
    assert relative == pytest.approx(0.0064 / 64 + 0.01 / 100, rel=1e-9)


def test_what_is_known_of_the_parts_adds_up_with_the_square_of_their_powers() -> None:
    """As relative variances of a product do: GUM (JCGM 100:2008), 5.1.6."""
    from slackwater.analysis.quantities.derived import _sum_known
    from slackwater.protocol.catalogue.measures import Recipe

    known = {"speed": np.array([1.0, 4.0]), "fuel_flow": np.array([2.0, 0.5]), "depth": None}
    chosen = Recipe({"speed": 2.0, "fuel_flow": -1.0, "depth": 1.0})
    total = _sum_known({name: name for name in known}, chosen, known.get)  # type: ignore[misc, arg-type]
    assert_allclose(total, [4 * 1.0 + 2.0, 4 * 4.0 + 0.5])
    assert _sum_known({"depth": "depth"}, chosen, known.get) is None  # type: ignore[dict-item, arg-type]
