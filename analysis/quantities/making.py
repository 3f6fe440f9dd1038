"""Tables of session values for every quantity a trial can give.

Measured quantities come straight from the reduction. Derived ones are computed from session
values, within each session, so that they go through the same comparison as everything else.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues, errors_common
from slackwater.analysis.reduction.current import Cells
from slackwater.analysis.reduction.reduction import Reduction, reduce_measure
from slackwater.analysis.reduction.run_noise import pool_run_noise
from slackwater.protocol.catalogue.measures import MEASURES, Measure
from slackwater.protocol.catalogue.recipes import OF_A_RUN, SPEEDS
from slackwater.protocol.declared.protocol import Protocol

Array = NDArray[np.float64]

ONE_WAY = (
    "the runs went one way only, so speed through the water cannot be told from the current; "
    "run every set point in both directions"
)


@dataclass(frozen=True, slots=True)
class Instrument:
    """What a protocol declares of the instrument behind a measure.

    Attributes
    ----------
    unit : str
        Working unit of the measure.
    relative : float
        Standard uncertainty as a fraction of the reading. [1]
    absolute : float
        Standard uncertainty in the working unit.
    shared : bool
        One instrument served both configurations, so that its error cancels in a ratio.
    common : bool
        What does not cancel shifts all set points alike.
    """

    unit: str
    relative: float = 0.0
    absolute: float = 0.0
    shared: bool = True
    common: bool = False

    def variance_of_ratio(self, level: Array) -> Array:
        """Variance of the logarithm of a ratio of two readings at a level. [1]"""
        if self.shared:
            return np.zeros_like(level)
        with np.errstate(invalid="ignore", divide="ignore"):
            relative = np.hypot(self.relative, self.absolute / np.abs(level))
        return np.asarray(2 * np.nan_to_num(relative, posinf=0.0) ** 2)


@dataclass(frozen=True, slots=True)
class SweepAxis:
    """The set points of a sweep: which measure was held, and in which unit."""

    measure: str
    unit: str

    @property
    def is_speed(self) -> bool:
        """Whether a speed was held: every set point is a comparison at equal speed then."""
        return self.measure in ("speed", *SPEEDS)

    def label(self, position: float) -> str:
        """A position as text with its unit; a plain number has none."""
        return f"{position:g}" if self.unit == "1" else f"{position:g} {self.unit}"


def measured(
    reduction: Reduction,
    measures: Mapping[str, Measure],
    instruments: Mapping[str, Instrument],
    axis: SweepAxis,
    sessions: tuple[str, ...],
    *,
    by_log: bool = False,
    computed: Collection[str] = (),
) -> dict[str, SessionValues]:
    """Session values of speed and of every measure that the runs carry.

    Parameters
    ----------
    reduction : Reduction
    measures : mapping
        Every measure declared, by name, with its working unit.
    instruments : mapping
        By name of the measure.
    axis : SweepAxis
    sessions : tuple of str
        All sessions, in the order run.
    by_log : bool
        The speed is the log's wherever there is one.
    computed : collection of str
        Those of the measures that the figures of each run gave.

    Returns
    -------
    dict of SessionValues
        `speed` first. The measure that was held is among them, for what is derived from it.
    """
    used = reduction.frame
    present = [name for name in measures if name in used and not used[name].isna().all()]
    source = _speed_source(present, by_log=by_log)
    tables: dict[str, SessionValues] = {}
    for name in present:
        measure = measures[name]
        if name in SPEEDS and name != source and (by_log or name == "speed_over_ground"):
            continue  # the one speed through the water is the log's
        if name == source:
            speed = replace_measure(MEASURES["speed"], unit=measure.unit)
            cells, reason = reduction.speed, ""
            if name != "speed_over_ground":
                cells = reduce_measure(reduction, name)
            elif cells is None:
                cells, reason = reduce_measure(reduction, name), ONE_WAY
            table = _lay_out("speed", speed, cells, reduction, axis, sessions, absolute=True)
            table = replace(table, untestable=reason)
            tables["speed"] = _with_instrument(table, instruments.get(name))
            continue
        cells = reduce_measure(reduction, name)
        absolute = measure.unit == "kn" or measure.scale == "difference"
        table = _lay_out(name, measure, cells, reduction, axis, sessions, absolute=absolute)
        tables[name] = _with_instrument(table, instruments.get(name))
    return dict(sorted(_of_runs(tables, computed).items(), key=lambda item: item[0] != "speed"))


def _speed_source(present: Sequence[str], *, by_log: bool) -> str:
    """The measure that the speed through the water comes from; empty where there is none.

    A log is taken where it is all there is, and where the protocol declares that no current is to
    be taken out of the speed over ground.
    """
    log, ground = "speed_through_water" in present, "speed_over_ground" in present
    if log and (by_log or not ground):
        return "speed_through_water"
    return "speed_over_ground" if ground else ""


def _of_runs(
    tables: dict[str, SessionValues], computed: Collection[str]
) -> dict[str, SessionValues]:
    """Measures that each run's figures gave take the instruments of these, which are then done with."""
    for name in computed:
        parts = tuple(OF_A_RUN[name].parts)
        own = "speed" if name == "speed_over_ground" else name
        if own not in tables or not all(part in tables for part in parts):
            continue
        variance = sum((tables[part].instrument_variance for part in parts), 0.0)
        tables[own] = replace(
            tables[own],
            instrument_variance=np.asarray(variance),
            common_errors=errors_common(*(tables[part] for part in parts)),
        )
        for part in parts:
            del tables[part]
    return tables


def replace_measure(measure: Measure, *, unit: str) -> Measure:
    """The same measure in another working unit."""
    return replace(measure, unit=unit)


def _lay_out(
    name: str,
    measure: Measure,
    cells: Cells,
    reduction: Reduction,
    axis: SweepAxis,
    sessions: tuple[str, ...],
    *,
    absolute: bool,
) -> SessionValues:
    """Cells as a table of sessions by set points, with their run noise pooled."""
    points = sorted({point for _, point in reduction.cells})
    row = {session: i for i, session in enumerate(sessions)}
    column = {point: i for i, point in enumerate(points)}
    shape = (len(sessions), len(points))
    value, factor = np.full(shape, np.nan), np.full(shape, np.nan)
    scatter, df = np.zeros(shape), np.zeros(shape)
    doubles = np.zeros(shape, dtype=int)
    pairs = reduction.frame.groupby("cell")["pair"].nunique().to_numpy()
    for c, (session, point) in enumerate(reduction.cells):
        at = row[session], column[point]
        value[at], factor[at] = cells.value[c], cells.factor[c]
        scatter[at], df[at] = cells.scatter[c], cells.df[c]
        doubles[at] = pairs[c] if np.isfinite(cells.value[c]) else 0
    variance = _run_variance(value, scatter, df, absolute=absolute) * factor
    return SessionValues(
        quantity=name,
        unit=measure.unit,
        scale=measure.scale,
        better=measure.better,
        sessions=sessions,
        positions=np.array(points),
        labels=tuple(axis.label(point) for point in points),
        values=value,
        run_variance=np.where(np.isfinite(value), np.nan_to_num(variance), np.nan),
        double_runs=doubles,
        instrument_variance=np.zeros(len(points)),
    )


def _run_variance(value: Array, scatter: Array, df: Array, *, absolute: bool) -> Array:
    """Variance of one run at each value, pooled over sessions and steadied over set points.

    Receivers are as noisy at 8 kn as at 40, so speeds are pooled as they are; flows and powers
    are noisy in proportion, so they are pooled as fractions.
    """
    unit = np.ones_like(value) if absolute else np.where(np.isfinite(value), np.abs(value), np.nan)
    with np.errstate(invalid="ignore", divide="ignore"):
        total = np.nansum(scatter / unit**2, axis=0)
        freedom = df.sum(axis=0)
        own = np.where(freedom > 0, total / freedom, np.nan)
    pooled = pool_run_noise(own, freedom)
    return np.asarray(pooled * unit**2)


def _with_instrument(table: SessionValues, instrument: Instrument | None) -> SessionValues:
    if instrument is None or instrument.shared:
        return table
    level = _level(table.values)
    if table.scale == "difference":
        extra = 2 * ((instrument.relative * level) ** 2 + instrument.absolute**2)
    else:
        extra = instrument.variance_of_ratio(level)
    return replace(table, instrument_variance=np.nan_to_num(extra), common_errors=instrument.common)


def _level(values: Array) -> Array:
    count = np.isfinite(values).sum(axis=0)
    return np.where(count > 0, np.nansum(values, axis=0) / np.maximum(count, 1), np.nan)


def instrument_of(protocol: Protocol, name: str) -> Instrument:
    """What a protocol declares of the instrument behind a measure."""
    declared = protocol.measures.get(name)
    unit = protocol.measure(name).unit
    if declared is None:  # worked out from others, whose instruments count
        return Instrument(unit)
    uncertainty = declared.standard_uncertainty
    relative = absolute = 0.0
    if uncertainty is not None:
        if uncertainty.unit == "%" and unit != "%":
            relative = uncertainty.value / 100
        else:
            absolute = uncertainty.size_in(unit)
    return Instrument(unit, relative, absolute, declared.shared, common=declared.errors == "common")
