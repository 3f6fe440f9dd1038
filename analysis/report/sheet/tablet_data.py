"""What the page for a tablet is made with: plan, columns, limits and cautions, as data."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from slackwater import __version__
from slackwater.analysis.intake.pairing import TOLERANCE
from slackwater.analysis.rehearsal.levels import levels
from slackwater.analysis.report.sheet.tablet_columns import unit_line
from slackwater.analysis.report.sheet.tablet_tries import manoeuvre_data
from slackwater.analysis.report.sheet.text import day_text
from slackwater.analysis.sheet.run_table import headings
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import unit_text
from slackwater.protocol.schedule.run_tests import RunTest, asked_of, asked_of_tries
from slackwater.protocol.units.quantity import conversion, show_number

if TYPE_CHECKING:
    from slackwater.analysis.sheet.contents import SheetContents
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial
    from slackwater.protocol.schedule.planned import PlannedRun, PlannedSession

#: Columns of the run table that are no readings.
KEYS = ("session", "set_point", "double_run", "direction", "heading", "start", "duration")
_AFTER = ("set_aside", "note")
_SPEEDS = ("speed_over_ground", "speed_through_water")


def tablet_data(contents: SheetContents, protocol: Protocol, trial: Trial | None) -> dict[str, Any]:
    """All that the page knows, ready for JSON; texts that it shows are made harmless to read."""
    head = tablet_head(contents, trial)
    schedule = contents.schedule
    columns = _columns(head, protocol)
    speed = next((name for name in _SPEEDS if name in protocol.measures), "")
    over_ground = next((each for each in columns if each["of"] == "speed_over_ground"), None)
    data: dict[str, Any] = {
        "schema": 1,
        "tool": {"name": "slackwater", "version": __version__},
        "trial": contents.trial,
        "title": printable(contents.title),
        "boat": printable(contents.boat),
        "protocol": {"id": contents.protocol, "version": contents.version},
        "seal": contents.seal,
        "seed": schedule.seed,
        "order": schedule.order,
        "invented": bool(trial and trial.invented),
        "reciprocal": schedule.pattern.reciprocal,
        "apart": TOLERANCE,
        "settle": schedule.pattern.settle,
        "record": schedule.pattern.record,
        "turn": schedule.circumstances.turn,
        "fill": schedule.circumstances.fill,
        "unit": unit_text(schedule.pattern.unit),
        "held": schedule.pattern.measure,
        "cautions": [printable(each) for each in contents.cautions],
        "legend": _legend(contents),
        "head": [[key, heading] for key, heading in head.items()],
        "columns": columns,
        "measures": [
            {"name": name, "combine": protocol.measure(name).combine} for name in protocol.measures
        ],
        "tests": [_test(test) for test in (*asked_of(protocol), *asked_of_tries(protocol))],
        "noted": [asdict(each) for each in contents.noted],
        "bands": {
            show_number(point): f"{show_number(limits.low)} to {show_number(limits.high)} "
            + unit_text(limits.unit)
            for point, limits in contents.limits.items()
        },
        "speed": speed,
        "speed_unit": unit_text(protocol.measure(speed).unit) if speed else "",
        "per_knot": conversion(over_ground["unit"], "kn") if over_ground else 1.0,
        "level_fuel": contents.level_fuel,
        "sessions": [_session(each, contents) for each in schedule.sessions],
        **({"then_scored": True} if contents.ratings else {}),
        **manoeuvre_data(contents, trial),
    }
    for column in columns:
        column["unit"] = unit_text(column["unit"])
    return {"id": _digest(data), **data}


def tablet_head(contents: SheetContents, trial: Trial | None) -> dict[str, str]:
    """The run table's columns, always with one for the heading: a receiver may fill it."""
    head = headings(contents, trial.columns if trial else None, trial.units if trial else None)
    if "heading" in head:
        return head
    out = {}
    for key, heading in head.items():
        if key == "start":
            out["heading"] = "heading [deg]"
        out[key] = heading
    return out


def _digest(data: dict[str, Any]) -> str:
    """A name of the plan: the same plan finds what was entered, another one does not mix with it."""
    keys = ["trial", "protocol", "head", "sessions", "unit", "order", "seed"]
    plan = [data[key] for key in keys]
    plan += [[each["name"], each["tries"]] for each in data.get("manoeuvres", ())]
    plan += [data["try_head"]] if "try_head" in data else []
    return hashlib.sha256(json.dumps(plan, sort_keys=True).encode()).hexdigest()[:16]


def _columns(head: dict[str, str], protocol: Protocol) -> list[dict[str, Any]]:
    """The columns of readings, each with the line from the file's unit to the working one."""
    found: list[dict[str, Any]] = []
    keys = [key for key in head if key not in (*KEYS, *_AFTER)]
    for key in keys:
        name = key.partition(" ")[0]
        measure = protocol.measure(name)
        heading, unit, slope, offset = unit_line(head[key], measure.unit)
        engines = sum(each.partition(" ")[0] == name for each in keys)
        parts = engines if measure.combine == "sum" else 1
        found.append(
            {
                "key": key,
                "of": name,
                "title": printable(heading if engines > 1 else measure.title),
                "heading": head[key],
                "unit": unit,
                "slope": slope,
                "offset": offset,
                "usual": [
                    float(f"{(value / parts - offset) / slope:.6g}")
                    for value in levels(protocol, name)
                ],
            }
        )
    return found


def _test(test: RunTest) -> dict[str, Any]:
    """A test without what is as usual."""
    usual = {"low": None, "high": None, "least": 0.0, "above_zero": False, "at": None}
    usual |= {"slope": 1.0, "offset": 0.0}
    kept = {key: value for key, value in asdict(test).items() if usual.get(key, "") != value}
    said = " ".join(unit_text(word) for word in test.said.split(" "))
    return {**kept, "said": said, **({"stops": True} if test.stops else {})}


def _legend(contents: SheetContents) -> list[list[str]]:
    found = {
        each.letter: printable(contents.configurations[each.configuration])
        for each in contents.schedule.sessions
    }
    return [[letter, title] for letter, title in sorted(found.items())]


def _session(session: PlannedSession, contents: SheetContents) -> dict[str, Any]:
    return {
        "id": session.id,
        "configuration": session.configuration,
        "title": printable(contents.configurations[session.configuration]),
        "day": day_text(session),
        "begins": f"{session.begins:%H:%M}",
        "fit_again": session.fit_again,
        "fill_before": session.fill_before,
        "runs": [_run(run) for run in session.runs],
    }


def _run(run: PlannedRun) -> list[Any]:
    """A run as a short list, what is as usual at its end left out: a page may hold thousands."""
    point = int(run.set_point) if run.set_point == int(run.set_point) else run.set_point
    cells: list[Any] = [run.number, point, run.double_run, run.direction]
    if run.heading is not None or run.fill_before:
        cells.append(None if run.heading is None else round(run.heading % 360, 1))
    return [*cells, round(run.fill_before, 1)] if run.fill_before else cells
