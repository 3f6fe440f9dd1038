"""The JSON Schema of a result, made from its tables and what stands around them."""

from __future__ import annotations

from typing import Any

from slackwater.analysis.handling.tries_schema import try_provenance_schema
from slackwater.analysis.intake.provenance_schema import provenance_schema
from slackwater.analysis.result.fields import SCHEMA_VERSION, TABLES, Field
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

SCHEMA_FILE = "result.schema.json"


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
