"""Runs that do not belong: values so far from what the rest of the trial lets expect that honest
scatter does not reach there, heavy tails included.

What a run is expected to show comes from medians, which one wrong value does not move: of its
configuration at its set point, of its session (a day can be a little slow), and of the difference
between out and back in the double runs around it (the current of the hour, or the wind). Distances
are measured by the median distance of all, so that the noise of this trial decides what is far. One
run is taken out at a time, the furthest first, and the rest looked at again without it: a wild value
then neither hides another nor makes its neighbours look wild.

How often a blunder is found and an honest run is named is simulated in
`tests/calibration/test_doubtful.py`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

from slackwater.analysis.checking.run_rules._runs import DoubleRun, RunMade, all_double_runs
from slackwater.protocol.catalogue.measures import CONDITIONS

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial

FAR = 6.0  # standard deviations as the median tells them; see the simulation
NORMAL_QUARTER = 0.6745  # the median |deviation| of a standard normal
# The median of few distances errs itself, by this over the root of their number as a fraction (its
# efficiency is 37 % of the standard deviation's): a set point has its own say for what is sure of it.
MEDIAN_ERROR = 1.17
LEAST = 0.002  # standard deviation below which no instrument aboard tells runs apart, as a fraction
FEWEST = 6  # double runs of a trial, below which medians say little
ENOUGH = 3  # double runs whose median one wrong value does not move
AROUND = 3  # double runs before and after that tell the current of the hour
MOST = 0.1  # of all runs; where more are far, the trial is another than this supposes
_CARRIES_CURRENT = "speed_over_ground"
_SKIPPED = frozenset({"course_over_ground", *CONDITIONS})


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A value that does not belong.

    Attributes
    ----------
    run : RunMade
    measure : str
    value, expected : float
        [unit of the measure]
    distance : float
        From what is expected, in standard deviations as the median tells them. [1]
    """

    run: RunMade
    measure: str
    value: float
    expected: float
    distance: float


@dataclass(frozen=True, slots=True, eq=False)
class _Unit:
    """A double run, or a single run where there is one direction only.

    `level` is the mean on the scale that is compared. `half` is half of out less back; times
    `weight` it is on that scale: a current is as many knots at any speed, what a wind does to the fuel
    flow is rather a part of it.
    """

    runs: tuple[RunMade, ...]
    values: tuple[float, ...]
    level: float
    half: float
    weight: float
    set_point: float
    cell: tuple[str, float]
    session: str


def doubtful_runs(trial: Trial, runs: RunTable) -> list[Doubtful]:
    """The runs of a trial that do not belong, the furthest first, each with its worst value."""
    worst: dict[int, Doubtful] = {}
    protocol = trial.protocol
    doubles = [one for session in all_double_runs(runs).values() for one in session]
    reciprocal = protocol.runs.directions == "reciprocal"
    for name in protocol.measures:
        if name == protocol.set_point_measure or name in _SKIPPED:
            continue
        ratio = protocol.measure(name).scale == "ratio"
        for found in doubtful_values(doubles, name, ratio=ratio, reciprocal=reciprocal):
            before = worst.get(found.run.row)
            if before is None or found.distance > before.distance:
                worst[found.run.row] = found
    return sorted(worst.values(), key=lambda one: (-one.distance, one.run.row))


def doubtful_values(
    doubles: Sequence[DoubleRun], name: str, *, ratio: bool, reciprocal: bool
) -> Iterator[Doubtful]:
    """The values of one measure that do not belong, the furthest first.

    Parameters
    ----------
    doubles : sequence of DoubleRun
        Of the whole trial, those of a session in the order made.
    name : str
    ratio : bool
        Values are compared as ratios.
    reciprocal : bool
        Runs go both ways, so that one without its partner carries the current.
    """
    left = [unit for one in doubles for unit in _units(one, name, ratio, reciprocal)]
    for _ in range(int(MOST * sum(len(unit.runs) for unit in left)) + 1):
        found = _furthest(left, ratio) if len(left) >= FEWEST else None
        if found is None:
            return
        unit, at, residual, distance = found
        value = unit.values[at]
        expected = value * math.exp(-residual) if ratio else value - residual
        yield Doubtful(unit.runs[at], name, value, expected, distance)
        left.remove(unit)


def _units(one: DoubleRun, name: str, ratio: bool, reciprocal: bool) -> Iterable[_Unit]:
    pair = one.pair()
    if reciprocal and pair is None:
        return []  # a run without its partner carries the current, or the wind of its direction
    groups: Sequence[tuple[RunMade, ...]] = (
        [pair] if pair is not None else [(run,) for run in one.runs if run.used]
    )
    return [unit for group in groups if (unit := _unit(one, group, name, ratio)) is not None]


def _unit(one: DoubleRun, runs: tuple[RunMade, ...], name: str, ratio: bool) -> _Unit | None:
    values = tuple(run.values.get(name, math.nan) for run in runs)
    if not all(math.isfinite(value) and (value > 0 or not ratio) for value in values):
        return None
    mean = math.fsum(values) / len(values)
    half = (values[0] - values[-1]) / 2
    additive = name == _CARRIES_CURRENT or not ratio
    return _Unit(
        runs,
        values,
        math.log(mean) if ratio else mean,
        half if additive else half / mean,
        1 / mean if ratio and additive else 1.0,
        one.set_point,
        (one.configuration, one.set_point),
        one.session,
    )


def _furthest(units: list[_Unit], ratio: bool) -> tuple[_Unit, int, float, float] | None:
    """The run furthest from what is expected, where it is far: its place, how far off, and in spreads."""
    means = _mean_residuals(units)
    halves = _half_residuals(units)
    # What the mean and the difference of a double run say of each of its two runs.
    residuals: list[tuple[float, ...]] = [
        (mean + half, mean - half) if len(unit.runs) > 1 else (mean,)
        for unit, mean, half in zip(units, means, halves, strict=True)
    ]
    spreads = _spreads(units, residuals, ratio)
    best: tuple[float, _Unit, int, float] | None = None
    for unit, pair in zip(units, residuals, strict=True):
        for at, residual in enumerate(pair):
            distance = abs(residual) / spreads[unit.set_point]
            if distance > FAR and (best is None or distance > best[0]):
                best = distance, unit, at, residual
    return None if best is None else (best[1], best[2], best[3], best[0])


def _mean_residuals(units: list[_Unit]) -> list[float]:
    """Distance of each level from its configuration's at the set point, the session's own taken out."""
    sizes: dict[tuple[str, float], int] = defaultdict(int)
    for unit in units:
        sizes[unit.cell] += 1
    # With two values a median is their mean; all configurations at the set point then have a say,
    # and what they differ by goes with their sessions.
    cells = [unit.cell if sizes[unit.cell] >= ENOUGH else ("", unit.set_point) for unit in units]
    sessions = [unit.session for unit in units]
    residuals = [unit.level for unit in units]
    for _ in range(3):
        for keys in (cells, sessions):
            residuals = _less_medians(residuals, keys)
    return residuals


def _less_medians(values: list[float], keys: Sequence[object]) -> list[float]:
    groups: dict[object, list[float]] = defaultdict(list)
    for key, value in zip(keys, values, strict=True):
        groups[key].append(value)
    middles = {key: median(group) for key, group in groups.items()}
    return [value - middles[key] for key, value in zip(keys, values, strict=True)]


def _half_residuals(units: list[_Unit]) -> list[float]:
    """Distance of each half-difference from that of the double runs around it in its session."""
    groups: dict[str, list[int]] = defaultdict(list)
    for at, unit in enumerate(units):
        groups[unit.session].append(at)
    found = [0.0] * len(units)
    for places in groups.values():
        for n, at in enumerate(places):
            around = [*places[max(0, n - AROUND) : n], *places[n + 1 : n + 1 + AROUND]]
            if around:
                off = units[at].half - median(units[i].half for i in around)
                found[at] = off * units[at].weight
    return found


def _spreads(
    units: list[_Unit], residuals: list[tuple[float, ...]], ratio: bool
) -> dict[float, float]:
    """Standard deviation of a run at each set point, as medians tell it.

    The sweep as a whole has its say, since a few values can agree by chance: some instruments
    scatter by a part of the value, others by so much whatever the value.
    """
    by_point: dict[float, list[float]] = defaultdict(list)
    levels: dict[float, list[float]] = defaultdict(list)
    for unit, pair in zip(units, residuals, strict=True):
        by_point[unit.set_point] += [abs(value) for value in pair]
        levels[unit.set_point].append(math.exp(unit.level) if ratio else 1.0)
    level = {point: median(group) for point, group in levels.items()}
    own = {point: median(group) / NORMAL_QUARTER for point, group in by_point.items()}
    relative = median(v for group in by_point.values() for v in group) / NORMAL_QUARTER
    absolute = median(own[point] * level[point] for point in own)
    least = LEAST if ratio else 0.0
    return {
        point: max(
            own[point] * max(0.0, 1 - MEDIAN_ERROR / math.sqrt(len(by_point[point]))),
            relative,
            absolute / level[point],
            _step(units, point) / level[point],
            least,
            1e-12,
        )
        for point in own
    }


def _step(units: list[_Unit], point: float) -> float:
    """The step between the values at a set point, where they are so coarse that many are alike."""
    values = [value for unit in units if unit.set_point == point for value in unit.values]
    steps = sorted({round(value, 9) for value in values})
    gaps = [after - before for before, after in pairwise(steps) if after - before > 1e-9]
    return min(gaps) if gaps and 2 * len(steps) < len(values) else 0.0
