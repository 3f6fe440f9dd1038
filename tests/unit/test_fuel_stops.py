"""Where a schedule fills up, so that the displacement stays within its tolerance."""

from __future__ import annotations

from datetime import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented_protocols import protocol

from slackwater.protocol.declared.limits import Limit
from slackwater.protocol.schedule.fuel_stops import Fuel, FuelError, allowance
from slackwater.protocol.schedule.making import make_schedule
from slackwater.protocol.schedule.planned import Circumstances
from slackwater.protocol.units.quantity import Quantity

ALL_DAY = Circumstances(opens=time(0, 0), closes=time(23, 59))


@given(
    st.lists(st.floats(1, 60), min_size=3, max_size=3),
    st.floats(1, 60),
    st.sampled_from(["none", "day"]),
)
def test_never_more_burned_than_allowed_between_fillings(
    flows: list[float], allowed: float, block: str
) -> None:
    declared = protocol(points=("1000 rpm", "2000 rpm", "3000 rpm"), block=block)
    fuel = Fuel(tuple(flows), allowed, "an invented limit")
    schedule = make_schedule(declared, 5, ALL_DAY, fuel=fuel)
    each = (2 * 140) / 3600  # h on the course for a double run: 20 + 60 + 60 s, both ways
    biggest = max(flows) * each
    gone = 0.0
    for session in schedule.sessions:
        if session.fill_before:
            assert session.fill_before == pytest.approx(gone)
            gone = 0.0
        for run in session.runs:
            if run.fill_before:
                assert run.fill_before == pytest.approx(gone)
                assert run.number % 2 == 1  # never between the two runs of a double run
                gone = 0.0
            gone += flows[declared.set_point_values.index(run.set_point)] * each / 2
            assert gone <= max(allowed, biggest) * (1 + 1e-9)
    noted = " ".join(schedule.notes)
    assert ("more than" in noted) == (biggest > allowed)


def test_no_fuel_no_stops() -> None:
    schedule = make_schedule(protocol(), 1)
    assert all(not s.fill_before and s.fuel is None for s in schedule.sessions)


# 1 % of 8400 kg is 84 kg, and 84 kg at 0.84 kg/L are 100 L; 60 % of 150 L are 90 L. [by hand]
@pytest.mark.parametrize(
    ("capacity", "litres", "because"),
    [
        (None, 100.0, "displacement within 1 %, at 0.84 kg/L (assumed)"),
        (150.0, 90.0, "fuel between"),
    ],
)
def test_the_allowance(capacity: float | None, litres: float, because: str) -> None:
    loading = {
        "displacement": Limit(within=Quantity(1.0, "%")),
        "fuel": Limit(between=(Quantity(40.0, "%"), Quantity(100.0, "%"))),
    }
    tank = None if capacity is None else Quantity(capacity, "L")
    found, why = allowance(loading, Quantity(8.4, "t"), tank, None)
    assert found == pytest.approx(litres)
    assert why.startswith(because)


def test_the_allowance_needs_the_displacement() -> None:
    with pytest.raises(FuelError, match="displacement is not known"):
        allowance({"displacement": Limit(within=Quantity(1.0, "%"))}, None, None, None)
    assert allowance({}, None, None, None) == (None, "")
