"""Corrections that a trial declares: what differed between the sessions, and what it is worth.

A declared sensitivity corrects the session values, and its uncertainty goes into every mean and
difference. A sensitivity to be estimated becomes part of the comparison: the configurations are
compared at equal values of what differed, as the sessions themselves show its effect.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.reduction.reduction import Reduction
from slackwater.protocol.declared.asked import Correction
from slackwater.protocol.declared.asked_agreement import CORRECTED
from slackwater.protocol.declared.protocol_agreement import LEAST_SESSIONS
from slackwater.protocol.declared.trial import Session, Trial
from slackwater.protocol.units.quantity import Quantity, conversion

Array = NDArray[np.float64]

GAS_CONSTANT = 287.05287  # [J/(kg K)] of dry air, ISO 2533


@dataclass(frozen=True, slots=True)
class Differed:
    """What a declared correction is of, as the sessions had it.

    Attributes
    ----------
    correction : Correction
    excess : ndarray, shape (sessions, set_points)
        How far it lay above the value corrected to, in units of the declared increase. [1]
    uncertainty : float
        Standard uncertainty of one session's value, in the same units. [1]
    problem : str
        Why the correction cannot be made, or empty.
    """

    correction: Correction
    excess: Array
    uncertainty: float
    problem: str

    @property
    def estimated(self) -> bool:
        """Its effect is to be estimated from the sessions."""
        return "estimated" in self.correction.changes.values()

    def sensitivity(self, quantity: str) -> tuple[float, float] | None:
        """Change of a quantity for the declared increase, and its standard uncertainty. [1]"""
        declared = self.correction.changes.get(quantity)
        if not isinstance(declared, Quantity):
            return None
        return declared.value / 100, (declared.uncertainty or 0.0) / 100


def air_density(temperature: float, pressure: float) -> float:
    """Density of dry air. [kg/m^3]

    Parameters
    ----------
    temperature : float
        [degC]
    pressure : float
        [hPa]
    """
    return pressure * 100 / (GAS_CONSTANT * (temperature + 273.15))


def fuel_mass(volume: float, density: float) -> float:
    """Mass of fuel. [kg]

    Parameters
    ----------
    volume : float
        [L]
    density : float
        [kg/m^3]
    """
    return volume / 1000 * density


def differed(
    trial: Trial, reduction: Reduction, sessions: Sequence[str], set_points: Array
) -> list[Differed]:
    """What each declared correction is of, session by session.

    Parameters
    ----------
    trial : Trial
    reduction : Reduction
    sessions : sequence of str
        The sessions of the tables, in their order.
    set_points : ndarray
        The positions of the tables.
    """
    by_id = {session.id: session for session in trial.sessions}
    found = []
    for correction in trial.corrections:
        value_unit, increase_unit = CORRECTED[correction.of]
        per = correction.per.to(increase_unit).value
        shape = (len(sessions), len(set_points))
        if correction.of == "fuel_burned":
            values, problem = _burned(trial, reduction, sessions, set_points)
            spread = 0.0
        else:
            noted = [_noted(by_id[session], correction.of) for session in sessions]
            lacking = [s for s, value in zip(sessions, noted, strict=True) if value is None]
            problem = ""
            if lacking:
                problem = f"no {correction.of.replace('_', ' ')} is noted of {', '.join(lacking)}"
            values = np.full(shape, np.nan)
            known = [np.nan if v is None else v.to(value_unit).value for v in noted]
            values[:] = np.array(known)[:, None]
            spread = max((v.uncertainty or 0.0 for v in noted if v is not None), default=0.0)
        to = correction.to
        reference = to.to(value_unit).value if to is not None else _mean(values)
        if not problem and per == 0:
            problem = "the increase that the changes are given for is zero"
        excess = np.zeros(shape) if problem else np.nan_to_num((values - reference) / per)
        found.append(Differed(correction, excess, spread / per if per else 0.0, problem))
    return found


def _mean(values: Array) -> float:
    return float(np.nanmean(values)) if np.isfinite(values).any() else 0.0


def _noted(session: Session, name: str) -> Quantity | None:
    if name == "air_density":
        temperature, pressure = session.air_temperature, session.air_pressure
        if temperature is None or pressure is None:
            return None
        density = air_density(temperature.to("degC").value, pressure.to("hPa").value)
        return Quantity(density, "kg/m^3")
    return session.value(name)


def _burned(
    trial: Trial, reduction: Reduction, sessions: Sequence[str], set_points: Array
) -> tuple[Array, str]:
    """Mass of fuel burned from a session's first run to each set point. [kg]"""
    shape = (len(sessions), len(set_points))
    frame, density = reduction.frame, trial.boat.fuel_density
    if density is None:
        return np.full(shape, np.nan), "the boat's fuel_density is not declared"
    if "fuel_flow" not in frame or not np.isfinite(frame["middle"].to_numpy(dtype=float)).all():
        return np.full(shape, np.nan), "the runs carry no fuel flow, or not all have a start"
    factor = conversion(trial.protocol.measure("fuel_flow").unit, "L/h")
    values = np.full(shape, np.nan)
    for s, session in enumerate(sessions):
        part = frame[frame["session"] == session].sort_values("middle")
        hours = part["middle"].to_numpy(dtype=float) / 3600
        flow = part["fuel_flow"].to_numpy(dtype=float) * factor
        known = np.isfinite(flow)
        if known.sum() < 2:
            return np.full(shape, np.nan), f"too few fuel flows in {session}"
        flow = np.interp(hours, hours[known], flow[known])
        steps = np.diff(hours) * (flow[1:] + flow[:-1]) / 2
        litres = np.concatenate([[0.0], np.cumsum(steps)])
        points = part["set_point"].to_numpy(dtype=float)
        for p, point in enumerate(set_points):
            if (points == point).any():
                at = float(litres[points == point].mean())
                values[s, p] = fuel_mass(at, density.to("kg/m^3").value)
    return values, ""


def corrected(
    tables: Mapping[str, SessionValues], found: Sequence[Differed], fitted: Sequence[str]
) -> dict[str, SessionValues]:
    """Session values with the declared corrections made.

    Parameters
    ----------
    tables : mapping
        Measured quantities at the set points.
    found : sequence of Differed
    fitted : sequence of str, length sessions

    Notes
    -----
    The uncertainty u of a sensitivity moves a difference by u times the difference of the two
    configurations' mean excesses a and b. It is laid out as twice u² a² and u² b², counted from
    the mean of all, for (a − b)² is never more than 2 a² + 2 b².
    """
    out = dict(tables)
    for each in found:
        if each.problem:
            continue
        if each.estimated:
            column = each.excess.mean(axis=1, keepdims=True)
            out = {name: _with_covariate(table, column) for name, table in out.items()}
            continue
        for name in each.correction.changes:
            sensitivity = each.sensitivity(name)
            if name in out and sensitivity is not None and out[name].scale == "ratio":
                out[name] = _shifted(out[name], each, sensitivity, fitted)
    return out


def _with_covariate(table: SessionValues, column: Array) -> SessionValues:
    earlier = table.covariates
    return replace(table, covariates=column if earlier is None else np.hstack([earlier, column]))


def _shifted(
    table: SessionValues,
    found: Differed,
    sensitivity: tuple[float, float],
    fitted: Sequence[str],
) -> SessionValues:
    change, uncertainty = sensitivity
    factor = np.exp(-np.log1p(change) * found.excess)
    mean = np.zeros(table.values.shape)
    labels = np.array(fitted)
    for name in dict.fromkeys(fitted):
        mine = labels == name
        mean[mine] = found.excess[mine].mean(axis=0)
    middle = np.mean([mean[labels == name][0] for name in dict.fromkeys(fitted)], axis=0)
    noted = 0.0
    for name in dict.fromkeys(fitted):
        noted = max(noted, (change * found.uncertainty) ** 2 / int((labels == name).sum()))
    contrast = 2 * (uncertainty * (mean - middle)) ** 2 + noted
    level = np.maximum((uncertainty * mean) ** 2 + noted - contrast, 0.0)
    return replace(
        table,
        values=table.values * factor,
        run_variance=table.run_variance * factor**2,
        curve_variance=_sum(table.curve_variance, contrast),
        level_variance=_sum(table.level_variance, level),
    )


def _sum(a: Array | None, b: Array) -> Array:
    return b if a is None else a + b


@dataclass(frozen=True, slots=True)
class Size:
    """What one correction does to one comparison.

    Attributes
    ----------
    size, uncertainty : ndarray, shape (set_points,)
        Of the modified configuration against the baseline, as a fraction: what was taken out of
        the difference, and its standard uncertainty. [1]
    """

    size: Array
    uncertainty: Array


def size_of(
    found: Differed, table: SessionValues, fitted: Sequence[str], baseline: str, modified: str
) -> Size | None:
    """How much a correction took out of a difference; None where it does not bear on it.

    Parameters
    ----------
    found : Differed
    table : SessionValues
        As compared: corrected, or with its covariates.
    fitted : sequence of str, length sessions
    baseline, modified : str
    """
    labels = np.array(fitted)
    excess = found.excess[labels == modified].mean(axis=0)
    excess = excess - found.excess[labels == baseline].mean(axis=0)
    if found.estimated:
        slope, error = _slope(found, table, labels)
        return Size(slope * excess, error * np.abs(excess))
    sensitivity = found.sensitivity(table.quantity)
    if sensitivity is None:
        return None
    change, uncertainty = sensitivity
    counts = 1 / (labels == baseline).sum() + 1 / (labels == modified).sum()
    noted = (change * found.uncertainty) ** 2 * counts
    size = np.expm1(np.log1p(change) * excess)
    return Size(size, np.sqrt((uncertainty * excess) ** 2 + noted))


def _slope(found: Differed, table: SessionValues, labels: NDArray[np.str_]) -> tuple[float, float]:
    """Effect of the declared increase on the session means, and its standard error. [1]"""
    complete = np.isfinite(table.on_scale()).all(axis=0)
    means = table.on_scale()[:, complete].mean(axis=1) if complete.any() else np.zeros(len(labels))
    names = list(dict.fromkeys(labels.tolist()))
    design = np.column_stack(
        [*(np.where(labels == name, 1.0, 0.0) for name in names), found.excess.mean(axis=1)]
    )
    coefficients, _, rank, _ = np.linalg.lstsq(design, means, rcond=None)
    df = len(means) - int(rank)
    if df <= 0:
        return float(coefficients[-1]), float("nan")
    residual = means - design @ coefficients
    inverse = np.linalg.pinv(design.T @ design)
    return float(coefficients[-1]), float(np.sqrt(inverse[-1, -1] * (residual**2).sum() / df))


def with_trend(table: SessionValues) -> SessionValues:
    """A table that is compared as if all sessions stood at the middle of the trial.

    How far a session stands in the order is one more covariate. With fewer than `LEAST_SESSIONS`
    sessions, as when some were lost, nothing is allowed for: too little would be left.
    """
    sessions = len(table.sessions)
    if sessions < LEAST_SESSIONS:
        return table
    column = np.arange(sessions, dtype=float)[:, None]
    earlier = table.covariates
    return replace(table, covariates=column if earlier is None else np.hstack([earlier, column]))
