"""What the JSON Schemas of the answers share: plain types, and a finding."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

Schema = dict[str, Any]

DRAFT = "https://json-schema.org/draft/2020-12/schema"
TEXT: Schema = {"type": "string"}
FLAG: Schema = {"type": "boolean"}
NUMBER: Schema = {"type": "number"}
COUNT: Schema = {"type": "integer", "minimum": 0}
TEXTS: Schema = {"type": "array", "items": TEXT}
SHA256: Schema = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
TEXT_OR_NULL: Schema = {"type": ["string", "null"]}
NUMBER_OR_NULL: Schema = {"type": ["number", "null"]}
COUNT_OR_NULL: Schema = {"type": ["integer", "null"]}
SHA256_OR_NULL: Schema = {"anyOf": [SHA256, {"type": "null"}]}
FINDING: Schema = {
    "type": "object",
    "required": ["rule", "severity", "session", "message"],
    "properties": {
        "rule": {**TEXT, "description": "id of the rule, kebab case"},
        "severity": {"enum": ["error", "warning", "advice"]},
        "file": TEXT_OR_NULL,
        "line": {**COUNT_OR_NULL, "description": "counted from 1"},
        "column": {**COUNT_OR_NULL, "description": "counted from 1"},
        "session": TEXT_OR_NULL,
        "run": TEXT_OR_NULL,
        "message": {**TEXT, "description": "what was found and what is needed"},
        "fix": {**TEXT, "description": "what to do"},
        "source": {**TEXT, "description": "the standard or text behind the rule"},
    },
}


def described(schema: Schema, about: str) -> Schema:
    """A schema with a word on what it is, units in square brackets."""
    return {**schema, "description": about}


def an_object(**properties: Schema) -> Schema:
    """An object that has all of these; further keys are allowed, so that a later version may add."""
    return {"type": "object", "required": list(properties), "properties": properties}


def with_optional(schema: Schema, **properties: Schema) -> Schema:
    """An object that may have these as well."""
    return {**schema, "properties": {**schema["properties"], **properties}}


def one_of(words: Iterable[str]) -> Schema:
    """One of these words."""
    return {"enum": [str(word) for word in words]}


def counts_of(words: Iterable[str]) -> Schema:
    """How many there are of each of these, nought too."""
    return an_object(**{str(word): COUNT for word in words})


def a_list(items: Schema, about: str = "") -> Schema:
    """A list of them."""
    return {"type": "array", "items": items} | ({"description": about} if about else {})


def an_input(*roles: str) -> Schema:
    """A file that was read, with the hash of its bytes; `roles` where it can have no other."""
    return an_object(role=one_of(roles) if roles else TEXT, name=TEXT, sha256=SHA256)


def or_null(schema: Schema, about: str = "") -> Schema:
    """The same, or null for what there is not."""
    return {"anyOf": [schema, {"type": "null"}]} | ({"description": about} if about else {})


def an_answer(title: str, about: str, /, **properties: Schema) -> Schema:
    """The whole schema of an answer, whose first keys all of them have."""
    head = {
        "schema": {"const": 1, "description": "version of this description"},
        "tool": an_object(name=TEXT, version=TEXT),
    }
    whole = an_object(**head, **properties)
    return {"$schema": DRAFT, "title": title, "description": about, **whole}


#: What a seal says of a file.
SEAL: Schema = an_object(
    state={"enum": ["none", "kept", "late", "changed", "unreadable"]},
    message=TEXT,
    made=described(TEXT_OR_NULL, "ISO 8601, by the maker's own clock"),
    file=TEXT_OR_NULL,
    sha256=described(SHA256_OR_NULL, "of the seal's own bytes"),
    claims={"enum": ["kept", "changed", None]},
)
