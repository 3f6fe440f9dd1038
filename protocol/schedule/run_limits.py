"""The limits of a single run. No files are needed."""

from __future__ import annotations

from dataclasses import dataclass

from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.units.quantity import Quantity, show_number

SHORTEST = 1.0  # [s]; below it a duration is a fraction of a day, not a run
STRAY = 1e-9  # of the limit; what arithmetic in binary may add to a value that sits on it


@dataclass(frozen=True, slots=True)
class RunLimits:
    """The value to be held during a run, and how far it may stray. [unit]"""

    set_point: float
    low: float
    high: float
    unit: str

    @property
    def band(self) -> str:
        """The two limits as they are printed: "1980 to 2020 rpm"."""
        return f"{show_number(self.low)} to {show_number(self.high)} {self.unit}"


def hold_band(set_point: float, unit: str, hold: Quantity) -> tuple[float, float]:
    """Lowest and highest value that still counts as held. [unit]

    Examples
    --------
    >>> hold_band(2000.0, "rpm", Quantity(1.0, "%"))
    (1980.0, 2020.0)
    """
    if hold.unit == "%" and unit != "%":
        stray = abs(set_point) * hold.value / 100
    else:
        like = {"degC": "delta_degC", "degF": "delta_degC"}.get(unit, unit)
        stray = hold.to(like).value
    # Ten digits, so that 1 % of 2000 rpm is 20 rpm and prints so.
    return float(f"{set_point - stray:.10g}"), float(f"{set_point + stray:.10g}")


def limits_of(protocol: Protocol, set_point: float) -> RunLimits:
    """The limits of a run at a set point under a protocol. [protocol.set_point_unit]"""
    unit = protocol.set_point_unit
    low, high = hold_band(set_point, unit, protocol.runs.set_points.hold)
    return RunLimits(set_point, low, high, unit)
