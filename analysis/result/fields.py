"""The result described field by field; the tables, their checks and the JSON Schema are made from it."""

from __future__ import annotations

from typing import Any

from slackwater.analysis.handling.tries_schema import try_provenance_schema
from slackwater.analysis.intake.provenance_schema import provenance_schema
from slackwater.analysis.ratings.guessed import Blindness
from slackwater.analysis.result.field import Field
from slackwater.analysis.result.manoeuvre_fields import MANOEUVRE_TABLES
from slackwater.analysis.verdict.verdicts import Word, Worth
from slackwater.analysis.wording.json_schema import (
    COUNT,
    DRAFT,
    FINDING,
    SHA256,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    an_input,
    an_object,
    or_null,
)

SCHEMA_VERSION = 1
SCHEMA_FILE = "result.schema.json"

VERDICTS = tuple(word.value for word in Word)
BLINDING = tuple(word.value for word in Blindness)
WORTH = tuple(word.value for word in Worth)
NOISE_COMPONENTS = ("between sessions", "session by set point", "within session (runs)")


_AT = Field("at", "text", "where: the set point or speed with its unit, as in '2500 rpm'")
_POSITION = Field("position", "number", "the number in `at`, for ordering and drawing [its unit]")
_QUANTITY = Field("quantity", "text", "name in the catalogue of measures, as in 'fuel_flow'")
_SESSION = Field("session", "text", "id of the session")
_UNIT = Field("unit", "text", "unit of the values in this row; empty for a plain fraction")
_LOW = Field("low", "number", "lower end of the interval [as the value]")
_HIGH = Field("high", "number", "upper end of the interval [as the value]")
_FRACTION = "[fraction of the baseline; on the scale 'difference' the unit of the row]"

#: What a verdict leans on, as far as it can be looked at.
LEANINGS = (
    "outlying session",
    "one session left out",
    "trend",
    "current",
    "even noise",
    "earlier trials",
    "order drawn",
)

TABLES: dict[str, tuple[Field, ...]] = {
    "set_points": (
        Field("configuration", "text", "id of the configuration"),
        _QUANTITY,
        _AT,
        _POSITION,
        Field("mean", "number", "mean over the sessions [unit]"),
        Field("low", "number", "lower end of the interval of the mean [unit]"),
        Field("high", "number", "upper end of the interval of the mean [unit]"),
        _UNIT,
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
    "comparisons": (
        Field("baseline", "text", "id of the configuration compared with"),
        Field("modified", "text", "id of the configuration under test"),
        _QUANTITY,
        _AT,
        _POSITION,
        Field("baseline_mean", "number", "mean of the baseline [unit]"),
        Field("modified_mean", "number", "mean of the modified configuration [unit]"),
        _UNIT,
        Field("change", "number", f"modified against baseline {_FRACTION}"),
        Field("low", "number", f"lower end of the interval of the change {_FRACTION}"),
        Field("high", "number", f"upper end of the interval of the change {_FRACTION}"),
        Field("confidence", "number", "confidence of the interval [fraction]"),
        Field("simultaneous", "flag", "whether the interval holds for the whole family at once"),
        Field("family", "integer", "comparisons in that family"),
        Field(
            "p_value",
            "number",
            "two-sided, adjusted over the family by the steps that decide; at most 1 less confidence "
            "exactly where the difference is established",
        ),
        Field("noise_floor", "number", f"smallest difference that could be told {_FRACTION}"),
        Field("worthwhile", "number", f"smallest difference that would matter {_FRACTION}"),
        Field("verdict", "text", "the verdict in a word", choices=VERDICTS),
        Field(
            "declared",
            "flag",
            "declared beforehand (true) or found afterwards (false); null where no seal tells",
            required=False,
        ),
        Field(
            "deciding",
            "flag",
            "of the figure declared to decide (true), or a further figure; null where none is",
            required=False,
        ),
        Field("final", "flag", "whether the verdict is final; not at a look part-way", False),
        Field(
            "worth",
            "text",
            "how the size of the change, gain or loss, stands to `worthwhile`",
            required=False,
            choices=WORTH,
        ),
        Field(
            "equivalence_p",
            "number",
            "larger p of two one-sided tests, adjusted over the family",
            required=False,
        ),
        Field(
            "equivalence_low",
            "number",
            f"lower bound of the one-sided tests {_FRACTION}",
            required=False,
        ),
        Field(
            "equivalence_high",
            "number",
            f"upper bound of the one-sided tests {_FRACTION}",
            required=False,
        ),
        Field(
            "no_loss_p",
            "number",
            "one-sided, adjusted over the family, against a loss that would matter",
            required=False,
        ),
        Field(
            "no_loss_bound",
            "number",
            f"largest loss not ruled out, signed as a change {_FRACTION}",
            required=False,
        ),
        Field("reason", "text", "why the verdict is what it is, above all why untestable"),
        Field("degrees_of_freedom", "number", "between sessions, those of earlier trials included"),
        Field("scale", "text", "how the change is expressed", choices=("ratio", "difference")),
        Field("better", "text", "which side is better", required=False, choices=("more", "less")),
        Field("sessions_baseline", "integer", "sessions with the baseline fitted"),
        Field("sessions_modified", "integer", "sessions with the modified configuration fitted"),
        Field(
            "vanishes_at",
            "number",
            f"between-session noise that would account for an untestable difference {_FRACTION}",
            required=False,
        ),
        Field(
            "shared_uncertainty",
            "number",
            f"standard uncertainty of instruments that does not cancel {_FRACTION}",
            required=False,
        ),
        Field(
            "curve_uncertainty",
            "number",
            "standard uncertainty from reading between the set points and from declared "
            f"corrections {_FRACTION}",
            required=False,
        ),
    ),
    "cross_check": (
        Field("baseline", "text", "id of the configuration compared with"),
        Field("modified", "text", "id of the configuration under test"),
        _QUANTITY,
        _AT,
        Field("change", "number", f"as in `comparisons` {_FRACTION}"),
        Field("standard_error", "number", "of the change, on the scale of the analysis"),
        Field("mixed_model_change", "number", f"by statsmodels' mixed model {_FRACTION}"),
        Field("mixed_model_error", "number", "its standard error, on the scale of the analysis"),
        Field("t_test_low", "number", f"95 % interval of Welch's t-test by itself {_FRACTION}"),
        Field("t_test_high", "number", f"95 % interval of Welch's t-test by itself {_FRACTION}"),
        Field("t_test_p", "number", "p of Welch's t-test by itself, by pingouin"),
    ),
    "leanings": (
        Field("baseline", "text", "id of the configuration compared with"),
        Field("modified", "text", "id of the configuration under test"),
        Field("quantity", "text", "the figure whose verdicts are looked at"),
        Field("check", "text", "which assumption", choices=LEANINGS),
        Field("session", "text", "session that it is about"),
        Field("value", "number", "the figure; a fraction of the baseline, a factor or a count"),
        Field("p_value", "number", "how often chance alone does as much"),
        Field("remark", "flag", "it departs from what is assumed"),
        Field("message", "text", "in a sentence, with what it would change"),
    ),
    "stretches": (
        Field("baseline", "text", "id of the configuration compared with"),
        Field("modified", "text", "id of the configuration under test"),
        _QUANTITY,
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
        _LOW,
        _HIGH,
        _UNIT,
        Field("note", "text", "what it rests on"),
    ),
    "corrections": (
        Field("of", "text", "what differed between the sessions"),
        _QUANTITY,
        Field("baseline", "text", "id of the configuration compared with"),
        Field("modified", "text", "id of the configuration under test"),
        _AT,
        _POSITION,
        Field("size", "number", "what was taken out of the change [fraction of the baseline]"),
        Field("uncertainty", "number", "its standard uncertainty [fraction of the baseline]"),
        Field("change", "number", "the change that is left [fraction of the baseline]"),
        Field("how", "text", "where its size is from", choices=("declared", "estimated")),
        Field("source", "text", "as the trial gives it"),
    ),
    "current": (
        _SESSION,
        Field("outing", "integer", "outing it belongs to, counted from 1"),
        Field("at", "text", "time, ISO 8601"),
        Field("value", "number", "current along the course, with the outward runs positive [unit]"),
        _LOW,
        _HIGH,
        _UNIT,
    ),
    "current_runs": (
        _SESSION,
        Field("outing", "integer", "outing it belongs to, counted from 1"),
        Field("at", "text", "middle of the run, ISO 8601"),
        Field("value", "number", "the current as this run alone shows it [unit]"),
        _UNIT,
        Field("direction", "text", "of the run", choices=("out", "back")),
        Field("set_point", "text", "set point of the run with its unit"),
    ),
    "noise": (
        _QUANTITY,
        Field("component", "text", "where the scatter arises", choices=NOISE_COMPONENTS),
        Field("value", "number", f"standard deviation {_FRACTION}"),
        _LOW,
        _HIGH,
        Field("sessions", "integer", "sessions it was estimated from"),
        Field("unit", "text", "empty for a fraction, else the unit of the standard deviation"),
    ),
    "session_values": (
        _SESSION,
        Field("configuration", "text", "id of the configuration"),
        Field("date", "text", "day of the session, ISO 8601"),
        _QUANTITY,
        _AT,
        _POSITION,
        Field("value", "number", "the session's own value [unit]"),
        _UNIT,
        Field("double_runs", "integer", "double runs behind it"),
    ),
    "ratings": (
        _QUANTITY,
        Field("title", "text", "the item as people read it"),
        Field("asks", "text", "the question as it was put"),
        Field("scale", "text", "whether steps are alike", choices=("ordinal", "interval")),
        Field("lowest", "integer", "score at the low end [points]"),
        Field("highest", "integer", "score at the high end [points]"),
        Field("lowest_means", "text", "anchor of the low end"),
        Field("highest_means", "text", "anchor of the high end"),
        Field("blinding", "text", "whether the raters were blind", choices=BLINDING),
        Field("blinding_why", "text", "the same in a sentence"),
        Field("raters", "integer", "raters whose scores count"),
        Field("whole_raters", "integer", "those who scored every session; ICC and W rest on them"),
        Field("scores", "integer", "scores behind it"),
        Field("icc", "number", "ICC, two-way, absolute, of one rater [1]"),
        Field("icc_low", "number", "lower limit of it, 95 % [1]"),
        Field("icc_high", "number", "upper limit of it, 95 % [1]"),
        Field("icc_mean", "number", "ICC, two-way, absolute, of the raters' mean [1]"),
        Field("icc_mean_low", "number", "lower limit of it, 95 % [1]"),
        Field("icc_mean_high", "number", "upper limit of it, 95 % [1]"),
        Field("kendall_w", "number", "Kendall's W, ties allowed for [1]"),
        Field("kendall_p", "number", "how often chance alone gives as much"),
        Field("alpha", "number", "Krippendorff's alpha, ordinal [1]"),
        Field("agreement_p", "number", "how often raters who agree on nothing differ as much"),
        Field("agrees", "flag", "the raters agree on how the sessions differ"),
        Field("at_lowest", "number", "part of the scores at the low end [fraction]"),
        Field("at_highest", "number", "part of the scores at the high end [fraction]"),
        Field("reason", "text", "why no verdict can be given; empty where one can"),
    ),
    "rating_scores": (
        Field("row", "integer", "row in the file of ratings, the heading being row 1"),
        _SESSION,
        Field("configuration", "text", "id of the configuration"),
        _QUANTITY,
        Field("rater", "text", "who scored"),
        Field("score", "number", "as scored [points]"),
        Field("guess", "text", "configuration that the rater took to be fitted, or 'unsure'"),
        Field("set_aside", "text", "why it was left out; empty for one that counts"),
        Field("note", "text", "what was noted with it"),
    ),
    "rating_ranks": (
        Field("baseline", "text", "id of the configuration compared with"),
        Field("modified", "text", "id of the configuration under test"),
        _QUANTITY,
        _AT,
        Field(
            "change",
            "number",
            "how much more often the modified is scored above the baseline than below it, by the "
            "same rater [fraction]",
        ),
        _LOW,
        _HIGH,
        Field("p_value", "number", "as in `comparisons`, of the ranks"),
        Field("verdict", "text", "what ranks would say; no verdict", choices=VERDICTS),
        Field("same", "flag", "they establish a difference where the points do, and not elsewhere"),
        Field("raters_up", "integer", "raters whose own mean is higher with the modified"),
        Field("raters_down", "integer", "raters whose own mean is lower with the modified"),
    ),
    "blinding": (
        Field("index", "text", "which index", choices=("Bang", "James")),
        Field("configuration", "text", "what was fitted; null for all together"),
        Field("value", "number", "Bang: 0 as by chance, 1 all right; James: 0.5 and 0 [1]"),
        _LOW,
        _HIGH,
        Field("right", "integer", "guesses that were right"),
        Field("wrong", "integer", "guesses that were wrong"),
        Field("unsure", "integer", "raters who did not want to guess"),
    ),
    **MANOEUVRE_TABLES,
    "conditions": (
        _SESSION,
        Field("configuration", "text", "id of the configuration"),
        Field("date", "text", "day of the session, ISO 8601; null where none is given"),
        Field("condition", "text", "what was noted of the session, as in 'wind_speed'"),
        Field("value", "number", "as it was noted [unit]"),
        _UNIT,
    ),
    "set_aside": (
        Field("row", "integer", "row in the file of runs, the heading being row 1"),
        _SESSION,
        Field("set_point", "text", "set point of the run with its unit"),
        Field("double_run", "integer", "counted from 1 within session and set point"),
        Field("direction", "text", "out or back"),
        Field("reason", "text", "why the run was left out"),
    ),
}


def _head() -> dict[str, dict[str, Any]]:
    return {
        "schema": {"const": SCHEMA_VERSION, "description": "version of this description"},
        "tool": an_object(name=TEXT, version=TEXT),
        "trial": {**TEXT, "description": "id of the trial"},
        "title": TEXT,
        "boat": TEXT,
        "protocol": an_object(id=TEXT, version=TEXT, sha256=SHA256, title=TEXT),
        "seal": an_object(
            state={"enum": ["none", "kept", "late", "changed", "unreadable"]},
            message=TEXT,
            made={**TEXT_OR_NULL, "description": "ISO 8601, by the maker's own clock"},
            file=TEXT_OR_NULL,
            claims={"enum": ["kept", "changed", None]},
        ),
        "deciding": {
            "anyOf": [
                {"type": "null"},
                an_object(
                    figure={**TEXT, "description": "as the protocol declares it"},
                    told={"type": "boolean", "description": "the trial gives it"},
                    error={"type": "number", "description": "chance of a false difference in it"},
                    further={"type": "integer", "description": "further sweeps and figures"},
                    further_error={
                        "type": "number",
                        "description": "chance that any of them names a false difference, at most",
                    },
                ),
            ],
            "description": "the figure declared to decide; null where none is",
        },
        "doubts": {
            "type": "array",
            "items": TEXT,
            "description": "runs in doubt, and what the verdicts would be without them",
        },
        "configurations": {
            "type": "object",
            "additionalProperties": TEXT,
            "description": "title of each configuration by its id",
        },
        "inputs": {
            "type": "array",
            "items": an_input("trial", "protocol", "runs", "log", "ratings", "manoeuvres"),
        },
        "runs": an_object(read=COUNT, used=COUNT, set_aside=COUNT),
        "provenance": or_null(
            provenance_schema(), "the logs that the runs were cut from; null where none are known"
        ),
        "tries_provenance": or_null(
            try_provenance_schema(),
            "the logs that the tries of manoeuvres were found in; null where none are known",
        ),
    }


def _tail() -> dict[str, dict[str, Any]]:
    return {
        "deviations": {
            "type": "array",
            "items": FINDING,
            "description": "where the trial, as run, departs from its protocol",
        },
        "findings": {"type": "array", "items": FINDING},
        "remarks": {**TEXTS, "description": "what the figures do not say by themselves"},
        "method": {**TEXTS, "description": "how the figures were got, a paragraph each"},
        "sources": TEXTS,
        "waivers": {**TEXTS, "description": "rules waived, with the reason given"},
    }


def _row_schema(fields: tuple[Field, ...]) -> dict[str, Any]:
    types = {"text": "string", "number": "number", "integer": "integer", "flag": "boolean"}
    properties: dict[str, Any] = {}
    for field in fields:
        if field.choices:
            properties[field.name] = {"enum": [*field.choices, None], "description": field.about}
        else:
            kind = [types[field.kind], "null"]
            properties[field.name] = {"type": kind, "description": field.about}
    return {
        "type": "object",
        "required": [field.name for field in fields],
        "properties": properties,
    }


def result_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of the result object.

    Keys beside the ones described are allowed, so that a later version may add to it.
    """
    tables = {
        name: {"type": "array", "items": _row_schema(fields)} for name, fields in TABLES.items()
    }
    properties = {**_head(), **tables, **_tail()}
    return {
        "$schema": DRAFT,
        "title": "Result of a trial",
        "description": "What `slackwater analyse --format json` writes. "
        "null stands for what cannot be computed; there is no NaN.",
        "type": "object",
        "required": list(properties),
        "properties": properties,
    }
