"""What `check` asks of a single run, as data: spans that a value has to lie in, under the rules' own ids.

The page that is taken aboard carries these, so that the crew hear on the course what `check` would
say ashore. Nothing is refused there: whether a run is repeated is theirs to decide.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from slackwater.protocol.declared.manoeuvres import kind_of
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.rules._breaches import unit_of
from slackwater.protocol.schedule.run_limits import SHORTEST, STRAY, hold_band
from slackwater.protocol.units.possible import possible_in, smallest_in
from slackwater.protocol.units.quantity import (
    QuantityError,
    conversion,
    convert,
    same_dimension,
    show_number,
)

#: Of each rule: whether `check` reads no further in a cell that breaks it.
STOPS = (
    "heading-range",
    "duration-short",
    "cell-not-positive",
    "value-not-positive",
    "cell-impossible",
)


@dataclass(frozen=True, slots=True)
class RunTest:
    """A span that one value of a run has to lie in.

    Parameters
    ----------
    rule : str
        The id under which `check` tells of it.
    of : str
        A measure, "duration" or "heading".
    unit : str
        That of the span.
    low, high : float or None
        The ends, both included; None for an open end. [unit]
    least : float
        What is smaller than this and not nought is out as well. [unit]
    above_zero : bool
        Nought and below are out.
    at : float or None
        The set point that it holds at; None for all of them.
    slope, offset : float
        Value in `unit` = slope · working value + offset.
    said : str
        The span in words, as the declared limits have it.
    """

    rule: str
    of: str
    unit: str
    low: float | None = None
    high: float | None = None
    least: float = 0.0
    above_zero: bool = False
    at: float | None = None
    slope: float = 1.0
    offset: float = 0.0
    said: str = ""

    @property
    def stops(self) -> bool:
        """Whether nothing further is asked of a value that is out."""
        return self.rule in STOPS

    def holds(self, value: float) -> bool:
        """Whether a working value lies in the span."""
        found = value if (self.slope, self.offset) == (1.0, 0.0) else self._in_unit(value)
        if self.above_zero and not found > 0:
            return False
        if self.low is not None and found < self.low:
            return False
        if self.high is not None and found > self.high:
            return False
        return found == 0 or abs(found) >= self.least

    def _in_unit(self, value: float) -> float:
        return self.slope * value + self.offset


def asked_of(protocol: Protocol) -> tuple[RunTest, ...]:
    """Every test that a protocol asks of the values of a run, in the order in which they are put."""
    record = protocol.runs.steady.record.to("s").value
    found = [
        RunTest("heading-range", "heading", "deg", 0.0, 360.0, said="0 to 360 deg"),
        RunTest("duration-short", "duration", "s", SHORTEST, said=f"at least {SHORTEST:g} s"),
        _possible("duration", "s"),
        RunTest(
            "run-too-short",
            "duration",
            "s",
            record * (1 - STRAY),
            said=f"at least {show_number(record)} s",
        ),
    ]
    for name in protocol.measures:
        measure = protocol.measure(name)
        if measure.scale != "difference":
            found.append(
                RunTest("cell-not-positive", name, measure.unit, above_zero=True, said="above 0")
            )
        found.append(_possible(name, measure.unit))
    return (*found, *_limited(protocol), *_held(protocol))


def asked_of_tries(protocol: Protocol) -> tuple[RunTest, ...]:
    """Every test that a protocol asks of the values of a try, by the same table of what is possible."""
    found: list[RunTest] = []
    for manoeuvre in protocol.manoeuvres.values():
        for name, measure in manoeuvre.measures.items():
            if measure.scale == "ratio":
                found.append(
                    RunTest(
                        "value-not-positive", name, measure.unit, above_zero=True, said="above 0"
                    )
                )
            kind = kind_of(name, manoeuvre.values[name])
            found.append(_possible(name, measure.unit, "" if kind is None else kind.name))
    return tuple(found)


def _possible(name: str, unit: str, of: str | None = None) -> RunTest:
    low, high = possible_in(unit, name if of is None else of)
    said = f"{_round(low)} to {_round(high)} {unit}".removesuffix(" 1")
    return RunTest("cell-impossible", name, unit, low, high, smallest_in(unit), said=said)


def _limited(protocol: Protocol) -> Iterator[RunTest]:
    """Limits on the day or the loading that are read on every run."""
    for name, limit in protocol.limits.items():
        if name not in protocol.measures or limit.compares:
            continue
        own = protocol.measure(name).unit
        unit = unit_of(limit, own)
        if not same_dimension(own, unit):  # a limit of another kind than the measure
            continue
        low = limit.at_least or (limit.between[0] if limit.between else None)
        high = limit.at_most or (limit.between[1] if limit.between else None)
        slope, offset = _line(own, unit)
        yield RunTest(
            "run-outside-limit",
            name,
            unit,
            None if low is None else _eased(low.to(unit).value, -1),
            None if high is None else _eased(high.to(unit).value, 1),
            slope=slope,
            offset=offset,
            said=str(limit),
        )


def _held(protocol: Protocol) -> Iterator[RunTest]:
    """The value held, at each set point."""
    name, unit = protocol.set_point_measure, protocol.set_point_unit
    if name not in protocol.measures:
        return
    slope, offset = _line(protocol.measure(name).unit, unit)
    for point in protocol.set_point_values:
        low, high = hold_band(point, unit, protocol.runs.set_points.hold)
        yield RunTest(
            "set-point-not-held",
            name,
            unit,
            low - STRAY * abs(point),
            high + STRAY * abs(point),
            at=point,
            slope=slope,
            offset=offset,
            said=f"{show_number(low)} to {show_number(high)} {unit}",
        )


def broken(
    tests: tuple[RunTest, ...], set_point: float, values: Mapping[str, float], set_aside: str = ""
) -> list[tuple[str, str]]:
    """The rules that a run breaks, each with what it is about; none for a run that is set aside.

    Parameters
    ----------
    set_point : float
        [unit of the set points]
    values : mapping
        Readings, duration and heading as far as they were noted. [working units]
    """
    if set_aside:
        return []
    found: list[tuple[str, str]] = []
    stopped: set[str] = set()
    for test in tests:
        value = values.get(test.of, math.nan)
        if test.of in stopped or not math.isfinite(value) or test.at not in (None, set_point):
            continue
        if not test.holds(value):
            found.append((test.rule, test.of))
            if test.stops:
                stopped.add(test.of)
    return found


def _line(own: str, unit: str) -> tuple[float, float]:
    """Slope and offset from one unit to another; temperatures have their zeros apart."""
    try:
        return conversion(own, unit), 0.0
    except QuantityError:
        offset = convert(0.0, own, unit)
        return convert(1.0, own, unit) - offset, offset


def _eased(bound: float, way: int) -> float:
    """A bound with what arithmetic in binary may add to a value that sits on it."""
    return bound + way * STRAY * max(abs(bound), 1e-12)


def _round(value: float) -> str:
    return f"{value:.4g}" if abs(value) < 1e5 else f"{value:.3g}"
