"""The reference boat: what she does with nothing changed, over the years, and when that shifted.

A method is as steady as what it says of a boat that is left as she is. Each session of the reference
boat in one configuration gives one value: how far she lay, on the mean over her set points, from what
she usually does there. In order of time they are a control chart; trial by trial they are a table of
laboratories in the sense of ISO 5725-2.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, fields
from math import exp, log
from typing import Any

import numpy as np

from slackwater.analysis.many.outcome import Outcome, SessionLevel
from slackwater.analysis.statistics.control_chart import ChartError, ControlChart, control_chart
from slackwater.analysis.statistics.interlaboratory import (
    Precision,
    TableError,
    cochran,
    critical_h,
    critical_k,
    grubbs,
    interlaboratory,
)
from slackwater.analysis.statistics.two_outliers import grubbs_two

STRAGGLER, OUTLIER = 0.05, 0.01  # chances below which ISO 5725-2 names them so
SHARED = 0.5  # part of the sessions that a set point has to be in, so that levels are of one kind


class SeriesError(ValueError):
    """The trials give no series of a reference boat."""


@dataclass(frozen=True, slots=True)
class Point:
    """One session of the reference boat.

    Attributes
    ----------
    trial, session, day : str
    level : float
        From what she usually does: a fraction, or in the unit of a difference.
    """

    trial: str
    session: str
    day: str
    level: float


@dataclass(frozen=True, slots=True)
class Series:
    """What the reference boat did, in order of time.

    Attributes
    ----------
    boat, configuration, quantity, unit, scale : str
    at : tuple of str
        The set points that levels are the mean over.
    points : tuple of Point
    left_out : tuple of (str, str)
        Sessions that give no level, "trial, session", and why.
    """

    boat: str
    configuration: str
    quantity: str
    unit: str
    scale: str
    at: tuple[str, ...]
    points: tuple[Point, ...]
    left_out: tuple[tuple[str, str], ...]


def series_of(
    outcomes: Sequence[Outcome],
    boat: str,
    quantity: str = "speed",
    configuration: str | None = None,
) -> Series:
    """What a boat did in one configuration, session by session.

    Parameters
    ----------
    outcomes : sequence of Outcome
        In any order; those of other boats are passed over, and trials of one content count once.
    boat : str
        Her title in the trials.
    quantity : str
    configuration : str, optional
        Its id or title; the one with the most sessions when not given.

    Raises
    ------
    SeriesError
        When nothing is left, with what there is.
    """
    mine = list(_of_boat(outcomes, boat))
    if not mine:
        raise SeriesError(no_such_boat(boat, {each.boat for each in outcomes}))
    found = [(each, level) for each in mine for level in each.levels if level.quantity == quantity]
    named = configuration or _most_common(found)
    kept = [
        (each, level)
        for each, level in found
        if named in (level.configuration, each.configurations.get(level.configuration))
    ]
    if not kept:
        raise SeriesError(f"{boat} has no session of {named or 'any configuration'} in {quantity}")
    return _series(boat, named, quantity, kept)


def no_such_boat(boat: str, boats: Iterable[str]) -> str:
    """That there is no trial of a boat, and which boats there are."""
    return f"no trial is of the boat {boat!r}; there are {', '.join(sorted(boats))}"


def _of_boat(outcomes: Sequence[Outcome], boat: str) -> list[Outcome]:
    found: dict[str, Outcome] = {}
    for each in outcomes:
        if each.boat.casefold() == boat.casefold():
            found.setdefault(each.content, each)
    return list(found.values())


def _most_common(found: Sequence[tuple[Outcome, SessionLevel]]) -> str:
    """By title, for ids are each trial's own."""
    titles = Counter(
        each.configurations.get(level.configuration, level.configuration) for each, level in found
    )
    return titles.most_common(1)[0][0] if titles else ""


def _series(
    boat: str, named: str, quantity: str, kept: Sequence[tuple[Outcome, SessionLevel]]
) -> Series:
    first = kept[0][1]
    ratio = first.scale == "ratio"
    tables = [_values(level, ratio) for _, level in kept]
    counts = Counter(at for table in tables for at in table)
    at = tuple(each for each, count in counts.items() if count >= SHARED * len(tables))
    usual = {each: float(np.mean([t[each] for t in tables if each in t])) for each in at}
    points, left = [], []
    for (each, level), table in zip(kept, tables, strict=True):
        name = f"{each.trial}, {level.session}"
        off = [table[place] - usual[place] for place in at if place in table]
        if level.unit != first.unit and not ratio:
            left.append((name, f"it is in {level.unit} and the others in {first.unit}"))
        elif not level.day:
            left.append((name, "no day is noted"))
        elif not off or len(off) < SHARED * len(at):
            left.append((name, "it was not run at the set points of the others"))
        else:
            mean = float(np.mean(off))
            points.append(
                Point(each.trial, level.session, level.day, exp(mean) - 1 if ratio else mean)
            )
    points.sort(key=lambda point: point.day)
    return Series(
        boat=boat,
        configuration=named,
        quantity=quantity,
        unit="" if ratio else first.unit,
        scale=first.scale,
        at=at,
        points=tuple(points),
        left_out=tuple(left),
    )


def _values(level: SessionLevel, ratio: bool) -> dict[str, float]:
    """Values of a session by place, logarithms for ratios."""
    told = {at: v for at, v in zip(level.at, level.values, strict=True) if v is not None}
    return {at: log(v) for at, v in told.items() if v > 0} if ratio else told


@dataclass(frozen=True, slots=True)
class ReferenceChart:
    """The control chart of a reference boat.

    Attributes
    ----------
    series : Series
    chart : ControlChart
        Of the levels, in the order of the points.
    shift_told, shift_begins : str or None
        Days of the first lasting shift: when it was told, and of the first session that belongs to it.
    """

    series: Series
    chart: ControlChart
    shift_told: str | None
    shift_begins: str | None

    def to_dict(self) -> dict[str, Any]:
        """As JSON carries it; None for what cannot be told."""
        shift = self.chart.shift
        return {
            **asdict(self.series),
            "reference": self.chart.reference,
            "centre": self.chart.centre,
            "deviation": self.chart.deviation,
            "low": self.chart.low,
            "high": self.chart.high,
            "range_limit": self.chart.range_limit,
            "beyond": list(self.chart.beyond),
            "wide": list(self.chart.wide),
            "average": self.chart.average.tolist(),
            "average_beyond": list(self.chart.average_beyond),
            "shift": None
            if shift is None
            else {
                "told": self.shift_told,
                "begins": self.shift_begins,
                **{
                    name: value if np.isfinite(value) else None
                    for name, value in (
                        ("size", shift.size), ("low", shift.low), ("high", shift.high)
                    )
                },
            },
        }  # fmt: skip


def reference_chart(series: Series, reference: int | None = None) -> ReferenceChart:
    """The control chart of a series.

    Parameters
    ----------
    series : Series
    reference : int, optional
        How many of the first sessions tell the state in control.

    Raises
    ------
    SeriesError
        With too few sessions.
    """
    try:
        chart = control_chart([point.level for point in series.points], reference)
    except ChartError as error:
        raise SeriesError(f"{series.boat}, {series.configuration}: {error}") from None
    days = [point.day for point in series.points]
    shift = chart.shift
    return ReferenceChart(
        series,
        chart,
        None if shift is None else days[shift.told_at],
        None if shift is None else days[shift.begins_at],
    )


@dataclass(frozen=True, slots=True)
class Occasion:
    """One trial of the reference boat in the table of ISO 5725-2.

    Attributes
    ----------
    trial : str
    sessions : int
    mean : float
        Of its levels. [fraction or unit]
    h, k : float or None
        Mandel's statistics; None where they cannot be told. [1]
    h_remark, k_remark : bool
        Beyond what laboratories alike pass with a chance of 0.5 %.
    """

    trial: str
    sessions: int
    mean: float
    h: float
    k: float | None
    h_remark: bool
    k_remark: bool


@dataclass(frozen=True, slots=True)
class ReferencePrecision:
    """Repeatability and reproducibility of the method on the reference boat.

    Attributes
    ----------
    precision : Precision
        Sessions in the place of replicates, trials in that of laboratories.
    occasions : tuple of Occasion
    cochran, cochran_p : float
        Of the trial that scatters most.
    scatters_most : str
    grubbs, grubbs_p : float
        Of the trial whose mean lies furthest off.
    furthest : str
    grubbs_two, grubbs_two_p : float
        Of the two whose means lie furthest off on one side.
    furthest_two : tuple of str
        Empty with fewer than four trials.
    """

    precision: Precision
    occasions: tuple[Occasion, ...]
    cochran: float | None
    cochran_p: float
    scatters_most: str
    grubbs: float
    grubbs_p: float
    furthest: str
    grubbs_two: float | None
    grubbs_two_p: float
    furthest_two: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Every figure but those of single trials, as JSON carries it."""
        told = {
            f"{name}{limit}": getattr(self.precision, f"{name}{limit}")
            for limit in ("", "_limit")
            for name in ("repeatability", "reproducibility")
        }
        return told | {
            each.name: list(value) if isinstance(value, tuple) else value
            for each in fields(self)
            if each.name not in ("precision", "occasions")
            for value in (getattr(self, each.name),)
        }


def reference_precision(series: Series) -> ReferencePrecision:
    """Precision of the method by what it says of the reference boat, after ISO 5725-2.

    Raises
    ------
    SeriesError
        With fewer than two trials, or none that repeats a session.
    """
    by_trial: dict[str, list[float]] = {}
    for point in series.points:
        by_trial.setdefault(point.trial, []).append(point.level)
    try:
        found = interlaboratory(list(by_trial.values()))
    except (TableError, ValueError):
        raise SeriesError(
            f"{series.boat}, {series.configuration}: that takes two trials of her, and two sessions "
            f"of one; there are {len(series.points)} sessions in {len(by_trial)}"
        ) from None
    counts = [len(each) for each in by_trial.values()]
    names, labs = list(by_trial), len(by_trial)
    usual = Counter(count for count in counts if count > 1).most_common(1)[0][0]
    most_h = critical_h(labs) if labs > 2 else np.inf
    occasions = tuple(
        Occasion(
            trial=name,
            sessions=counts[i],
            mean=float(np.mean(by_trial[name])),
            h=float(found.h[i]),
            k=float(found.k[i]) if np.isfinite(found.k[i]) else None,
            h_remark=abs(float(found.h[i])) > most_h,
            k_remark=counts[i] > 1 and float(found.k[i]) > critical_k(labs, counts[i]),
        )
        for i, name in enumerate(names)
    )
    # Cochran's test is for equal numbers: trials with the usual number of sessions, as the standard has it.
    equal = [name for name in names if len(by_trial[name]) == usual]
    variances = [float(np.var(by_trial[name], ddof=1)) for name in equal]
    part, part_p = cochran(variances, usual - 1) if len(equal) > 1 else (float("nan"), 1.0)
    means = [occasion.mean for occasion in occasions]
    size, index, size_p = grubbs(means)
    ratio, two, two_p = grubbs_two(means)
    return ReferencePrecision(
        precision=found,
        occasions=occasions,
        cochran=part if np.isfinite(part) else None,
        cochran_p=part_p,
        scatters_most=equal[int(np.argmax(variances))],
        grubbs=size,
        grubbs_p=size_p,
        furthest=names[index],
        grubbs_two=ratio if labs > 3 else None,
        grubbs_two_p=two_p,
        furthest_two=tuple(names[each] for each in sorted(two)) if labs > 3 else (),
    )
