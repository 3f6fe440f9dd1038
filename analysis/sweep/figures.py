"""Figures of a sweep as a whole: one value a session, judged like everything else.

Top speed, the speed of best economy and the economy there, the planing threshold, range.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities import SweepAxis
from slackwater.analysis.reduction import SessionValues
from slackwater.analysis.sweep.curves import curves, spread
from slackwater.analysis.sweep.equal_speed import Sweeps, Target, carried, read, sweeps_of
from slackwater.analysis.sweep.optimum import Tops, tops
from slackwater.protocol.measures import MEASURES
from slackwater.protocol.quantity import conversion

Array = NDArray[np.float64]

GRAVITY = 9.80665  # [m/s^2], conventional value

# Common practice: craft of about nine metres plane at roughly 18 to 20 mph. As length Froude
# numbers, so that it can be carried to other lengths.
PLANING_LENGTH = 9.0  # [m]
PLANING_MPH = (18.0, 20.0)


def planing_range(length: float) -> tuple[float, float]:
    """Speeds at which craft of a length usually begin to plane, by common practice. [kn]

    Parameters
    ----------
    length : float
        [m]
    """
    factor = conversion("mph", "kn") * float(np.sqrt(length / PLANING_LENGTH))
    return PLANING_MPH[0] * factor, PLANING_MPH[1] * factor


def length_froude(speed: float, length: float) -> float:
    """Froude number of a speed on a length. [1]

    Parameters
    ----------
    speed : float
        [kn]
    length : float
        [m]
    """
    return float(speed * conversion("kn", "m/s") / np.sqrt(GRAVITY * length))


def figure(
    like: SessionValues,
    quantity: str,
    label: str,
    values: Array,
    *,
    unit: str | None = None,
    run_variance: Array | None = None,
    curve_variance: Array | None = None,
    level_variance: Array | None = None,
    untestable: str = "",
) -> SessionValues:
    """A table of one column: a figure that each session gives once.

    Parameters
    ----------
    like : SessionValues
        Whose sessions they are.
    quantity, label : str
        Name in the catalogue of measures; what stands for the place.
    values : ndarray, shape (sessions,)
    unit : str, optional
        That of the catalogue when not given.
    run_variance, curve_variance, level_variance : ndarray, shape (sessions,), optional
        As in SessionValues.
    untestable : str
        Why nothing can be compared, or empty.
    """
    measure = MEASURES[quantity]
    values = np.where(np.isfinite(values), values, np.nan)
    there = np.isfinite(values)
    runs = np.zeros(values.shape) if run_variance is None else run_variance
    return replace(
        like,
        quantity=quantity,
        unit=unit or measure.unit,
        scale=measure.scale,
        better=measure.better,
        kind="whole sweep",
        positions=np.array([np.nan]),
        labels=(label,),
        values=values[:, None],
        run_variance=np.where(there, np.nan_to_num(runs), np.nan)[:, None],
        double_runs=np.where(there, like.double_runs.sum(axis=1), 0)[:, None],
        instrument_variance=np.zeros(1),
        untestable=untestable or like.untestable,
        beyond=(),
        curve_variance=None if curve_variance is None else curve_variance[:, None],
        level_variance=None if level_variance is None else level_variance[:, None],
        loading=None,
    )


def top_speed(speed: SessionValues, fitted: Sequence[str]) -> SessionValues:
    """Highest speed of each session.

    It is the one at the set point at which the configuration is fastest, the same for all its
    sessions: a session's own highest value would be high by what noise adds to it.
    """
    values, runs = np.full(len(fitted), np.nan), np.full(len(fitted), np.nan)
    instrument = 0.0
    for name in dict.fromkeys(fitted):
        mine = np.array(fitted) == name
        count = np.isfinite(speed.values[mine]).sum(axis=0)
        if not count.any():
            continue
        mean = np.nansum(speed.values[mine], axis=0) / np.maximum(count, 1)
        p = int(np.where(count == count.max(), mean, -np.inf).argmax())
        values[mine], runs[mine] = speed.values[mine, p], speed.run_variance[mine, p]
        instrument = max(instrument, float(speed.instrument_variance[p]))
    table = figure(
        speed,
        "top_speed",
        "top speed",
        values,
        unit=speed.unit,
        run_variance=runs,
        curve_variance=carried(speed),
    )
    return replace(table, instrument_variance=np.array([instrument]))


def best_economy(
    speed: SessionValues,
    economy: SessionValues,
    fitted: Sequence[str],
    cruise: tuple[float, float] | None,
    confidence: float,
) -> tuple[SessionValues, SessionValues]:
    """The speed at which each session is most economical, and its economy there.

    Parameters
    ----------
    speed, economy : SessionValues
        At the set points.
    fitted : sequence of str, length sessions
    cruise : (float, float) or None
        Speeds between which the best is looked for. [unit of the speed table]
    confidence : float
    """
    log_speed = speed.on_scale()
    sweeps = sweeps_of(speed, fitted)
    mean = np.exp(sweeps.grand_mean(log_speed)[0])
    allowed = np.isfinite(mean)
    if cruise is not None:
        allowed &= (mean >= cruise[0]) & (mean <= cruise[1])
    found = tops(log_speed, economy.on_scale(), fitted, allowed, confidence=confidence)
    reason = _no_best(found, mean[allowed], speed.unit, cruise)
    where = np.exp(found.position)
    contrast = found.contrast_variance
    label = "best economy"
    if cruise is not None:
        label += f" between {cruise[0]:g} and {cruise[1]:g} {speed.unit}"
    return (
        figure(
            speed,
            "best_economy_speed",
            label,
            where,
            unit=speed.unit,
            curve_variance=contrast,
            level_variance=np.maximum(found.level_variance - contrast, 0.0),
            untestable=reason,
        ),
        replace(
            figure(
                economy,
                "best_economy",
                label,
                np.exp(found.height),
                curve_variance=found.height_variance + carried(economy),
                untestable=reason,
            ),
            instrument_variance=np.array([economy.instrument_variance.max(initial=0.0)]),
        ),
    )


def _no_best(found: Tops, speeds: Array, unit: str, cruise: tuple[float, float] | None) -> str:
    """Why there is no speed of best economy, or nothing."""
    state = str(found.state)
    if state == "found":
        return ""
    if state == "few" or not speeds.size:
        where = "" if cruise is None else f" between {cruise[0]:g} and {cruise[1]:g} {unit}"
        return f"fewer than three set points{where}: run more there"
    if state in ("low", "high"):
        end = speeds.min() if state == "low" else speeds.max()
        word, further = ("slowest", "below") if state == "low" else ("fastest", "above")
        text = (
            f"economy is best at the {word} speed looked at, {end:.3g} {unit}, so where it is best "
            f"is not known; set points {further} it would tell"
        )
        if cruise is None and state == "low":
            text += ", and 'cruise:' looks for the best among the speeds it names"
        return text
    near = f"{np.exp(found.between[0]):.3g} and {np.exp(found.between[1]):.3g} {unit}"
    if state == "flat":
        return (
            f"economy is so flat about its best, somewhere near {near}, that this trial cannot "
            "place it; more sessions, or set points further apart, would"
        )
    return (
        f"the configurations do not have their best near one speed (between {near}), and the set "
        "points are too few to place two; more of them there would do"
    )


def planing(
    speed: SessionValues,
    axis: SweepAxis,
    fitted: Sequence[str],
    confidence: float,
    trim: SessionValues | None = None,
    length: float | None = None,
) -> list[SessionValues]:
    """The planing threshold of each session, by every definition that the trial allows.

    Parameters
    ----------
    speed : SessionValues
    axis : SweepAxis
    fitted : sequence of str, length sessions
    confidence : float
    trim : SessionValues, optional
        Where it was measured.
    length : float, optional
        Of the boat. [m]

    Notes
    -----
    *By size*: the engine speed that takes the boat to the middle of the speeds at which craft of
    her length usually begin to plane. It assumes that she is like them.
    *Steepest rise*: the middle of the part where speed rises most with engine speed. It assumes
    that resistance eases most there, as it does past the hump; a governor, slip or a propeller
    that lets go may steepen it too.
    *Highest trim*: where the bow is highest. It assumes that nothing else moves the trim, such as
    tabs that are worked or crew who walk.
    """
    tables: list[SessionValues] = []
    sweeps = sweeps_of(speed, fitted)
    by_engine = axis.measure == "engine_speed"
    if length is not None and by_engine and len(speed.positions) >= 3:
        tables.append(_by_size(speed, sweeps, axis, length))
    u = np.broadcast_to(speed.positions, speed.values.shape)
    rise = np.diff(speed.values, axis=1) / np.diff(speed.positions)
    middle = (u[:, 1:] + u[:, :-1]) / 2
    if rise.shape[1]:
        allowed = np.isfinite(sweeps.grand_mean(rise)[0])
        found = tops(middle, rise, fitted, allowed, reach=1, confidence=confidence)
        reason = _no_threshold(found, "speed rises most steeply", axis)
        tables += _thresholds(speed, sweeps, axis, found, "steepest rise", reason, by_engine)
    if trim is not None:
        allowed = np.isfinite(sweeps.grand_mean(trim.values)[0])
        found = tops(u, trim.values, fitted, allowed, confidence=confidence)
        reason = _no_threshold(found, "the trim is highest", axis)
        tables += _thresholds(speed, sweeps, axis, found, "highest trim", reason, by_engine)
    return tables


def _by_size(speed: SessionValues, sweeps: Sweeps, axis: SweepAxis, length: float) -> SessionValues:
    """The engine speed that takes each session to the speed at which her like plane."""
    low, high = (v / conversion(speed.unit, "kn") for v in planing_range(length))
    target = (low + high) / 2
    held = np.where(np.isfinite(sweeps.speed), sweeps.x, np.nan)
    found = read(sweeps, held, np.zeros(held.shape), [np.log(target)])
    there = np.isfinite(speed.values).any(axis=1)
    missing = np.isnan(found.values[there, 0]).any() if there.any() else True
    reason = (
        f"not every session reached {target:.3g} {speed.unit}, about where craft of this length "
        "plane; set points on both sides of it would do"
    )
    natural = np.exp(found.values[:, 0]) if sweeps.logarithmic else found.values[:, 0]
    return figure(
        speed,
        "planing_engine_speed",
        f"{low:.3g} to {high:.3g} {speed.unit} by size",
        natural,
        unit=axis.unit,
        run_variance=found.run_variance[:, 0] * natural**2,
        curve_variance=found.curve_variance[:, 0] + carried(speed),
        untestable=reason if missing else "",
    )


def _no_threshold(found: Tops, what: str, axis: SweepAxis) -> str:
    state = str(found.state)
    if state == "found":
        return ""
    if state in ("low", "high"):
        end, further = ("lowest", "lower") if state == "low" else ("highest", "higher")
        return (
            f"{what} at the {end} set points, so the sweep shows no threshold; {further} set "
            "points would tell whether there is one"
        )
    if state == "few":
        return "too few set points to tell a threshold; five or more are needed"
    near = f"{found.between[0]:.4g} and {found.between[1]:.4g} {axis.unit}"
    return (
        f"{what} somewhere between {near}, and the set points are too far apart there to place it; "
        "set points closer together would do"
    )


def _thresholds(
    speed: SessionValues,
    sweeps: Sweeps,
    axis: SweepAxis,
    found: Tops,
    label: str,
    reason: str,
    by_engine: bool,
) -> list[SessionValues]:
    """A threshold as a speed and, where the engine speed was held, as an engine speed."""
    position, contrast = found.position, found.contrast_variance
    level = np.maximum(found.level_variance - contrast, 0.0)
    centre = sweeps.mean(position[:, None])[:, 0]
    log = sweeps.logarithmic
    x, step = (np.log(centre), 1 / centre) if log else (centre, np.ones(centre.shape))
    x = np.where(np.isfinite(x), x, np.nan)
    own = curves(sweeps.x, sweeps.speed)
    slope = own.slope_at(x[:, None])[:, 0]
    value = own.at(x[:, None])[:, 0] + slope * step * (position - centre)
    mean_slope = sweeps.mean(slope[:, None])[:, 0] * step
    between = spread(sweeps.x, sweeps.mean(sweeps.speed)).at(x[:, None])[:, 0] ** 2
    speeds = figure(
        speed,
        "planing_threshold",
        label,
        np.exp(value),
        unit=speed.unit,
        run_variance=own.variance_at(x[:, None], sweeps.speed_variance)[:, 0] * np.exp(2 * value),
        curve_variance=between + mean_slope**2 * contrast + carried(speed),
        level_variance=mean_slope**2 * level,
        untestable=reason,
    )
    if not by_engine:
        return [speeds]
    engine = figure(
        speed,
        "planing_engine_speed",
        label,
        position,
        unit=axis.unit,
        curve_variance=contrast / centre**2,
        level_variance=level / centre**2,
        untestable=reason,
    )
    return [engine, speeds]


def range_table(economy: SessionValues, usable: float, uncertainty: float = 0.0) -> SessionValues:
    """Range on the fuel that may be used: usable fuel times economy.

    Parameters
    ----------
    economy : SessionValues
        At set points or at speeds. [nmi/L]
    usable : float
        Capacity less reserve. [L]
    uncertainty : float
        Standard uncertainty of the usable fuel, relative; the same for all configurations. [1]
    """
    measure = MEASURES["range"]
    return replace(
        economy,
        quantity="range",
        unit=measure.unit,
        scale=measure.scale,
        better=measure.better,
        values=economy.values * usable * conversion(economy.unit, "nmi/L"),
        run_variance=economy.run_variance * (usable * conversion(economy.unit, "nmi/L")) ** 2,
        level_variance=np.full(economy.values.shape, uncertainty**2) if uncertainty else None,
    )


def duty_tables(
    tables: Mapping[str, SessionValues],
    fitted: Sequence[str],
    legs: Sequence[tuple[Target, float]],
    trips: int | None,
) -> list[SessionValues]:
    """Fuel for a trip whose legs are each run at one speed, and for a year of such trips.

    Parameters
    ----------
    tables : mapping
        Session values at the set points.
    fitted : sequence of str, length sessions
    legs : sequence of (Target, float)
        Speed, and time at it. [h]
    trips : int or None
        In a year.
    """
    speed, flow = tables["speed"], tables["fuel_flow"]
    sweeps = sweeps_of(speed, fitted)
    with np.errstate(invalid="ignore", divide="ignore"):
        relative = np.nan_to_num(flow.run_variance / flow.values**2)
    found = read(sweeps, flow.on_scale(), relative, np.log([t.speed for t, _ in legs]))
    litres = np.exp(found.values) * np.array([hours for _, hours in legs])
    litres = litres * conversion(flow.unit, "L/h")
    total = litres.sum(axis=1)
    runs = (litres**2 * found.run_variance).sum(axis=1)
    # What the curves are off by may go the same way at every speed.
    curve = (litres * np.sqrt(found.curve_variance)).sum(axis=1) / total
    curve = np.sqrt(curve**2 + carried(flow))
    gone = np.isfinite(speed.values).any(axis=1) & ~np.isfinite(total)
    reason = ""
    if gone.any():
        lost = ", ".join(
            t.label for i, (t, _) in enumerate(legs) if np.isnan(litres[gone, i]).any()
        )
        reason = f"not every session reached {lost}; set points on both sides of it would do"
    at = np.nan_to_num(
        curves(sweeps.x, sweeps.grand_mean(sweeps.speed)).crossing(
            np.log([t.speed for t, _ in legs])
        )[0]
    )
    instrument = float(np.interp(at, sweeps.x, flow.instrument_variance).max(initial=0.0))
    trip = replace(
        figure(
            flow, "trip_fuel", "trip", total, run_variance=runs, curve_variance=curve**2,
            untestable=reason,
        ),
        instrument_variance=np.array([instrument]),
    )  # fmt: skip
    if trips is None:
        return [trip]
    level = float(np.nanmean(total)) if np.isfinite(total).any() else 0.0
    year = replace(
        figure(
            flow, "annual_fuel", "year", total * trips, run_variance=runs * trips**2,
            curve_variance=(curve * total * trips) ** 2, untestable=reason,
        ),
        instrument_variance=np.array([instrument * (level * trips) ** 2]),
    )  # fmt: skip
    return [trip, year]
