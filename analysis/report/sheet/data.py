"""The schedule as JSON data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from slackwater.analysis.sheet.try_rows import in_turn
from slackwater.analysis.wording.json_text import head
from slackwater.protocol.schedule.planned import PlannedRun, PlannedSession, Schedule

if TYPE_CHECKING:
    from slackwater.analysis.planning.order_comparison import Row
    from slackwater.analysis.sheet.contents import SheetContents


def to_data(contents: SheetContents, compared: Sequence[Row] = ()) -> dict[str, Any]:
    """The schedule, its limits and its comparison with the naive order, ready for JSON."""
    schedule = contents.schedule
    pattern, times = schedule.pattern, schedule.circumstances
    return {
        **head(),
        "trial": contents.trial or None,
        "protocol": {"id": contents.protocol, "version": contents.version},
        "seed": schedule.seed,
        "order": schedule.order,
        "days": schedule.days,
        "runs": schedule.runs,
        "daylight": f"{times.opens:%H:%M}-{times.closes:%H:%M}",
        "change_time": times.change,
        "turn_time": times.turn,
        "settle": pattern.settle,
        "record": pattern.record,
        "assumed": list(contents.assumed),
        "notes": list(schedule.notes),
        "cautions": list(contents.cautions),
        "limits": [
            {
                "set_point": point,
                "low": limits.low,
                "high": limits.high,
                "unit": pattern.unit,
            }
            for point, limits in contents.limits.items()
        ],
        "manoeuvres": [
            {
                "manoeuvre": name,
                "start": each.start,
                "end": each.end,
                "tries": [{"try": number, "direction": way} for number, way in in_turn(each)],
                "values": {value: one.unit for value, one in each.measures.items()},
            }
            for name, each in contents.manoeuvres.items()
        ],
        "sessions": [_session(session, schedule) for session in schedule.sessions],
        "compared_with_naive_order": [
            {"disturbance": row.disturbance, "planned": row.planned, "naive": row.naive}
            for row in compared
        ],
    }


def _session(session: PlannedSession, schedule: Schedule) -> dict[str, Any]:
    return {
        "id": session.id,
        "configuration": session.configuration,
        "letter": session.letter,
        "day": session.day,
        "date": session.date.isoformat() if session.date else None,
        "begins": f"{session.begins:%H:%M:%S}",
        "ends": f"{session.ends:%H:%M:%S}",
        "fit_again": session.fit_again,
        "fuel": session.fuel,
        "fill_before": session.fill_before,
        "runs": [_run(run, session, schedule.pattern.unit) for run in session.runs],
    }


def _run(run: PlannedRun, session: PlannedSession, unit: str) -> dict[str, Any]:
    return {
        "number": run.number,
        "set_point": run.set_point,
        "unit": unit,
        "double_run": run.double_run,
        "direction": run.direction,
        "heading": run.heading,
        "planned": f"{session.clock(run.at):%H:%M:%S}",
        "fill_before": run.fill_before,
    }
