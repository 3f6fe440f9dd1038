"""The tables of runs and sessions in a result, described field by field."""

from __future__ import annotations

from slackwater.analysis.result.common_fields import (
    AT,
    CONFIGURATION,
    FRACTION,
    HIGH,
    LOW,
    POSITION,
    QUANTITY,
    SESSION,
    UNIT,
)
from slackwater.analysis.result.field import Field

NOISE_COMPONENTS = ("between sessions", "session by set point", "within session (runs)")

SESSION_TABLES: dict[str, tuple[Field, ...]] = {
    "current": (
        SESSION,
        Field("outing", "integer", "outing it belongs to, counted from 1"),
        Field("at", "text", "time, ISO 8601"),
        Field("value", "number", "current along the course, with the outward runs positive [unit]"),
        LOW,
        HIGH,
        UNIT,
    ),
    "current_runs": (
        SESSION,
        Field("outing", "integer", "outing it belongs to, counted from 1"),
        Field("at", "text", "middle of the run, ISO 8601"),
        Field("value", "number", "the current as this run alone shows it [unit]"),
        UNIT,
        Field("direction", "text", "of the run", choices=("out", "back")),
        Field("set_point", "text", "set point of the run with its unit"),
    ),
    "noise": (
        QUANTITY,
        Field("component", "text", "where the scatter arises", choices=NOISE_COMPONENTS),
        Field("value", "number", f"standard deviation {FRACTION}"),
        LOW,
        HIGH,
        Field("sessions", "integer", "sessions it was estimated from"),
        Field("unit", "text", "empty for a fraction, else the unit of the standard deviation"),
    ),
    "session_values": (
        SESSION,
        CONFIGURATION,
        Field("date", "text", "day of the session, ISO 8601"),
        QUANTITY,
        AT,
        POSITION,
        Field("value", "number", "the session's own value [unit]"),
        UNIT,
        Field("double_runs", "integer", "double runs behind it"),
    ),
    "conditions": (
        SESSION,
        CONFIGURATION,
        Field("date", "text", "day of the session, ISO 8601; null where none is given"),
        Field("condition", "text", "what was noted of the session, as in 'wind_speed'"),
        Field("value", "number", "as it was noted [unit]"),
        UNIT,
    ),
    "set_aside": (
        Field("row", "integer", "row in the file of runs, the heading being row 1"),
        SESSION,
        Field("set_point", "text", "set point of the run with its unit"),
        Field("double_run", "integer", "counted from 1 within session and set point"),
        Field("direction", "text", "out or back"),
        Field("reason", "text", "why the run was left out"),
    ),
}
