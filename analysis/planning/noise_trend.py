"""Does the boat drift within its trials, or shift from one to the next, with nothing changed?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtr, stdtrit

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.contrasts import contrasts

if TYPE_CHECKING:
    from slackwater.analysis.result.analysed import Analysed

Array = NDArray[np.float64]

LEVEL = 0.05
MONTH = 30.0  # [day]


@dataclass(frozen=True, slots=True)
class Trend:
    """A drift within trials or a shift between two, and whether it is more than noise.

    Attributes
    ----------
    kind : str
        "drift" (a month, over all trials) or "shift" (from an earlier trial to a later one).
    value, low, high : float
        On the scale of the analysis, with its 95 % interval.
    p_value : float
        Two-sided, against no drift or shift. [1]
    found : bool
        More than the sessions account for. Shifts share their error among themselves.
    subject : str
        What drifts or shifts, in words.
    """

    kind: str
    value: float
    low: float
    high: float
    p_value: float
    found: bool
    subject: str


def trends(
    trials: Sequence[Analysed],
    tables: Sequence[SessionValues],
    levels: Sequence[Array],
    level_variance: float | None,
    df: float,
) -> Iterator[Trend]:
    """Every drift and shift that the trials can tell.

    Parameters
    ----------
    trials, tables, levels : sequences of one length
        Each trial, its session values, and the level of each session about its configuration.
    level_variance, df : float
        Variance of a session's level over its set points, and its degrees of freedom.
    """
    drift = _drift(trials, tables, levels)
    if drift is not None:
        yield drift
    if level_variance is not None and df > 0:
        yield from _shifts(trials, tables, level_variance, df)


def _days(trial: Analysed, table: SessionValues) -> Array:
    """Day of each session as a number, NaN where it is not noted."""
    day = {session.id: session.day for session in trial.trial.sessions}
    return np.array(
        [date.fromisoformat(day[s]).toordinal() if day[s] else np.nan for s in table.sessions]
    )


def _drift(
    trials: Sequence[Analysed], tables: Sequence[SessionValues], levels: Sequence[Array]
) -> Trend | None:
    """A drift with the days that all trials have in common, configurations taken out."""
    product = square = scatter = df = 0.0
    for trial, table, level in zip(trials, tables, levels, strict=True):
        days = _days(trial, table)
        known = np.isfinite(days) & np.isfinite(level)
        if known.sum() < 3:
            continue
        fitted = [c for c, k in zip(trial.configurations, known, strict=True) if k]
        present = np.ones((len(fitted), 1), dtype=bool)
        layout = contrasts(fitted, fitted[0], fitted[0], present)
        time, strayed = layout.residual[0] @ days[known], layout.residual[0] @ level[known]
        product += float(time @ strayed)
        square += float(time @ time)
        scatter += float(strayed @ strayed)
        df += float(layout.residual_df[0])
    if square < 1e-9 or df < 2:
        return None
    slope = product / square
    left = max(scatter - slope * product, 0.0) / (df - 1)
    return _trend("drift", slope * MONTH, sqrt(left / square) * MONTH, df - 1, LEVEL, "a month")


def _shifts(
    trials: Sequence[Analysed],
    tables: Sequence[SessionValues],
    variance: float,
    df: float,
) -> Iterator[Trend]:
    """From each trial to the next that ran the same boat with the same configuration."""
    found = []
    for (boat, name), places in _repeated(trials).items():
        ordered = sorted(places, key=lambda i: _first_day(trials[i], tables[i], i))
        for early, late in pairwise(ordered):
            told = _difference(trials, tables, early, late, name, variance)
            if told is not None:
                subject = (
                    f"{name} on {boat}, from {trials[early].trial.trial} to "
                    f"{trials[late].trial.trial}"
                )
                found.append((*told, subject))
    for value, error, subject in found:
        yield _trend("shift", value, error, df, LEVEL / len(found), subject)


def _repeated(trials: Sequence[Analysed]) -> dict[tuple[str, str], list[int]]:
    """Boats and configurations that more than one trial ran, with the trials' numbers."""
    seen: dict[tuple[str, str], list[int]] = {}
    for i, trial in enumerate(trials):
        for name in dict.fromkeys(trial.configurations):
            seen.setdefault((trial.trial.boat.title or "the boat", name), []).append(i)
    return {key: places for key, places in seen.items() if len(places) > 1}


def _first_day(trial: Analysed, table: SessionValues, number: int) -> tuple[float, int]:
    days = _days(trial, table)
    known = days[np.isfinite(days)]
    return (float(known.min()) if known.size else np.inf, number)


def _difference(
    trials: Sequence[Analysed],
    tables: Sequence[SessionValues],
    early: int,
    late: int,
    name: str,
    variance: float,
) -> tuple[float, float] | None:
    """Later less earlier over the set points that both ran, with its standard error."""
    common = [label for label in tables[early].labels if label in tables[late].labels]
    if not common:
        return None
    means, counts = [], []
    for i in (early, late):
        rows = [c == name for c in trials[i].configurations]
        columns = [tables[i].labels.index(label) for label in common]
        values = tables[i].on_scale()[rows][:, columns]
        values = values[np.isfinite(values).all(axis=1)]
        if not len(values):
            return None
        means.append(float(values.mean()))
        counts.append(len(values))
    return means[1] - means[0], sqrt(variance * sum(1 / n for n in counts))


def _trend(kind: str, value: float, error: float, df: float, level: float, subject: str) -> Trend:
    half = float(stdtrit(df, 0.975)) * error
    p_value = 2 * float(stdtr(df, -abs(value) / error)) if error > 0 else 0.0
    if error == 0 and value == 0:
        p_value = 1.0
    return Trend(kind, value, value - half, value + half, p_value, p_value < level, subject)
