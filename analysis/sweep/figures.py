"""Figures of a sweep as a whole: one value a session, judged like everything else.

Top speed, the speed of best economy and the economy there, range.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.sweep.equal_speed import carried, sweeps_of
from slackwater.analysis.sweep.optimum import Tops, tops
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.units.quantity import conversion

Array = NDArray[np.float64]


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
