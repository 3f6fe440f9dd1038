"""The limits of a single run, without any file."""

from __future__ import annotations

import pytest
from invented_protocols import protocol

from slackwater.protocol.schedule.run_limits import hold_band, limits_of
from slackwater.protocol.units.quantity import Quantity


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
    limits = limits_of(protocol(), 2000.0)
    assert (limits.low, limits.high, limits.unit) == (1980, 2020, "rpm")
    assert limits.band == "1980 to 2020 rpm"
