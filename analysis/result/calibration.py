"""What the calibration of the instruments leaves open of a value: it cancels in a change, not in a level."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.making import instrument_of
from slackwater.protocol.catalogue.recipes import SPEEDS, given, powers

if TYPE_CHECKING:
    from slackwater.analysis.quantities.session_values import SessionValues
    from slackwater.analysis.result.analysed import Analysed

Array = NDArray[np.float64]


def calibration(analysed: Analysed, values: SessionValues) -> Array:
    """Standard uncertainty of a quantity's level from its instruments.

    Parameters
    ----------
    analysed : Analysed
    values : SessionValues

    Returns
    -------
    ndarray, shape (positions,)
        On the scale "ratio" a fraction of the level: relative uncertainties of what a quantity is
        made of add in quadrature with their powers. On the scale "difference" in its unit. NaN where
        it is no product of powers, or is one figure of the whole sweep.
    """
    unknown = np.full(len(values.positions), np.nan)
    if values.kind == "whole sweep":
        return unknown
    if values.scale != "ratio":
        if values.quantity not in analysed.trial.protocol.measures:
            return unknown
        own = instrument_of(analysed.trial.protocol, values.quantity)
        level = _level(analysed, values, values.quantity)
        return np.asarray(np.hypot(own.relative * level, own.absolute))
    frame = analysed.reduction.frame
    have = given([name for name in analysed.trial.protocol.told if name in frame])
    total = np.zeros(len(values.positions))
    for name, power in powers(values.quantity, have).items():
        total += (power * _relative(analysed, values, name)) ** 2
    return np.asarray(np.sqrt(total))


def _relative(analysed: Analysed, values: SessionValues, name: str) -> Array:
    instrument = instrument_of(analysed.trial.protocol, name)
    level = _level(analysed, values, name)
    if not instrument.absolute:
        return np.full(len(values.positions), instrument.relative)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.hypot(instrument.relative, instrument.absolute / np.abs(level)))


def _level(analysed: Analysed, values: SessionValues, name: str) -> Array:
    """Mean over the sessions of a measure, where another quantity is told."""
    own = "speed" if name in SPEEDS else name
    if values.kind == "equal speed" and own == "speed":
        return values.positions
    tail = " at equal speed" if values.kind == "equal speed" else ""
    found = analysed.tables.get(f"{own}{tail}")
    if own == values.quantity:
        found = values
    if found is None or len(found.positions) != len(values.positions):
        return np.full(len(values.positions), np.nan)
    count = np.isfinite(found.values).sum(axis=0)
    total = np.nansum(found.values, axis=0)
    return np.asarray(np.where(count > 0, total / np.maximum(count, 1), np.nan))
