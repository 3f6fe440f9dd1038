"""When she planes: the threshold by size, by the steepest rise, and by trim."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.making import SweepAxis
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.sweep.curves import curves, spread
from slackwater.analysis.sweep.equal_speed import Sweeps, carried, read, sweeps_of
from slackwater.analysis.sweep.figures import figure
from slackwater.analysis.sweep.optimum import Tops, tops
from slackwater.protocol.units.quantity import conversion

Array = NDArray[np.float64]

GRAVITY = 9.80665  # [m/s^2], conventional value

# Common practice: craft of about nine metres plane at roughly 18 to 20 mph. As length Froude
# numbers, so that it can be carried to other lengths.
PLANING_LENGTH = 9.0  # [m]
PLANING_MPH = (18.0, 20.0)


# A gap in which speed rises so many times as steeply as in either beside it holds the whole rise.
# Chosen by simulation: beyond it, a hump that moves by a third of a gap is placed wrongly.
STEEPER = 1.5

# A boat that never comes to so much of the speed at which her like begin to plane is a displacement
# boat in this trial: a length Froude number of 0.51, beyond the usual hull speed of 0.4.
NEAR = 0.6


def planing_range(length: float) -> tuple[float, float]:
    """Speeds at which craft of a length usually begin to plane, by common practice. [kn]

    Parameters
    ----------
    length : float
        [m]
    """
    factor = conversion("mph", "kn") * float(np.sqrt(length / PLANING_LENGTH))
    return PLANING_MPH[0] * factor, PLANING_MPH[1] * factor


def comes_near_planing(speed: SessionValues, length: float | None) -> bool:
    """Whether any session comes near the speeds at which craft of a length plane.

    Parameters
    ----------
    speed : SessionValues
    length : float or None
        [m]; where it is not known, she may.
    """
    if length is None:
        return True
    fastest = np.nanmax(speed.values, initial=0.0) * conversion(speed.unit, "kn")
    return bool(fastest >= NEAR * planing_range(length)[0])


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
        reason = reason or _in_one_gap(sweeps.mean(rise), speed, axis)
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


def _in_one_gap(rise: Array, speed: SessionValues, axis: SweepAxis) -> str:
    """Why a rise cannot be placed that is over between two set points; empty where it can.

    Parameters
    ----------
    rise : ndarray, shape (sessions, gaps)
        Mean rise of each session's configuration over each gap.
    """
    for row in rise:
        if not np.isfinite(row).all() or len(row) < 2:
            continue
        most = int(row.argmax())
        beside = [row[k] for k in (most - 1, most + 1) if 0 <= k < len(row)]
        if row[most] > STEEPER * max(beside):
            low, high = (axis.label(float(x)) for x in speed.positions[most : most + 2])
            return (
                f"speed rises almost all at once between {low} and {high}, and nothing tells where "
                "in between; set points closer together there would do"
            )
    return ""


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
