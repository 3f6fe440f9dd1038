"""The tables of set points and of the whole sweep in a result, described field by field."""

from __future__ import annotations

from slackwater.analysis.result.common_fields import (
    AT,
    BASELINE,
    CONFIGURATION,
    HIGH,
    LOW,
    MODIFIED,
    POSITION,
    QUANTITY,
    UNIT,
    VERDICTS,
)
from slackwater.analysis.result.field import Field

SWEEP_TABLES: dict[str, tuple[Field, ...]] = {
    "set_points": (
        CONFIGURATION,
        QUANTITY,
        AT,
        POSITION,
        Field("mean", "number", "mean over the sessions [unit]"),
        Field("low", "number", "lower end of the interval of the mean [unit]"),
        Field("high", "number", "upper end of the interval of the mean [unit]"),
        UNIT,
        Field("sessions", "integer", "sessions behind it"),
        Field("double_runs", "integer", "double runs behind it, in all sessions"),
        Field(
            "calibration",
            "number",
            "standard uncertainty of the level from the instruments as declared, which is not in the "
            "interval and cancels in a change where they served both configurations [unit]",
            required=False,
        ),
    ),
    "stretches": (
        BASELINE,
        MODIFIED,
        QUANTITY,
        Field("from", "number", "where the stretch of the axis begins [unit]"),
        Field("to", "number", "where it ends [unit]"),
        Field("unit", "text", "unit of the axis: of the set points, or of speed"),
        Field("verdict", "text", "what holds all along the stretch", choices=VERDICTS),
        Field("confidence", "number", "of the statement on the whole axis [fraction]"),
    ),
    "figures": (
        Field("name", "text", "what it is"),
        Field("configuration", "text", "id of the configuration, where it belongs to one"),
        Field("at", "text", "where, with its unit; null for the whole boat"),
        Field("value", "number", "the figure [unit]"),
        LOW,
        HIGH,
        UNIT,
        Field("note", "text", "what it rests on"),
    ),
    "corrections": (
        Field("of", "text", "what differed between the sessions"),
        QUANTITY,
        BASELINE,
        MODIFIED,
        AT,
        POSITION,
        Field("size", "number", "what was taken out of the change [fraction of the baseline]"),
        Field("uncertainty", "number", "its standard uncertainty [fraction of the baseline]"),
        Field("change", "number", "the change that is left [fraction of the baseline]"),
        Field("how", "text", "where its size is from", choices=("declared", "estimated")),
        Field("source", "text", "as the trial gives it"),
    ),
}
