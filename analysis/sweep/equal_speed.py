"""Reading the sweeps at one speed: what each session does there, and how well that is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slackwater.analysis.quantities.derived import MAKERS, Fitted, product
from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.quantities.session_values import CurveErrors, SessionValues
from slackwater.analysis.sweep.curves import MIN_SET_POINTS, Curves, curves, spread
from slackwater.protocol.catalogue.measures import MEASURES, Measure

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Reading:
    """Session values read off the curves, shape (..., sessions, n) each.

    Attributes
    ----------
    values : ndarray
        NaN where a session does not reach.
    run_variance : ndarray
        From the runs.
    curve_variance : ndarray
        From reading between the set points; all sessions of a configuration share it.
    gap, signed : ndarray, shape (..., sessions, n) and (..., sessions, n, 4)
        The same with its sign, see `CurveErrors`.
    position : ndarray
        Where on the axis each session has the speed.
    gradient : ndarray, shape (..., 1, n)
        Change of the measure a unit change of log speed, along the mean of all curves.
    """

    values: Array
    run_variance: Array
    curve_variance: Array
    gap: NDArray[np.int_]
    signed: Array
    position: Array
    gradient: Array


@dataclass(frozen=True, slots=True)
class Sweeps:
    """The speed of every session over the set points, and what was fitted.

    Attributes
    ----------
    x : ndarray, shape (set_points,)
        The set points; their logarithms where all are above zero.
    speed : ndarray, shape (..., sessions, set_points)
        Logarithm of the speed.
    speed_variance : ndarray, shape (..., sessions, set_points)
        From the runs; of the logarithm.
    fitted : sequence of str, length sessions
    logarithmic : bool
        `x` are logarithms.
    """

    x: Array
    speed: Array
    speed_variance: Array
    fitted: Sequence[str]
    logarithmic: bool = True

    def mean(self, values: Array) -> Array:
        """Mean over the sessions of each configuration, laid out over the sessions again."""
        out = np.full(values.shape, np.nan)
        labels = np.array(self.fitted)
        for name in dict.fromkeys(self.fitted):
            mine = labels == name
            out[..., mine, :] = _mean(values[..., mine, :])
        return out

    def grand_mean(self, values: Array) -> Array:
        """Mean over the configurations, shape (..., 1, n)."""
        first = [list(self.fitted).index(name) for name in dict.fromkeys(self.fitted)]
        return _mean(self.mean(values)[..., first, :])

    def where(self, log_speed: ArrayLike) -> Array:
        """Lowest set point at which each session has a speed; NaN where it never has."""
        return curves(self.x, self.speed).crossing(log_speed)


def _mean(values: Array) -> Array:
    """Mean over axis -2, kept; NaN where nothing is known."""
    count = np.isfinite(values).sum(axis=-2, keepdims=True)
    total = np.nansum(values, axis=-2, keepdims=True)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def read(sweeps: Sweeps, measure: Array, variance: Array, log_speed: ArrayLike) -> Reading:
    """Read a measure off every session's curve where that session has a given speed.

    Parameters
    ----------
    sweeps : Sweeps
    measure, variance : ndarray, shape (..., sessions, set_points)
        Session values of the measure on the scale of the analysis, and their variance from the
        runs.
    log_speed : array_like, shape (n,) or (..., sessions, n)
        Logarithm of the speeds.

    Notes
    -----
    A session's own speed decides where it is read, so noise in the speed moves the reading along
    the curve: the variance of the speed counts with the square of the measure's gradient in speed.
    """
    speed, other = curves(sweeps.x, sweeps.speed), curves(sweeps.x, measure)
    position = speed.crossing(log_speed)
    gradient = _gradient(other, speed, position)
    runs = other.variance_at(position, variance)
    runs = runs + gradient**2 * speed.variance_at(position, sweeps.speed_variance)

    mean_speed, mean_measure = sweeps.mean(sweeps.speed), sweeps.mean(measure)
    own_speed, own_measure = curves(sweeps.x, mean_speed), curves(sweeps.x, mean_measure)
    at = own_speed.crossing(log_speed)
    slope = _gradient(own_measure, own_speed, at)
    # Both curves are left out at once: where the measure bends as the speed does, what one is off by
    # makes up for the other.
    gap, off_measure = spread(sweeps.x, mean_measure).signed_at(at)
    _, off_speed = spread(sweeps.x, mean_speed).signed_at(at)
    signed = off_measure - slope[..., None] * off_speed
    between = (signed**2).max(axis=-1)

    all_speed = curves(sweeps.x, sweeps.grand_mean(sweeps.speed))
    all_measure = curves(sweeps.x, sweeps.grand_mean(measure))
    level = log_speed if np.ndim(log_speed) == 1 else _mean(np.asarray(log_speed, dtype=float))
    values = other.at(position)
    # Where the mean curve is too short for any error to be told, neither is the value.
    seen = np.isfinite(values) & np.isfinite(between)
    return Reading(
        values=np.where(seen, values, np.nan),
        run_variance=np.where(seen, runs, np.nan),
        curve_variance=np.where(seen, between, np.nan),
        gap=gap,
        signed=np.where(seen[..., None], signed, np.nan),
        position=position,
        gradient=_gradient(all_measure, all_speed, all_speed.crossing(level)),
    )


def _gradient(measure: Curves, speed: Curves, position: Array) -> Array:
    """Change of the measure a unit change of log speed, along the curve."""
    with np.errstate(divide="ignore", invalid="ignore"):
        gradient = measure.slope_at(position) / speed.slope_at(position)
    return np.where(np.isfinite(gradient), gradient, 0.0)


MOST_SPEEDS = 8
END = 0.02  # of the speed, kept from either end of the baseline's curve


def is_derived(name: str) -> bool:
    """Derived quantities are not read off a curve of their own."""
    return name in MEASURES and MEASURES[name].kind == "derived"


@dataclass(frozen=True, slots=True)
class Target:
    """A speed at which sessions are read.

    Attributes
    ----------
    position : float
        In the unit it was declared in.
    label : str
    speed : float
        [unit of the speed table]
    """

    position: float
    label: str
    speed: float


def sweeps_of(speed: SessionValues, fitted: Sequence[str]) -> Sweeps:
    """The speed of every session as curves are made of it."""
    with np.errstate(invalid="ignore", divide="ignore"):
        relative = speed.run_variance / speed.values**2
    # Boats go by powers, so the curves are drawn over logarithms where there are any.
    logarithmic = bool((speed.positions > 0).all())
    x = np.log(speed.positions) if logarithmic else speed.positions
    return Sweeps(x, speed.on_scale(), np.nan_to_num(relative), fitted, logarithmic)


def reach(speed: SessionValues) -> tuple[float, float]:
    """Slowest and fastest speed that every session reached; NaN where none did."""
    there = np.isfinite(speed.values).any(axis=1)
    if not there.any():
        return float("nan"), float("nan")
    low = np.nanmin(speed.values[there], axis=1).max()
    return float(low), float(np.nanmax(speed.values[there], axis=1).min())


def round_speeds(speed: SessionValues, of_baseline: NDArray[np.bool_]) -> tuple[Target, ...]:
    """Round speeds that the baseline reached, eight at most.

    The baseline's mean curve fixes them, so that a session that breaks off moves none of them: it
    leaves speeds untestable, and brings no others in.

    Parameters
    ----------
    speed : SessionValues
    of_baseline : ndarray of bool, shape (sessions,)
    """
    mean = _mean(speed.values[of_baseline])[0] if of_baseline.any() else np.full(1, np.nan)
    if not np.isfinite(mean).any():
        return ()
    # Sessions differ by a little; a speed at the very end would be out of reach for half of them.
    low, high = np.nanmin(mean) * (1 + END), np.nanmax(mean) * (1 - END)
    if not low < high:
        return ()
    for step in (1.0, 2.0, 5.0, 10.0, 20.0):
        found = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
        if len(found) <= MOST_SPEEDS:
            return tuple(Target(v, f"{v:g} {speed.unit}", v) for v in found.tolist())
    return ()


def equal_speed_tables(
    tables: Mapping[str, SessionValues],
    axis: SweepAxis,
    fitted: Sequence[str],
    targets: Sequence[Target],
    needs: Fitted | None = None,
) -> dict[str, SessionValues]:
    """Session values of every measure at given speeds, and of what it is there a distance.

    Parameters
    ----------
    tables : mapping
        Session values at the set points, by quantity; nothing comes back without `speed`.
    axis : SweepAxis
        What was held; where the boat needs less of it for a speed is told too.
    fitted : sequence of str, length sessions
    targets : sequence of Target
    needs : Fitted, optional
        What derived quantities take besides measures, and which are asked for.

    Returns
    -------
    dict of SessionValues
        By their keys.
    """
    speed = tables.get("speed")
    if speed is None or not targets or axis.is_speed:
        return {}
    sweeps = sweeps_of(speed, fitted)
    levels = np.log([target.speed for target in targets])
    frame = _frame(speed, targets)
    found = []
    for name, table in tables.items():
        if is_derived(name) or table.kind != "set points":
            continue
        found.append(_read_table(table, sweeps, levels, frame))
        at_speed = [target.speed for target in targets]
        found += _a_distance(name, found[-1], at_speed, speed, needs or Fitted((), ()))
    if axis.measure in MEASURES:
        found.append(_axis_table(MEASURES[axis.measure], axis, sweeps, levels, frame))
    return {table.key: table for table in found}


def _frame(speed: SessionValues, targets: Sequence[Target]) -> SessionValues:
    """The speed table laid out over the target speeds, to be filled with a measure."""
    low, high = reach(speed)
    beyond = tuple(
        f"{target.label} is outside the speeds that every session reached, {low:.4g} to {high:.4g} "
        f"{speed.unit}; set points that take every session past {target.label} would do"
        for target in targets
    )
    few = (
        f"{len(speed.positions)} set points do not tell how the curve bends between them; "
        f"run at least {MIN_SET_POINTS}"
    )
    return replace(
        speed,
        kind="equal speed",
        positions=np.array([target.position for target in targets]),
        labels=tuple(target.label for target in targets),
        beyond=beyond,
        untestable=speed.untestable or (few if len(speed.positions) < MIN_SET_POINTS else ""),
    )


def _read_table(
    table: SessionValues, sweeps: Sweeps, levels: Array, frame: SessionValues
) -> SessionValues:
    """One measure at the target speeds."""
    values = table.on_scale()
    variance = table.run_variance
    if table.scale == "ratio":
        with np.errstate(invalid="ignore", divide="ignore"):
            variance = variance / table.values**2
    reading = read(sweeps, values, np.nan_to_num(variance), levels)
    natural = np.exp(reading.values) if table.scale == "ratio" else reading.values
    factor = natural**2 if table.scale == "ratio" else 1.0
    gradient = np.nan_to_num(reading.gradient[0])
    where = np.nan_to_num(curves(sweeps.x, sweeps.grand_mean(sweeps.speed)).crossing(levels)[0])
    instrument = np.interp(where, sweeps.x, table.instrument_variance)
    instrument = instrument + gradient**2 * np.interp(where, sweeps.x, frame.instrument_variance)
    # What corrections leave open of measure and speed goes along.
    rest = carried(table)[:, None] + gradient**2 * carried(frame)[:, None]
    curve = reading.curve_variance + rest
    return replace(
        frame,
        curve_errors=CurveErrors(reading.gap, reading.signed, np.broadcast_to(rest, curve.shape)),
        quantity=table.quantity,
        unit=table.unit,
        scale=table.scale,
        better=table.better,
        values=natural,
        run_variance=reading.run_variance * factor,
        curve_variance=curve,
        level_variance=None,
        double_runs=_double_runs(table, sweeps, reading.position),
        instrument_variance=instrument,
        common_errors=table.common_errors and frame.common_errors,
        loading=_loading(np.hypot(1.0, gradient)) if table.scale == "ratio" else None,
    )


def carried(table: SessionValues) -> Array:
    """Largest variance that a table's corrections leave in each session's configuration."""
    if table.curve_variance is None:
        return np.zeros(len(table.sessions))
    return np.asarray(np.nan_to_num(table.curve_variance).max(axis=1))


def _loading(size: Array) -> Array:
    """Relative strengths about one, kept from vanishing."""
    size = np.where(np.isfinite(size) & (size > 0), size, 1.0)
    typical = float(np.exp(np.log(size).mean()))
    return np.clip(size / typical, 0.2, 5.0)


def _double_runs(table: SessionValues, sweeps: Sweeps, position: Array) -> NDArray[np.int_]:
    """The fewer of the double runs at the two set points beside each reading."""
    right = np.searchsorted(sweeps.x, np.nan_to_num(position, nan=sweeps.x[0]))
    right = np.clip(right, 1, len(sweeps.x) - 1)
    beside = [np.take_along_axis(table.double_runs, i, 1) for i in (right - 1, right)]
    return np.where(np.isfinite(position), np.minimum(*beside), 0)


def _a_distance(
    name: str, read_off: SessionValues, speeds: Sequence[float], speed: SessionValues, needs: Fitted
) -> list[SessionValues]:
    """What a measure is a distance, or the distance it takes one through, where speed is given.

    The speed is the same for all sessions, so that the uncertainty is that of the measure alone.
    """
    given = replace(
        speed,
        values=np.broadcast_to(np.array(speeds), read_off.values.shape),
        run_variance=np.zeros(read_off.values.shape),
        instrument_variance=np.zeros(len(speeds)),
        curve_variance=None,
        level_variance=None,
        double_runs=read_off.double_runs,
    )
    found = []
    for measure in MEASURES.values():
        own = measure.name in MAKERS or measure.table != "set points"
        if own or (measure.asked_only and measure.name not in needs.asked):
            continue
        for chosen in measure.made_of:
            if chosen.parts.keys() != {"speed", name}:
                continue
            factors = {need: needs.of_sessions(need) for need in chosen.needs}
            axis = SweepAxis("speed", speed.unit)
            made = product(measure, chosen, {name: read_off, "speed": given}, factors, axis)
            if made is not None:
                found.append(
                    replace(
                        read_off,
                        quantity=made.quantity,
                        unit=made.unit,
                        scale=made.scale,
                        better=made.better,
                        values=made.values,
                        run_variance=made.run_variance,
                        untestable=made.untestable,
                    )
                )
            break
    return found


def _axis_table(
    measure: Measure, axis: SweepAxis, sweeps: Sweeps, levels: Array, frame: SessionValues
) -> SessionValues:
    """Where on the axis each session has the speeds: the engine speed that they take."""
    shape = sweeps.speed.shape
    held = np.where(np.isfinite(sweeps.speed), sweeps.x, np.nan)
    reading = read(sweeps, held, np.zeros(shape), levels)
    logarithmic = sweeps.logarithmic
    natural = np.exp(reading.values) if logarithmic else reading.values
    ratio = measure.scale == "ratio" and logarithmic
    factor = natural**2 if logarithmic else np.ones(natural.shape)
    gradient = np.nan_to_num(reading.gradient[0])
    curve = reading.curve_variance + gradient**2 * carried(frame)[:, None]
    curve = curve if ratio or not logarithmic else curve * factor
    return replace(
        frame,
        quantity=measure.name,
        unit=axis.unit,
        scale="ratio" if ratio else "difference",
        better=measure.better,
        values=natural,
        run_variance=reading.run_variance * factor,
        curve_variance=curve,
        level_variance=None,
        double_runs=np.where(np.isfinite(natural), 1, 0),
        instrument_variance=gradient**2 * frame.instrument_variance.mean(),
        loading=_loading(np.abs(gradient)) if ratio else None,
    )
