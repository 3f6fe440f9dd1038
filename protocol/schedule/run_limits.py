"""The limits of a single run, and whether one run as made keeps them. No files are needed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.units.quantity import Quantity, show_number

STRAY = 1e-9  # of the limit; what arithmetic in binary may add to a value that sits on it


@dataclass(frozen=True, slots=True)
class RunLimits:
    """What the protocol asks of one run.

    Parameters
    ----------
    set_point, low, high : float
        The value to be held and how far it may stray. [unit]
    measure, unit : str
        What is held, and its unit.
    settle, record : float
        Time at the set point before recording, and time recorded. [s]
    measures : tuple of str
        What is to be read on the run.
    direction : str
        "out", "back", or "" where runs go one way.
    heading : float or None
        To be steered. [deg]
    heading_within : float
        How far from it a heading may be. [deg]
    """

    set_point: float
    low: float
    high: float
    measure: str
    unit: str
    settle: float
    record: float
    measures: tuple[str, ...] = ()
    direction: str = ""
    heading: float | None = None
    heading_within: float = 180.0

    @property
    def band(self) -> str:
        """The two limits as they are printed: "1980 to 2020 rpm"."""
        return f"{show_number(self.low)} to {show_number(self.high)} {self.unit}"


@dataclass(frozen=True, slots=True)
class RunMade:
    """One run as it was made; what was not noted is None or absent.

    Parameters
    ----------
    values : mapping
        Readings by measure, in the working unit of each.
    duration : float or None
        Time recorded. [s]
    direction : str
    heading : float or None
        [deg]
    set_aside : str
        The reason, when the run is not to count.
    """

    values: Mapping[str, float] = field(default_factory=dict)
    duration: float | None = None
    direction: str = ""
    heading: float | None = None
    set_aside: str = ""


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


def limits_of(
    protocol: Protocol, set_point: float, direction: str = "", heading: float | None = None
) -> RunLimits:
    """The limits of one run under a protocol.

    Parameters
    ----------
    set_point : float
        [protocol.set_point_unit]
    direction : str
    heading : float, optional
        To be steered. [deg]
    """
    runs = protocol.runs
    low, high = hold_band(set_point, protocol.set_point_unit, runs.set_points.hold)
    return RunLimits(
        set_point=set_point,
        low=low,
        high=high,
        measure=protocol.set_point_measure,
        unit=protocol.set_point_unit,
        settle=runs.steady.settle.to("s").value,
        record=runs.steady.record.to("s").value,
        measures=tuple(protocol.measures),
        direction=direction,
        heading=heading,
        heading_within=runs.reciprocal_within.to("deg").value,
    )


def check_run(limits: RunLimits, made: RunMade) -> Iterator[Finding]:
    """What of one run is outside its limits, or was not noted.

    A run that is set aside has nothing to keep. Nothing is refused here: the crew decide whether
    to repeat the run while they are still on the course.
    """
    if made.set_aside:
        return
    yield from _readings(limits, made)
    held = made.values.get(limits.measure)
    if held is not None and math.isfinite(held):
        slack = STRAY * max(abs(limits.low), abs(limits.high))
        if not limits.low - slack <= held <= limits.high + slack:
            yield _warning(
                "set-point-not-held",
                f"held {show_number(held)} {limits.unit}; the limits are {limits.band}",
                "repeat the run, and set this one aside with the reason",
            )
    if made.duration is not None and made.duration < limits.record * (1 - STRAY):
        yield _warning(
            "record-too-short",
            f"recorded {made.duration:g} s; {limits.record:g} s are needed",
            "record for the whole time",
        )
    if made.direction and limits.direction and made.direction != limits.direction:
        yield _warning(
            "direction-not-as-planned",
            f"the run went {made.direction}; {limits.direction} was planned",
            f"make the run {limits.direction} next, so that the double run is whole",
        )
    elif made.heading is not None and limits.heading is not None:
        off = abs((made.heading - limits.heading + 180) % 360 - 180)
        if off > limits.heading_within:
            yield _warning(
                "heading-off",
                f"headed {made.heading:03.0f} deg, {off:.0f} deg off {limits.heading:03.0f}; "
                f"the limit is {limits.heading_within:g} deg",
                "steer the course, or keep to the other one in both directions",
            )


def _readings(limits: RunLimits, made: RunMade) -> Iterator[Finding]:
    lacking = [
        name for name in limits.measures if not math.isfinite(made.values.get(name, math.nan))
    ]
    if lacking:
        yield _warning(
            "reading-missing",
            f"nothing was noted of {', '.join(lacking)}",
            "note it while the run is still in mind, or repeat the run",
        )


def _warning(rule: str, message: str, fix: str) -> Finding:
    return Finding(rule, Severity.WARNING, message, fix, source="the protocol")
