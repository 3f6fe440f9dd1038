"""Limits on loading and conditions held against what a trial recorded."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.protocol.units.quantity import Quantity, QuantityError

if TYPE_CHECKING:
    from slackwater.protocol.declared.limits import Limit
    from slackwater.protocol.declared.trial import ComparisonPair, Session, Trial

_CLOSE = 1e-9  # of the value; a value at its limit keeps it
DIESEL = Quantity(0.84, "kg/L")  # middle of EN 590, 820 to 845 kg/m^3 at 15 degC


@dataclass(frozen=True, slots=True)
class Breach:
    """A limit that was broken.

    Parameters
    ----------
    name, group : str
        What is limited, under "loading" or "conditions".
    sessions : tuple of str
        Ids of the sessions concerned.
    text : str
        What was found and what was allowed.
    pair : tuple of two str, optional
        Baseline and modified, for a limit on their difference.
    """

    name: str
    group: str
    sessions: tuple[str, ...]
    text: str
    pair: tuple[str, str] | None = None


def groups(trial: Trial) -> Iterator[tuple[str, str, Limit]]:
    """Every limit of the protocol: its group, its name, itself."""
    for name, limit in trial.protocol.loading.items():
        yield "loading", name, limit
    for name, limit in trial.protocol.conditions.items():
        yield "conditions", name, limit


def recorded(trial: Trial, session: Session, name: str, unit: str) -> Quantity | None:
    """What a session recorded, in a unit; fuel goes over between volume, mass and part of capacity.

    None when it was not recorded, or cannot be brought to the unit.
    """
    value = session.value(name)
    if value is None:
        return None
    try:
        return value.to(unit)
    except QuantityError:
        return _fuel(trial, value, unit) if name == "fuel" else None


def _fuel(trial: Trial, value: Quantity, unit: str) -> Quantity | None:
    capacity, density = trial.boat.fuel_capacity, trial.boat.fuel_density or DIESEL
    per_litre = density.to("kg/L").value
    try:
        if value.unit == "%":
            litres = capacity.to("L").value * value.value / 100 if capacity else None
        else:
            litres = _litres(value, per_litre)
        if litres is None:
            return None
        if unit == "%":
            return Quantity(100 * litres / capacity.to("L").value, "%") if capacity else None
        try:
            return Quantity(litres, "L").to(unit)
        except QuantityError:
            return Quantity(litres * per_litre, "kg").to(unit)
    except QuantityError:
        return None


def _litres(value: Quantity, per_litre: float) -> float:
    try:
        return value.to("L").value
    except QuantityError:
        return value.to("kg").value / per_litre


def unit_of(limit: Limit, recorded_unit: str) -> str:
    """The unit in which values are held against a limit."""
    bound = limit.at_most or limit.at_least or (limit.between[0] if limit.between else None)
    if bound is not None:
        return bound.unit
    within = limit.within
    if within is None or within.unit == "%":
        return recorded_unit
    return within.unit.removeprefix("delta_")


def common_unit(trial: Trial, name: str, limit: Limit) -> str | None:
    """The unit for one condition throughout a trial; None when no session recorded it."""
    first = next((v for s in trial.sessions if (v := s.value(name)) is not None), None)
    return None if first is None else unit_of(limit, first.unit)


def outside(limit: Limit, value: Quantity) -> bool:
    """Whether a value breaks a bound; one at the bound, to rounding, does not."""
    slack = _CLOSE * max(abs(value.value), 1e-12)
    return not any(
        limit.holds(Quantity(value.value + shift, value.unit)) for shift in (0.0, slack, -slack)
    )


def session_breaches(trial: Trial) -> Iterator[Breach]:
    """Every value of a session outside its bound."""
    for group, name, limit in groups(trial):
        unit = common_unit(trial, name, limit)
        if unit is None or limit.compares:
            continue
        for session in trial.sessions:
            value = recorded(trial, session, name, unit)
            if value is not None and outside(limit, value):
                words = name.replace("_", " ")
                text = f"{words} {_shown(value)} in session {session.id}; the limit is {limit}"
                yield Breach(name, group, (session.id,), text)


def pair_breaches(trial: Trial) -> Iterator[Breach]:
    """Every difference between configurations larger than allowed."""
    for group, name, limit in groups(trial):
        unit = common_unit(trial, name, limit)
        if unit is None or not limit.compares:
            continue
        for pair in trial.comparisons:
            breach = _pair_breach(trial, pair, group, name, limit, unit)
            if breach is not None:
                yield breach


def _pair_breach(
    trial: Trial, pair: ComparisonPair, group: str, name: str, limit: Limit, unit: str
) -> Breach | None:
    sides: dict[str, list[float]] = {pair.baseline: [], pair.modified: []}
    sessions = []
    for session in trial.sessions:
        value = recorded(trial, session, name, unit)
        if session.configuration in sides and value is not None:
            sides[session.configuration].append(value.value)
            sessions.append(session.id)
    base, other = sides[pair.baseline], sides[pair.modified]
    if not base or not other:
        return None
    words, names = name.replace("_", " "), (pair.baseline, pair.modified)
    if limit.same:
        values = sorted({*base, *other})
        if values[-1] - values[0] <= _CLOSE * max(abs(values[-1]), 1e-12):
            return None
        told = ", ".join(str(Quantity(value, unit)) for value in values[:4])
        text = f"{words} is not the same in all sessions of {' and '.join(names)}: {told}"
        return Breach(name, group, tuple(sessions), text, names)
    low, high = sum(base) / len(base), sum(other) / len(other)
    allowed = allowance(limit, low, unit)
    if allowed is None or abs(high - low) <= allowed + _CLOSE * max(abs(low), abs(high)):
        return None
    text = (
        f"mean {words} is {_shown(Quantity(low, unit))} with {names[0]} and "
        f"{_shown(Quantity(high, unit))} with {names[1]}; the limit is {limit}"
    )
    return Breach(name, group, tuple(sessions), text, names)


def allowance(limit: Limit, baseline: float, unit: str) -> float | None:
    """The largest difference of means that a limit allows. [unit]"""
    within = limit.within
    if within is None:
        return None
    if within.unit == "%" and unit != "%":
        return abs(baseline) * within.value / 100
    if within.unit.startswith("delta_"):
        return within.to(f"delta_{unit}").value
    return within.to(unit).value


def _shown(value: Quantity) -> str:
    return str(Quantity(float(f"{value.value:.5g}"), value.unit))
