"""How strongly what a session shares shows along the sweep, as a protocol declares it.

Sea, load and fouling act on the whole session, but not everywhere alike: a planing hump can make them
several times as strong, and a receiver that is off by so many knots is off by more per cent at slow
speed. A loading that is declared takes that out of the comparison; relative strengths alone count.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.sweep.curves import shape_preserving_slopes
from slackwater.protocol.declared.protocol import Protocol

Array = NDArray[np.float64]

LEAST, MOST = 0.1, 10.0  # of the typical strength; what is beyond is taken to be that


def declared_loading(protocol: Protocol, table: SessionValues) -> Array | None:
    """The loading at each position, about one; None where it is even.

    Parameters
    ----------
    protocol : Protocol
        `even`, `constant` (as much in the quantity's unit everywhere), `slope` (as the curve over
        the axis is steep, for what shifts the boat along it), or a number for each set point.
    table : SessionValues
        At set points; figures read elsewhere have a loading of their own.
    """
    declared = protocol.analysis.loading.get(table.quantity)
    if declared is None or declared == "even" or table.kind != "set points":
        return None
    if isinstance(declared, str):
        return shape_of(declared, table)
    at = dict(zip(protocol.set_point_values, declared, strict=True))
    return about_one(np.array([at.get(float(p), np.nan) for p in table.positions]))


def shape_of(word: str, table: SessionValues) -> Array | None:
    """The loading that `constant` or `slope` gives at each set point, about one."""
    level = _mean(table)
    if word == "slope":
        return about_one(_slope(table, level))
    if table.scale == "difference":
        return np.ones(len(level))
    with np.errstate(divide="ignore"):
        return about_one(1 / np.abs(level))


def about_one(size: Array) -> Array | None:
    """Strengths over their geometric mean, within what is believed; None where none is known."""
    known = np.isfinite(size) & (size > 0)
    if not known.any():
        return None
    size = np.where(known, size, np.median(size[known]))
    return np.asarray(np.clip(size / np.exp(np.log(size).mean()), LEAST, MOST))


def _mean(table: SessionValues) -> Array:
    """Mean over the sessions, shape (positions,). [unit]"""
    seen = np.isfinite(table.values)
    total = np.where(seen, table.values, 0.0).sum(axis=0)
    return np.asarray(total / np.maximum(seen.sum(axis=0), 1))


def _slope(table: SessionValues, level: Array) -> Array:
    """How steeply the mean curve rises over the axis, as a fraction where ratios are compared."""
    x = table.positions
    if len(x) < 3 or not (np.diff(x) > 0).all():
        return np.full(len(x), np.nan)
    ratio = table.scale == "ratio" and (level > 0).all() and (x > 0).all()
    axis, value = (np.log(x), np.log(level)) if ratio else (x, level)
    return np.asarray(np.abs(shape_preserving_slopes(axis, value[None, :])[0]))
