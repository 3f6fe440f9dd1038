"""JSON Schemas of the files, for editors: `python -m slackwater.protocol.schemas.making` writes them anew.

They are made from the models, so that there is one list of keys. A schema cannot say all that the
models check (whether 5 kg is a speed, say); it says what helps while typing.
"""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from slackwater.protocol.claims.claim import Claims
from slackwater.protocol.declared.pool import Pool, PooledTrial
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.trial import Trial
from slackwater.protocol.units.quantity import Quantity

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def protocol_schema() -> dict[str, Any]:
    """The JSON Schema of a protocol file."""
    return _document("Protocol of an on-water trial", Protocol.model_json_schema())


def trial_schema() -> dict[str, Any]:
    """The JSON Schema of a trial file, with that of a protocol written out in it."""
    schema = Trial.model_json_schema()
    inline = Protocol.model_json_schema()
    definitions = schema.setdefault("$defs", {})
    definitions.update(inline.pop("$defs"))
    definitions["Protocol"] = inline
    reference = schema["properties"]["protocol"]
    about = reference.pop("description")
    schema["properties"]["protocol"] = {
        "description": about,
        "type": ["string", "object"],
        "minLength": 1,
        "examples": ["two-way-sweep"],
        # Not a choice of two schemas, so that an editor tells what is wrong inside the protocol.
        "if": {"type": "object"},
        "then": {"$ref": "#/$defs/Protocol"},
    }
    return _document("On-water trial", schema)


def claims_schema() -> dict[str, Any]:
    """The JSON Schema of a file of claims."""
    return _document("Published claims", Claims.model_json_schema())


def pool_schema() -> dict[str, Any]:
    """The JSON Schema of a pool file."""
    schema = Pool.model_json_schema()
    schema["properties"]["trials"]["items"] = {
        "anyOf": [{"type": "string", "minLength": 1}, {"$ref": f"#/$defs/{PooledTrial.__name__}"}]
    }
    return _document("Pool of trials of the same change on several boats", schema)


SCHEMAS = {
    "protocol.schema.json": protocol_schema,
    "trial.schema.json": trial_schema,
    "claims.schema.json": claims_schema,
    "pool.schema.json": pool_schema,
}


def render(name: str) -> str:
    """One of the schemas as the text of its file."""
    return json.dumps(SCHEMAS[name](), indent=2, ensure_ascii=False) + "\n"


def _document(title: str, schema: dict[str, Any]) -> dict[str, Any]:
    tidy = _tidy(schema)
    definitions = tidy.pop("$defs", {})
    tidy = {"$schema": DRAFT, "title": title, **tidy}
    limits: dict[str, str] = {}
    for part in (tidy, definitions.get("Protocol", {})):
        _share_limits(part, definitions, limits)
    return {**tidy, "$defs": dict(sorted(definitions.items()))}


def _tidy(node: Any, name: str = "") -> Any:
    """Take out what says nothing to a person: generated titles, and null, which YAML here has not."""
    if isinstance(node, list):
        return [_tidy(one) for one in node]
    if not isinstance(node, dict):
        return node
    if name in ("properties", "$defs", "patternProperties"):
        return {key: _tidy(value) for key, value in node.items()}
    kept = {key: _tidy(value, key) for key, value in node.items() if key != "title"}
    if kept.get("default", "") in (None, ""):
        kept.pop("default", None)
    if isinstance(kept.get("default"), dict) and "unit" in kept["default"]:
        kept["default"] = str(Quantity(**node["default"]))
    choices = [one for one in kept.get("anyOf", []) if one != {"type": "null"}]
    if len(choices) == 1:
        del kept["anyOf"]
        kept = {**choices[0], **kept}
    if "patternProperties" in kept:
        kept.setdefault("additionalProperties", False)
    return kept


def _share_limits(part: dict[str, Any], definitions: dict[str, Any], seen: dict[str, str]) -> None:
    """Give limits that are alike one definition, so that the file can be read."""
    for group in ("loading", "conditions"):
        holder = part.get("properties", {}).get(group, {})
        for key in ("properties", "patternProperties"):
            for name, limit in holder.get(key, {}).items():
                text = json.dumps(limit, sort_keys=True)
                label = "any" if key == "patternProperties" else name
                if text not in seen:
                    seen[text] = f"limit_{label}"
                    definitions[seen[text]] = limit
                holder[key][name] = {"$ref": f"#/$defs/{seen[text]}"}


def main() -> None:
    """Write the schema files beside this module."""
    folder = Path(str(files("slackwater.protocol.schemas")))
    for name in SCHEMAS:
        (folder / name).write_text(render(name), encoding="utf-8")


if __name__ == "__main__":
    main()
