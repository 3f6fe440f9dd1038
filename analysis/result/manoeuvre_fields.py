"""The tables of manoeuvres in a result, described field by field."""

from __future__ import annotations

from slackwater.analysis.result.common_fields import CONFIGURATION, NOTE, REASON, SESSION, SET_ASIDE
from slackwater.analysis.result.field import Field

_QUANTITY = Field(
    "quantity", "text", "name of the value under `manoeuvres:`, as in 'time_to_plane'"
)

MANOEUVRE_TABLES: dict[str, tuple[Field, ...]] = {
    "manoeuvres": (
        _QUANTITY,
        Field("title", "text", "as people read it"),
        Field("manoeuvre", "text", "name of the manoeuvre that it is read of"),
        Field("manoeuvre_title", "text", "the same as people read it"),
        Field("start", "text", "the state that every try starts from"),
        Field("end", "text", "what ends a try"),
        Field(
            "directions",
            "text",
            "which directions balance each other",
            choices=("reciprocal", "port_and_starboard", "with_and_against_wind", "one_way"),
        ),
        Field(
            "current",
            "text",
            "what is done with the current",
            choices=("averaged", "drift_taken_out", "none"),
        ),
        Field("tries_declared", "integer", "tries in each direction of a session, as declared"),
        Field("tries", "integer", "tries behind it"),
        Field("set_aside", "integer", "tries of the manoeuvre that were set aside"),
        Field("sessions", "integer", "sessions with a value"),
        Field(
            "scatter",
            "number",
            "standard deviation of a try about its session and direction [fraction, or the unit of "
            "the row]; null where no direction has two tries in a session",
        ),
        Field("scatter_df", "number", "degrees of freedom of it"),
        Field(
            "direction_difference",
            "number",
            "how much the second direction is above the first [fraction, or the unit of the row]",
        ),
        Field("unit", "text", "unit of what is no fraction; empty where both are"),
        REASON,
    ),
    "tries": (
        Field("row", "integer", "row in the file of tries, the heading being row 1"),
        SESSION,
        CONFIGURATION,
        Field("manoeuvre", "text", "name of the manoeuvre"),
        Field("quantity", "text", "name of the value; null for a try without any"),
        Field("direction", "text", "which way; empty where it goes one way"),
        Field(
            "try",
            "integer",
            "counted from 1 within session, manoeuvre and direction; null where it has no number",
        ),
        Field("value", "number", "as read [unit]"),
        Field("unit", "text", "unit of the value"),
        Field("helmsman", "text", "who steered, where that is written down"),
        SET_ASIDE,
        NOTE,
    ),
}
