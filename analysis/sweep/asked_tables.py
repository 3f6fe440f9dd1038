"""What a trial asks of its sweeps, in the units of its tables, and the tables that answer it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.quantities.derived import Fitted
from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.sweep.duty import duty_tables
from slackwater.analysis.sweep.equal_speed import Target, equal_speed_tables, round_speeds
from slackwater.analysis.sweep.figures import best_economy, range_table, top_speed
from slackwater.analysis.sweep.planing import comes_near_planing, planing
from slackwater.protocol.declared.trial import Boat, Trial
from slackwater.protocol.units.quantity import Quantity, conversion

COMMON_RESERVE = 0.1  # common practice: a tenth of the fuel stays in the tank


@dataclass(frozen=True, slots=True)
class Usable:
    """The fuel that a range is reckoned with.

    Attributes
    ----------
    litres : float
        Capacity less reserve. [L]
    relative : float
        Standard uncertainty of it. [1]
    reserve : float
        [L]
    declared : bool
        The reserve was declared; else it is a tenth, by common practice.
    """

    litres: float
    relative: float
    reserve: float
    declared: bool


def usable_fuel(boat: Boat) -> Usable | None:
    """Fuel for a range; None where no capacity is declared, or nothing is left of it."""
    if boat.fuel_capacity is None:
        return None
    capacity = boat.fuel_capacity.to("L")
    kept = boat.fuel_reserve
    if kept is None:
        reserve = COMMON_RESERVE * capacity.value
    elif kept.unit == "%":
        reserve = kept.value / 100 * capacity.value
    else:
        reserve = kept.to("L").value
    if reserve >= capacity.value:
        return None
    left = capacity.value - reserve
    relative = (capacity.uncertainty or 0.0) / left
    return Usable(left, relative, reserve, kept is not None)


def target(speed: Quantity, unit: str) -> Target:
    """A declared speed as the tables read it."""
    return Target(speed.value, f"{speed.value:g} {speed.unit}", speed.to(unit).value)


def asked_speeds(trial: Trial, speed: SessionValues, fitted: Sequence[str]) -> tuple[Target, ...]:
    """Speeds of the protocol and of the trial; round ones where neither names any."""
    named = (*trial.protocol.analysis.speeds, *trial.speeds)
    found = {round(t.speed, 6): t for t in (target(one, speed.unit) for one in named)}
    if not found:
        baselines = {pair.baseline for pair in trial.comparisons}
        return round_speeds(speed, np.array([name in baselines for name in fitted]))
    return tuple(sorted(found.values(), key=lambda t: t.speed))


def cruise_of(trial: Trial, unit: str) -> tuple[float, float] | None:
    """Speeds between which the best economy is looked for, in a unit."""
    declared = trial.protocol.analysis.cruise or trial.cruise
    return None if declared is None else (declared[0].to(unit).value, declared[1].to(unit).value)


def sweep_tables(
    trial: Trial,
    tables: dict[str, SessionValues],
    axis: SweepAxis,
    fitted: Sequence[str],
    needs: Fitted,
    *,
    whole: bool = True,
) -> dict[str, SessionValues]:
    """Session values of everything that is asked of the sweep as a whole, by their keys.

    Without `whole` those at equal speed alone.

    Parameters
    ----------
    trial : Trial
    tables : dict of SessionValues
        At the set points.
    axis : SweepAxis
    fitted : sequence of str
        What was fitted in each session of the tables.
    needs : Fitted
        What derived quantities take besides measures, and which are asked for.
    """
    speed = tables.get("speed")
    if speed is None or speed.untestable or len(speed.positions) < 2:
        return {}
    confidence = trial.protocol.analysis.confidence.to("%").value / 100
    found: list[SessionValues] = []
    equal = equal_speed_tables(tables, axis, fitted, asked_speeds(trial, speed, fitted), needs)
    found += equal.values()
    usable = usable_fuel(trial.boat)
    # Where the set points are speeds they are the speeds compared at.
    economy = tables.get("economy") if axis.is_speed else equal.get("economy at equal speed")
    if usable is not None and economy is not None:
        found.append(range_table(economy, usable.litres, usable.relative))
    if not whole:
        return {table.key: table for table in found}
    if not axis.is_speed:  # else the fastest is the one that was asked for
        found.append(top_speed(speed, fitted))
    if "economy" in tables:
        cruise = cruise_of(trial, speed.unit)
        found += best_economy(speed, tables["economy"], fitted, cruise, confidence)
    length = boat_length(trial.boat)
    if axis.measure == "engine_speed" and comes_near_planing(speed, length):
        found += planing(speed, axis, fitted, confidence, tables.get("trim"), length)
    if trial.duty is not None and "fuel_flow" in tables:
        found += duty_tables(tables, fitted, _legs(trial, speed.unit), trial.duty.trips_per_year)
    return {table.key: table for table in found}


def boat_length(boat: Boat) -> float | None:
    """Length that the boat is known by. [m]"""
    length = boat.length_overall or boat.waterline_length
    return None if length is None else length.to("m").value


def _legs(trial: Trial, unit: str) -> list[tuple[Target, float]]:
    legs = []
    for leg in trial.duty.trip if trial.duty else ():
        at = target(leg.speed, unit)
        if leg.time is not None:
            hours = leg.time.to("h").value
        elif leg.distance is not None:
            hours = leg.distance.to("nmi").value / (at.speed * conversion(unit, "kn"))
        else:
            continue
        legs.append((at, hours))
    return legs
