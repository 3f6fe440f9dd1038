"""The files of a rehearsal as text: the trial with its sessions, the run table, what was put in, the way to go."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from random import Random
from typing import TYPE_CHECKING

from slackwater.analysis.rehearsal.levels import fastest, pitch
from slackwater.protocol.catalogue.measures import CONDITIONS, LOADING
from slackwater.protocol.declared.trial import Session
from slackwater.protocol.files.yaml_edit import scalar
from slackwater.protocol.rules._depth import least_depth
from slackwater.protocol.schedule.planned import Schedule
from slackwater.protocol.units.quantity import Quantity, show_number

if TYPE_CHECKING:
    from slackwater.analysis.rehearsal.world import Truth
    from slackwater.protocol.declared.limits import Limit
    from slackwater.protocol.declared.protocol import Protocol

MARK = "INVENTED"
HEAD = "# INVENTED, for practice: nothing in this file was measured on any boat.\n"
GEAR = 2.0
#: What an invented boat has aboard and meets, where a limit leaves it open.
TYPICAL = {
    "displacement": 6200.0, "fuel": 70.0, "ballast": 120.0, "crew": 3.0, "trim": 1.0, "heel": 0.5,
    "draught": 0.8, "wind_speed": 5.0, "wave_height": 0.2, "wave_period": 3.0, "swell_height": 0.2,
    "water_depth": 40.0, "current": 0.6, "water_temperature": 12.0, "air_temperature": 15.0,
    "water_density": 1025.0, "air_pressure": 1013.0,
}  # fmt: skip


def trial_text(
    protocol: Protocol, schedule: Schedule, titles: Mapping[str, str], seed: int, id: str
) -> str:
    """The trial's file."""
    return HEAD + "\n".join(_trial_lines(protocol, schedule, titles, seed, id)) + "\n"


def _trial_lines(
    protocol: Protocol, schedule: Schedule, titles: Mapping[str, str], seed: int, id: str
) -> Iterator[str]:
    yield f"trial: {id}"
    yield "invented: true                    # said in every report"
    yield f"title: {MARK} rehearsal of {scalar(protocol.title or protocol.protocol).strip(chr(34))}"
    yield "protocol: protocol.yaml"
    yield f"boat: {{title: {MARK} boat, displacement: 6200 kg, fuel_capacity: 700 L, fuel_reserve: 10 %}}"
    yield "configurations:"
    turn = pitch(protocol, GEAR)
    screw = "" if turn is None else f", propeller_pitch: {turn:.3f} m, gear_ratio: {GEAR:g}"
    for name, title in titles.items():
        yield f"  {scalar(name)}: {{title: {scalar(title)}{screw}}}"
    yield "comparisons:"
    names = list(titles)
    for name in names[1:]:
        yield f"  - {{baseline: {scalar(names[0])}, modified: {scalar(name)}}}"
    yield "sessions:"
    chance = Random(f"{seed} days")
    for session in schedule.sessions:
        keys = [f"id: {session.id}", f"configuration: {scalar(session.configuration)}"]
        keys.append(f"date: {session.date}")
        keys += _noted(protocol, chance)
        yield f"  - {{{', '.join(keys)}}}"
    yield "runs: runs.csv"
    if protocol.ratings is not None:
        yield "ratings: ratings.csv"
    if protocol.manoeuvres:
        yield "manoeuvres: tries.csv"


def _noted(protocol: Protocol, chance: Random) -> Iterator[str]:
    """What was noted of a session: everything that the protocol limits, within its limits."""
    further = []
    for name, limit in protocol.limits.items():
        if name in protocol.measures:
            continue
        value = _within(protocol, name, limit, chance)
        if name in Session.model_fields:
            yield f"{name}: {value}"
        else:
            further.append(f"{name}: {value}")
    if further:
        yield f"further: {{{', '.join(further)}}}"


def _within(protocol: Protocol, name: str, limit: Limit, chance: Random) -> str:
    units = {**LOADING, **CONDITIONS}.get(name)
    usual, spread = TYPICAL.get(name, 10.0), chance.uniform(-1, 1)
    if limit.same:
        return _shown(usual, units[0] if units else "1")
    if limit.between is not None:
        low, high = limit.between
        top = high.to(low.unit).value
        return _shown((low.value + top) / 2 + spread * (top - low.value) / 10, low.unit)
    if limit.at_most is not None:
        return _shown(limit.at_most.value * (0.6 + 0.2 * spread), limit.at_most.unit)
    if limit.at_least is not None:
        least = limit.at_least
        if name == "water_depth":
            deep = max(1.3 * least.to("m").value, 1.2 * least_depth(fastest(protocol)))
            return _shown(Quantity(deep, "m").to(least.unit).value, least.unit)
        return _shown(least.value * (1.4 + 0.2 * spread), least.unit)
    unit = (
        units[0] if units else (limit.within.unit.removeprefix("delta_") if limit.within else "1")
    )
    tolerance = 0.0
    if limit.within is not None:
        relative = limit.within.unit == "%" and unit != "%"
        tolerance = usual * limit.within.value / 100 if relative else limit.within.value
    return _shown(usual + 0.05 * spread * tolerance, unit)


def _shown(value: float, unit: str) -> str:
    number = show_number(float(f"{value:.4g}"))
    return number if unit in ("1", "count", "") else f"{number} {unit}"


def runs_text(rows: Sequence[Mapping[str, str]], head: Mapping[str, str]) -> str:
    """The run table, marked in every row."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head.values())
    for row in rows:
        writer.writerow([row.get(name, "") for name in head])
    return out.getvalue()


def truth_text(
    truth: Truth, titles: Mapping[str, str], speed_held: bool, *, tried: bool = False
) -> str:
    """What was put in, to be opened after the analysis."""
    lines = [f"{MARK}. What was put into this rehearsal; open it after the analysis.", ""]
    of = "in fuel and power at equal speed" if speed_held else "in speed at equal set points"
    for name, title in list(titles.items())[1:]:
        gain = truth.gains[name]
        what = (
            f"a gain of {100 * gain:g} % {of}, all along the sweep" if gain else "no change at all"
        )
        lines.append(f"{title}: {what}")
    if tried:
        lines.append(
            "manoeuvres: three times that gain, to the better side of each value (as a factor exp(3 x gain)), "
            "where it has one; 8 % between the two directions"
        )
    lines.append(f"the stream: {truth.current:g} kn at its strongest, turning with the tide")
    return "\n".join([*lines, ""])


def way_text(id: str) -> str:
    """What to do with the files, in order."""
    return f"""\
{MARK}, for practice: no figure in this folder was measured on any boat.

A whole trial to go through before the boat leaves the berth. In this folder:

1. sheet.html       what the crew take aboard: print it, read it out, find what is unclear
2. sheet.csv        the table to fill in; copy a few lines of runs.csv into it by hand, for practice
3. runs.csv         the same table as if the trial had been run; ratings.csv, where people score, and
                    tries.csv, where there are manoeuvres, likewise
4. slackwater check trial.yaml       was it run as declared?
5. slackwater analyse trial.yaml --output report.html       which differences are real?
6. truth.txt        what was put in; open it last, and see what was found of it

Change something in runs.csv or trial.yaml and see what check says of it: a run in the wrong direction,
a session with the wrong depth, a row left out. Delete the folder afterwards: none of it is a result.

On the water local rules, the skipper and licensed practice come before any sheet.
({id})
"""
