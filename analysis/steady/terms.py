"""What runs are cut by: the protocol's set points, times and tolerances."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from slackwater.protocol.schedule.run_limits import hold_band

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol


@dataclass(frozen=True, slots=True)
class PlannedLeg:
    """One run of the plan: set point [unit of the terms], number of its double run, direction or ""."""

    set_point: float
    double_run: int
    direction: str


@dataclass(frozen=True, slots=True)
class CutTerms:
    """What a protocol asks of a run.

    Parameters
    ----------
    held : str
        The quantity that is held at the set points.
    unit : str
        Of the set points.
    set_points : tuple of float
        [unit]
    bands : tuple of (float, float)
        What the mean of each may lie between, by the protocol's `hold`. [unit]
    settle, record : float
        [s]
    within : float
        How far the courses of a double run may be from opposite. [deg]
    double_runs : int
        Per set point and session.
    reciprocal : bool
        Whether runs go both ways.
    measures : tuple of (str, str, str)
        What is read on a run, its working unit, and how the readings of several engines combine.
    """

    held: str
    unit: str
    set_points: tuple[float, ...]
    bands: tuple[tuple[float, float], ...]
    settle: float = 20.0
    record: float = 60.0
    within: float = 15.0
    double_runs: int = 3
    reciprocal: bool = True
    measures: tuple[tuple[str, str, str], ...] = (("speed_over_ground", "kn", "mean"),)

    @classmethod
    def of(cls, protocol: Protocol) -> CutTerms:
        """The terms that a protocol declares."""
        runs, unit = protocol.runs, protocol.set_point_unit
        points = protocol.set_point_values
        return cls(
            held=protocol.set_point_measure,
            unit=unit,
            set_points=points,
            bands=tuple(hold_band(point, unit, runs.set_points.hold) for point in points),
            settle=runs.steady.settle.to("s").value,
            record=runs.steady.record.to("s").value,
            within=runs.reciprocal_within.to("deg").value,
            double_runs=runs.double_runs,
            reciprocal=runs.directions == "reciprocal",
            measures=tuple(
                (name, measure.unit, measure.combine)
                for name, measure in ((n, protocol.measure(n)) for n in protocol.measures)
            ),
        )

    def parameters(self) -> dict[str, Any]:
        """What runs are cut by, as a provenance has it."""
        return {
            "held": self.held,
            "unit": self.unit,
            "set_points": [
                {"value": float(point), "low": float(low), "high": float(high)}
                for point, (low, high) in zip(self.set_points, self.bands, strict=True)
            ],
            "settle": float(self.settle),
            "record": float(self.record),
            "reciprocal_within": float(self.within),
        }

    def planned_runs(self) -> list[PlannedLeg]:
        """Every run of a session, in no order that means anything."""
        ways = ("out", "back") if self.reciprocal else ("",)
        return [
            PlannedLeg(point, number, way)
            for point in self.set_points
            for number in range(1, self.double_runs + 1)
            for way in ways
        ]
