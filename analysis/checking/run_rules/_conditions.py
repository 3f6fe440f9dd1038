"""Conditions that the runs themselves show, held against their limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from slackwater.analysis.checking.run_rules._runs import (
    DoubleRun,
    all_double_runs,
    number,
    sessions_of,
)
from slackwater.protocol.rules._breaches import groups, outside, unit_of
from slackwater.protocol.units.quantity import Quantity, QuantityError, conversion

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial

# How far beyond its limit the current of three double runs has to be: they err by as much. [kn]
CLEARLY = 0.1


@dataclass(frozen=True, slots=True)
class RunBreach:
    """Runs of one session outside a limit: each with its row and its value as text."""

    name: str
    session: str
    limit: str
    rows: tuple[tuple[int, str], ...]


def run_breaches(trial: Trial, table: RunTable) -> Iterator[RunBreach]:
    """Conditions that are read on every run, outside their bounds."""
    sessions = sessions_of(table)
    for _, name, limit in groups(trial):
        if name not in trial.protocol.measures or limit.compares:
            continue
        own = trial.protocol.measure(name).unit
        wanted = unit_of(limit, own)
        for session, runs in sessions.items():
            rows = []
            for run in runs:
                value = run.values.get(name, math.nan)
                if not run.used or not math.isfinite(value):
                    continue
                try:
                    found = Quantity(value, own).to(wanted)
                except QuantityError:
                    break  # a limit of another kind than the measure
                if outside(limit, found):
                    rows.append((run.row, f"{number(found.value)} {wanted}"))
            if rows:
                yield RunBreach(name, session, str(limit), tuple(rows))


def smooth_currents(trial: Trial, found: Sequence[DoubleRun]) -> list[tuple[DoubleRun, float]]:
    """The current that each double run of a session shows, steadied by its neighbours. [kn]

    Median of three, so that no single double run speaks for the current.
    """
    if "speed_over_ground" not in trial.protocol.told:
        return []
    to_kn = conversion(trial.protocol.measure("speed_over_ground").unit, "kn")
    seen = []
    for one in found:
        pair = one.pair()
        if pair is not None:
            half = (pair[0].values["speed_over_ground"] - pair[1].values["speed_over_ground"]) / 2
            if math.isfinite(half):
                seen.append((one, half * to_kn))
    if len(seen) < 3:
        return []
    currents = [current for _, current in seen]
    last = len(seen) - 3
    return [
        (one, median(currents[min(max(i - 1, 0), last) :][:3])) for i, (one, _) in enumerate(seen)
    ]


def current_breaches(trial: Trial, table: RunTable) -> Iterator[RunBreach]:
    """Sessions whose double runs show a stronger current than the limit allows."""
    limit = trial.protocol.limits.get("current")
    if limit is None or trial.protocol.runs.directions != "reciprocal":
        return
    most = limit.at_most or (limit.between[1] if limit.between else None)
    if most is None:
        return
    bound = most.to("kn").value
    for session, found in all_double_runs(table).items():
        seen = smooth_currents(trial, found)
        if not seen:
            continue
        one, strongest = max(seen, key=lambda pair: abs(pair[1]))
        if abs(strongest) > bound + CLEARLY:
            text = f"{number(round(abs(strongest), 2))} kn"
            yield RunBreach("current", session, str(limit), ((one.row, text),))
