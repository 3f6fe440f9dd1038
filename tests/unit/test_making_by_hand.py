"""Measured quantities laid out by hand: which table a measure gives, its run noise, its instrument."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from invented_runs import runs
from numpy.testing import assert_allclose

from slackwater.analysis.quantities.making import (
    ONE_WAY,
    Instrument,
    SweepAxis,
    instrument_of,
    measured,
)
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.reduction.reduction import reduce_runs
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.declared.protocol import Protocol

RPM = SweepAxis("engine_speed", "rpm")
NAN = np.nan


def frame(**columns: Any) -> pd.DataFrame:
    """Two sessions, one set point, two double runs each: 10 and 12 kn, then 20 kn twice; no current."""
    rows = [
        ("S1", 1000, 1, "out", 0, 10.0), ("S1", 1000, 1, "back", 3, 10.0),
        ("S1", 1000, 2, "out", 6, 12.0), ("S1", 1000, 2, "back", 9, 12.0),
        ("S2", 1000, 1, "out", 0, 20.0), ("S2", 1000, 1, "back", 3, 20.0),
        ("S2", 1000, 2, "out", 6, 20.0), ("S2", 1000, 2, "back", 9, 20.0),
    ]  # fmt: skip
    return runs(*rows, **columns)


def tables(
    made: pd.DataFrame, instruments: dict[str, Instrument] | None = None, *,
    method: str = "double_run", one_way: bool = False, sessions: tuple[str, ...] = ("S1", "S2"),
    **more: Any,
) -> dict[str, SessionValues]:  # fmt: skip
    reduction = reduce_runs(made, method=method, one_way=one_way)
    used = {name: measure for name, measure in MEASURES.items() if measure.kind == "measured"}
    return measured(reduction, used, instruments or {}, RPM, sessions, **more)


# --- run noise -----------------------------------------------------------------------------------


def test_a_speed_is_as_noisy_everywhere_in_its_unit() -> None:
    """Means of double runs 10, 12 | 20, 20: squares 2, twice for a single run, over 2 freedoms: 2 a run.

    A value is the mean of four runs: a quarter of it.
    """
    speed = tables(frame())["speed"]
    assert_allclose(speed.values, [[11.0], [20.0]])
    assert_allclose(speed.run_variance, [[0.5], [0.5]])
    assert speed.double_runs.tolist() == [[2], [2]]
    assert speed.instrument_variance.tolist() == [0.0]
    assert (speed.unit, speed.quantity, speed.labels) == ("kn", "speed", ("1000 rpm",))


def test_a_flow_is_as_noisy_as_it_is_large() -> None:
    """The squares are over the flow's own: 4 / 11 ** 2 over 2 freedoms, and a quarter of that a value."""
    flow = tables(frame(fuel_flow=frame()["speed_over_ground"]))["fuel_flow"]
    relative = 4 / 11**2 / 2 / 4
    assert_allclose(flow.run_variance, [[relative * 11**2], [relative * 20**2]])
    # What is compared by subtraction is as noisy everywhere, as a speed is.
    trim = tables(frame(trim=frame()["speed_over_ground"]))["trim"]
    assert_allclose(trim.run_variance, [[0.5], [0.5]])
    log = tables(frame(speed_through_water=frame()["speed_over_ground"]))["speed_through_water"]
    assert_allclose(log.run_variance, [[0.5], [0.5]])


def test_a_session_without_the_measure_has_no_value_there() -> None:
    flow = [10.0, 10.0, 12.0, 12.0, NAN, NAN, NAN, NAN]
    found = tables(frame(fuel_flow=flow), sessions=("S0", "S1", "S2"))["fuel_flow"]
    assert_allclose(found.values, [[NAN], [11.0], [NAN]])
    assert found.double_runs.tolist() == [[0], [2], [0]]
    assert np.isnan(found.run_variance[[0, 2]]).all()
    assert found.run_variance[1, 0] == pytest.approx(4 / 4)  # one freedom
    assert found.sessions == ("S0", "S1", "S2")


def test_one_double_run_tells_no_scatter_and_leaves_it_at_nought() -> None:
    found = tables(frame().iloc[[0, 1, 4, 5]])["speed"]
    assert found.run_variance.tolist() == [[0.0], [0.0]]
    assert found.double_runs.tolist() == [[1], [1]]


# --- which speed ---------------------------------------------------------------------------------


def test_the_speed_is_the_one_over_ground_unless_the_log_is_all_there_is() -> None:
    log = frame()["speed_over_ground"] + 1
    both = frame(speed_through_water=log)
    found = tables(both)
    assert list(found) == ["speed", "speed_through_water"]
    assert_allclose(found["speed"].values, [[11.0], [20.0]])
    assert_allclose(found["speed_through_water"].values, [[12.0], [21.0]])
    by_log = tables(both, by_log=True)
    assert list(by_log) == ["speed"]
    assert_allclose(by_log["speed"].values, [[12.0], [21.0]])
    alone = tables(both.drop(columns="speed_over_ground"))
    assert list(alone) == ["speed"]
    assert_allclose(alone["speed"].values, [[12.0], [21.0]])
    unheard = tables(frame(speed_through_water=NAN), by_log=True)
    assert list(unheard) == ["speed"]
    assert_allclose(unheard["speed"].values, [[11.0], [20.0]])
    neither = frame(fuel_flow=5.0).drop(columns="speed_over_ground")
    assert list(tables(neither)) == ["fuel_flow"]


def test_a_speed_over_ground_one_way_is_not_told_from_the_current() -> None:
    both = frame(speed_through_water=frame()["speed_over_ground"] + 1, fuel_flow=7.0)
    assert tables(both, one_way=True)["speed"].untestable == ONE_WAY
    assert_allclose(tables(both, one_way=True)["speed"].values, [[11.0], [20.0]])
    assert tables(both, one_way=True)["fuel_flow"].untestable == ""
    assert tables(both, one_way=True, by_log=True)["speed"].untestable == ""
    assert tables(both, method="none", one_way=True)["speed"].untestable == ""
    assert tables(both)["speed"].untestable == ""


def test_speed_is_first_whatever_comes_before_it() -> None:
    assert next(iter(tables(frame(engine_speed=1000.0, fuel_flow=7.0)))) == "speed"


def test_a_held_speed_is_a_comparison_at_equal_speed() -> None:
    assert SweepAxis("speed", "kn").is_speed
    assert SweepAxis("speed_over_ground", "kn").is_speed
    assert SweepAxis("speed_through_water", "kn").is_speed
    assert not RPM.is_speed


# --- figures of a run ----------------------------------------------------------------------------


def test_a_timed_mile_takes_the_instruments_of_distance_and_time() -> None:
    made = frame(timed_distance=1.0, elapsed_time=300.0, fuel_flow=7.0)
    apart = {
        "timed_distance": Instrument("nmi", absolute=0.01, shared=False, common=True),
        "elapsed_time": Instrument("s", absolute=3.0, shared=False, common=True),
        "fuel_flow": Instrument("L/h", relative=0.1, shared=False),
    }
    found = tables(made, apart, computed=("speed_over_ground",))
    assert list(found) == ["speed", "fuel_flow"]
    assert_allclose(found["speed"].instrument_variance, [2 * (0.01**2 + 0.01**2)])
    assert found["speed"].common_errors is True
    assert found["fuel_flow"].common_errors is False
    # One of them missing, or nothing computed: all stand as they are.
    short = tables(made.drop(columns="elapsed_time"), apart, computed=("speed_over_ground",))
    assert set(short) == {"speed", "timed_distance", "fuel_flow"}
    assert short["speed"].instrument_variance.tolist() == [0.0]
    plain = tables(made, apart)
    assert set(plain) == {"speed", "timed_distance", "elapsed_time", "fuel_flow"}
    # What nobody measured is passed over, and the next is still done.
    second = tables(made, apart, computed=("electric_power", "speed_over_ground"))
    assert list(second) == ["speed", "fuel_flow"]


def test_the_energy_of_a_run_takes_the_instrument_of_its_power() -> None:
    made = frame(electric_energy=2.0, electric_power=10.0)
    apart = {"electric_energy": Instrument("kWh", relative=0.03, shared=False)}
    found = tables(made, apart, computed=("electric_power",))
    assert set(found) == {"speed", "electric_power"}
    assert_allclose(found["electric_power"].instrument_variance, [2 * 0.03**2])
    assert found["electric_power"].common_errors is False


# --- instruments ---------------------------------------------------------------------------------


def test_what_an_instrument_adds_to_a_ratio() -> None:
    """Relative and absolute in quadrature, of two readings."""
    own = Instrument("L/h", relative=0.03, absolute=0.4, shared=False)
    assert_allclose(own.variance_of_ratio(np.array([10.0, -10.0])), 2 * (0.03**2 + 0.04**2))
    assert own.variance_of_ratio(np.array([0.0, NAN])).tolist() == [0.0, 0.0]
    one = Instrument("L/h", relative=0.03)
    assert one.variance_of_ratio(np.array([10.0])).tolist() == [0.0]


def test_an_instrument_is_read_at_the_mean_of_the_sessions() -> None:
    made = frame(fuel_flow=frame()["speed_over_ground"], trim=[2.0] * 4 + [4.0] * 4)
    apart = {
        "fuel_flow": Instrument("L/h", absolute=0.31, shared=False, common=True),
        "trim": Instrument("deg", relative=0.1, absolute=0.4, shared=False),
        "speed_over_ground": Instrument("kn", relative=0.1, absolute=0.4),
    }
    found = tables(made, apart)
    assert_allclose(found["fuel_flow"].instrument_variance, [2 * (0.31 / 15.5) ** 2])
    assert found["fuel_flow"].common_errors is True
    assert_allclose(found["trim"].instrument_variance, [2 * (0.3**2 + 0.4**2)])
    assert found["speed"].instrument_variance.tolist() == [0.0]


@pytest.mark.parametrize(
    ("declared", "relative", "absolute"),
    [("2 %", 0.02, 0.0), ("0.5 L/h", 0.0, 0.5), (None, 0.0, 0.0)],
)
def test_an_uncertainty_is_relative_or_in_the_unit(
    declared: str | None, relative: float, absolute: float
) -> None:
    flow: dict[str, Any] = {"unit": "L/h", "shared": False, "errors": "common"}
    if declared:
        flow["standard_uncertainty"] = declared
    protocol = Protocol.model_validate(
        {
            "protocol": "p",
            "runs": {"set_points": {"of": "engine_speed", "values": ["1000 rpm"]}},
            "measures": {
                "fuel_flow": flow,
                "throttle": {"unit": "%", "standard_uncertainty": "2 %"},
            },
        }
    )
    found = instrument_of(protocol, "fuel_flow")
    assert found == Instrument("L/h", relative, absolute, shared=False, common=True)
    # Of what is itself in per cent, per cent are its unit.
    assert instrument_of(protocol, "throttle").absolute == 2.0
    assert instrument_of(protocol, "throttle").relative == 0.0
    assert instrument_of(protocol, "throttle").common is False
    assert instrument_of(protocol, "speed_over_ground") == Instrument("kn")
