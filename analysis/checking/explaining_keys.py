"""Keys of the files, explained from their schemas: where each stands and what it says."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from slackwater.analysis.checking.explaining import wrapped

KINDS = ("protocol", "trial", "claims", "pool")


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a file.

    Attributes
    ----------
    name : str
    kind : str
        "protocol", "trial", "claims" or "pool".
    path : str
        Dotted, from the top of the file; a name in angle brackets stands for any.
    about : str
    choices : tuple of str
        What may stand there, where that is a list of words.
    example : str
        As JSON, which YAML reads too; empty where there is none.
    """

    name: str
    kind: str
    path: str
    about: str
    choices: tuple[str, ...] = ()
    example: str = ""


@cache
def all_keys() -> tuple[Key, ...]:
    """Every key of every kind of file, each path once."""
    found: dict[tuple[str, str], Key] = {}
    for kind in KINDS:
        schema = json.loads(
            (files("slackwater.protocol.schemas") / f"{kind}.schema.json").read_text("utf-8")
        )
        for key in _walk(schema, schema, kind, "", 0):
            found.setdefault((key.kind, key.path), key)
    return tuple(found.values())


def _walk(node: Any, schema: Any, kind: str, path: str, depth: int) -> Iterator[Key]:
    if not isinstance(node, dict) or depth > 12:
        return
    reference = node.get("$ref", "")
    if reference.startswith("#/$defs/"):
        yield from _walk(schema["$defs"][reference[8:]], schema, kind, path, depth + 1)
    for name, child in node.get("properties", {}).items():
        here = f"{path}.{name}" if path else name
        yield Key(name, kind, here, *_told(child, schema))
        yield from _walk(child, schema, kind, here, depth + 1)
    for part in ("anyOf", "oneOf", "allOf"):
        for child in node.get(part, ()):
            yield from _walk(child, schema, kind, path, depth + 1)
    yield from _walk(node.get("items"), schema, kind, path, depth + 1)
    below = f"{path}.<name>" if path else "<name>"
    for child in (node.get("additionalProperties"), *node.get("patternProperties", {}).values()):
        yield from _walk(child, schema, kind, below, depth + 1)


def _told(child: dict[str, Any], schema: Any) -> tuple[str, tuple[str, ...], str]:
    inner = child
    if "$ref" in child:
        inner = schema["$defs"].get(child["$ref"].removeprefix("#/$defs/"), {})
    about = str(child.get("description") or inner.get("description") or "")
    choices = tuple(str(one) for one in child.get("enum", inner.get("enum", ())))
    examples = child.get("examples") or inner.get("examples") or ()
    return about, choices, json.dumps(examples[0], ensure_ascii=False) if examples else ""


def keys_named(name: str) -> list[Key]:
    """The keys of that name, or at that dotted path, with names that stand for any or without."""
    return [
        key for key in all_keys() if name in (key.name, key.path, key.path.replace("<name>.", ""))
    ]


def as_text(keys: list[Key]) -> str:
    """The keys as plain text."""
    blocks = []
    alike: dict[tuple[str, str], list[Key]] = {}
    for key in keys:
        alike.setdefault((key.kind, key.about), []).append(key)
    for key, *others in alike.values():
        where = "in claims" if key.kind == "claims" else f"in a {key.kind}"
        more = f", and in {len(others)} more places" if others else ""
        lines = [f"{key.path}   ({where}{more})"]
        lines.append(wrapped("", key.about or "No more is to be said of it."))
        below = [k.name for k in all_keys() if k.kind == key.kind and _is_below(k.path, key.path)]
        if below:
            lines.append(wrapped("below it", ", ".join(below)))
        if key.choices:
            lines.append(wrapped("one of", ", ".join(key.choices)))
        if key.example:
            lines.append(wrapped("such as", f"{key.name}: {_plain(key.example)}"))
        blocks.append("\n".join(lines))
    return "\n\n".join([*blocks, "docs/formats.md lists every key of every file."]) + "\n"


def _is_below(path: str, of: str) -> bool:
    rest = path.removeprefix(f"{of}.").removeprefix("<name>.")
    return path.startswith(f"{of}.") and "." not in rest


def _plain(example: str) -> str:
    """An example as YAML people write it: without quotes where none are needed."""
    return example if any(c in example for c in "#&*!|>@`'") else example.replace('"', "")


def as_dict(key: Key) -> dict[str, Any]:
    """The key as JSON carries it."""
    return {
        "key": key.name,
        "file": key.kind,
        "path": key.path,
        "about": key.about,
        "choices": list(key.choices),
        "example": json.loads(key.example) if key.example else None,
    }
