"""Which places on different boats are the same, and what each trial shows there.

A set point of one boat need not be that of another. Places are matched by the set point or speed
itself, by Froude number, by the part of the baseline's top speed, or as they are declared. Between
two of a trial's positions its change is read on the straight line between them, with the standard
error of fully dependent neighbours, which is never too small; beyond its ends nothing is read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

import numpy as np

from slackwater.analysis.many.outcome import Change
from slackwater.protocol.units.quantity import Quantity
from slackwater.protocol.units.units import convert, same_dimension

GRAVITY = 9.80665  # [m/s^2]
MOST_PLACES = 6
LEAST_BOATS = 3

_SAME = 1e-6  # parts by which two positions that are written alike may differ
_STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5)


@dataclass(frozen=True, slots=True)
class Placed:
    """What a trial shows at a place of the pool, on the scale of the analysis.

    Attributes
    ----------
    value, standard_error : float
        [1 or unit]
    df : float
        [1]
    """

    value: float
    standard_error: float
    df: float


@dataclass(frozen=True, slots=True)
class Place:
    """A place that the boats are compared at.

    Attributes
    ----------
    label : str
    position : float or None
    shown : tuple of Placed or None
        One for each trial; None where it shows nothing there.
    """

    label: str
    position: float | None
    shown: tuple[Placed | None, ...]


Sweep = Sequence[Change]


def froude_number(speed: float, length: float) -> float:
    """Of a speed [m/s] and a waterline's length [m]. [1]"""
    return speed / sqrt(GRAVITY * length)


def whole_sweep(sweeps: Sequence[Sweep]) -> list[Place]:
    """The one place of a figure of the whole sweep."""
    label = next((sweep[0].at for sweep in sweeps if sweep), "")
    return [Place(label, None, tuple(_placed(sweep[0]) if sweep else None for sweep in sweeps))]


def by_position(sweeps: Sequence[Sweep]) -> list[Place]:
    """Places that bear the same set point or speed, in the unit of the first trial.

    Parameters
    ----------
    sweeps : sequence of sequences of Change
        The changes of each trial in one quantity; empty where it has none.
    """
    unit = next((sweep[0].axis_unit for sweep in sweeps if sweep), "")
    found: list[tuple[float, str, dict[int, Change]]] = []
    for number, sweep in enumerate(sweeps):
        for change in sweep:
            if change.position is None or not same_dimension(change.axis_unit, unit):
                continue
            position = convert(change.position, change.axis_unit, unit)
            for known, _, mine in found:
                if abs(known - position) <= _SAME * max(abs(known), abs(position)):
                    mine.setdefault(number, change)
                    break
            else:
                found.append((position, change.at, {number: change}))
    return [
        Place(label, position, _of_trials(mine, len(sweeps)))
        for position, label, mine in sorted(found, key=lambda each: each[0])
    ]


def by_declaration(
    sweeps: Sequence[Sweep], names: Sequence[str], positions: Mapping[str, Mapping[str, Quantity]]
) -> list[Place]:
    """Places that are declared, trial by trial.

    Parameters
    ----------
    sweeps, names : sequences of one length
        The changes and the id of each trial.
    positions : mapping
        Of each place's name: where it is, by id of the trial.
    """
    places = []
    for label, of_trial in positions.items():
        mine = {
            number: change
            for number, (sweep, name) in enumerate(zip(sweeps, names, strict=True))
            if name in of_trial and (change := _at(sweep, of_trial[name])) is not None
        }
        if mine:
            places.append(Place(label, None, _of_trials(mine, len(sweeps))))
    return places


def _at(sweep: Sweep, wanted: Quantity) -> Change | None:
    for change in sweep:
        if change.position is None or not same_dimension(change.axis_unit, wanted.unit):
            continue
        position = convert(change.position, change.axis_unit, wanted.unit)
        if abs(position - wanted.value) <= _SAME * max(abs(position), abs(wanted.value)):
            return change
    return None


def by_measure(
    sweeps: Sequence[Sweep],
    scales: Sequence[float | None],
    wanted: Sequence[float],
    label: Callable[[float], str],
) -> list[Place]:
    """Places at which a measure of the speed is the same on all boats.

    Parameters
    ----------
    sweeps : sequence of sequences of Change
    scales : sequence of float or None
        What the speed in m/s is multiplied with for each trial; None where it cannot be told.
    wanted : sequence of float
        Values of the measure; round ones that the boats share when empty.
    label : callable
        A value as text.
    """
    curves = [_curve(sweep, scale) for sweep, scale in zip(sweeps, scales, strict=True)]
    return [
        Place(label(value), value, tuple(_read(curve, value) for curve in curves))
        for value in (wanted or _round_values([[x for x, _ in curve] for curve in curves]))
    ]


def _curve(sweep: Sweep, scale: float | None) -> list[tuple[float, Change]]:
    """The changes of a trial over the measure, from its lowest value on."""
    if scale is None:
        return []
    told = [(change.speed * scale, change) for change in sweep if change.speed is not None]
    return sorted(told, key=lambda each: each[0])


def _read(curve: Sequence[tuple[float, Change]], value: float) -> Placed | None:
    for x, change in curve:
        if abs(x - value) <= _SAME * value:
            return _placed(change)
    for (left, one), (right, other) in pairwise(curve):
        if left < value < right:
            below, above = _placed(one), _placed(other)
            if below is None or above is None:
                return None
            part = (value - left) / (right - left)
            return Placed(
                (1 - part) * below.value + part * above.value,
                (1 - part) * below.standard_error + part * above.standard_error,
                min(below.df, above.df),
            )
    return None


def _round_values(measures: Sequence[Sequence[float]]) -> list[float]:
    """Round values that enough boats reach, few enough to be judged together."""
    spans = [(min(each), max(each)) for each in measures if len(each) > 1]
    if not spans:
        return []
    enough = min(LEAST_BOATS, len(spans))
    for step in _STEPS:
        first, last = min(low for low, _ in spans), max(high for _, high in spans)
        values = np.arange(np.ceil(first / step), np.floor(last / step) + 1) * step
        shared = [
            round(float(v), 9)
            for v in values
            if sum(low <= v <= high for low, high in spans) >= enough
        ]
        if len(shared) <= MOST_PLACES:
            return shared
    return []


def _of_trials(mine: Mapping[int, Change], trials: int) -> tuple[Placed | None, ...]:
    return tuple(_placed(mine[number]) if number in mine else None for number in range(trials))


def _placed(change: Change) -> Placed | None:
    if change.value is None or change.standard_error is None or change.df is None:
        return None
    return Placed(change.value, change.standard_error, change.df)
