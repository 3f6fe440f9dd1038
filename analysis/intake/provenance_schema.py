"""The JSON Schema of where runs come from, made from the model, so that there is one list of keys."""

from __future__ import annotations

from typing import Any

from slackwater.analysis.wording.json_schema import Schema, an_answer


def provenance_schema(*, table: bool = False) -> Schema:
    """The schema of a provenance as a result carries it, or with the table that was cut."""
    from slackwater.analysis.intake.provenance import Provenance

    whole = Provenance.model_json_schema(by_alias=True)
    made: Schema = inlined(whole, whole.pop("$defs"))
    if not table:
        del made["properties"]["table"]
        made["required"].remove("table")
    return made


def cut_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `logs --trial --format json` writes."""
    return an_answer(
        "Runs cut from logs",
        "What `slackwater logs --trial TRIAL --format json` writes, and RUNS.provenance.json holds: "
        "where every run comes from, and what is no run.",
        **provenance_schema(table=True)["properties"],
    )


def inlined(node: Any, parts: dict[str, Any], name: str = "") -> Any:
    """The schema with every part where it is used, and without generated titles."""
    if isinstance(node, list):
        return [inlined(each, parts) for each in node]
    if not isinstance(node, dict):
        return node
    if "$ref" in node:
        part = parts[node["$ref"].rpartition("/")[2]]
        rest = {key: value for key, value in node.items() if key != "$ref"}
        return inlined({**part, **rest}, parts)
    kept = node if name == "properties" else {k: v for k, v in node.items() if k != "title"}
    return {key: inlined(value, parts, key) for key, value in kept.items()}
