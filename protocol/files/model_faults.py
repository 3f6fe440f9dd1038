"""What pydantic finds wrong, in plain words and with its place in the file."""

from __future__ import annotations

import re
from collections.abc import Iterable
from types import UnionType
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from slackwater.protocol.catalogue.measures import nearest
from slackwater.protocol.files.source import Document, Loc
from slackwater.protocol.findings import Finding, Severity

# A word in common is not enough: wind_angle is no slip for wind_speed, per_conf one for per_configuration.
_CLOSE = 0.62
_OWN = ("unfit-value", "unknown-key", "missing-key")
MAX_FINDINGS = 60  # a file with more is beside the point in some simple way


def findings_of(
    error: ValidationError, document: Document, model: type[BaseModel]
) -> list[Finding]:
    """Every error of a validation as a finding."""
    errors: list[dict[str, Any]] = [dict(one) for one in error.errors(include_url=False)]
    # A key misspelt is one slip, though it leaves another key missing.
    meant = set()
    for one in errors:
        loc: Loc = tuple(one["loc"])
        if one["type"] == "extra_forbidden":
            meant.add((*loc[:-1], _meant(str(loc[-1]), _model_at(model, loc[:-1]))))
    return [
        _finding(one, document, model)
        for one in errors
        if one["type"] != "missing" or tuple(one["loc"]) not in meant
    ]


def at(
    document: Document,
    loc: Loc,
    message: str,
    fix: str = "",
    *,
    rule: str = "unfit-value",
    key: bool = False,
) -> Finding:
    """An error of a file's content."""
    return Finding(rule, Severity.ERROR, message, fix, document.place(loc, key=key))


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Findings in the order of the file, each once."""

    def key(finding: Finding) -> tuple[str, int, int]:
        place = finding.place
        return (place.file, place.line or 0, place.column or 0) if place else ("", 0, 0)

    return sorted(dict.fromkeys(findings), key=key)


def shortened(findings: list[Finding]) -> list[Finding]:
    """Findings cut where they go on for ever, with the number of those left out."""
    left = len(findings) - MAX_FINDINGS
    if left <= 0:
        return findings
    shown = findings[:MAX_FINDINGS]
    message = f"{left} more {'error is' if left == 1 else 'errors are'} not shown"
    rest = Finding("more", Severity.ERROR, message, "mend the ones above first", shown[-1].place)
    return [*shown, rest]


def _finding(error: dict[str, Any], document: Document, model: type[BaseModel]) -> Finding:
    loc: Loc = tuple(error["loc"])
    kind, context, given = error["type"], error.get("ctx") or {}, error.get("input")
    # pydantic's mark for a fault of the key itself; in the other two it would be the file's own word.
    key = kind not in ("extra_forbidden", "missing") and loc[-1:] == ("[key]",)
    if key:
        loc = loc[:-1]
    if kind in _OWN:
        key = key or kind == "unknown-key"
        return at(document, loc, context["message"], context["fix"], rule=kind, key=key)
    if kind == "extra_forbidden":
        return _unknown_key(loc, document, model)
    if kind == "missing":
        return _missing_key(loc, document, model)
    message, fix = _plain(kind, context, given)
    return at(document, loc, message, fix, key=key)


def _unknown_key(loc: Loc, document: Document, model: type[BaseModel]) -> Finding:
    name = str(loc[-1])
    holder = _model_at(model, loc[:-1])
    known = _keys(holder)
    near = _meant(name, holder)
    fix = f"did you mean '{near}'?" if near else f"known here: {', '.join(known)}"
    if not near and {"further", "note"} <= set(known):
        fix = f"what is no key of its own goes into 'note:', such as note: '{name}: …'; {fix}"
    message = f"the key '{name}' is not known {_under(loc[:-1])}"
    return at(document, loc, message, fix, rule="unknown-key", key=True)


def _meant(name: str, holder: type[BaseModel] | None) -> str | None:
    return nearest(name.replace("-", "_").replace(" ", "_"), _keys(holder), _CLOSE)


def _keys(holder: type[BaseModel] | None) -> list[str]:
    """The keys that a part of a file may have, as they are written."""
    fields = holder.model_fields.items() if holder else ()
    return [field.alias or name for name, field in fields]


def _missing_key(loc: Loc, document: Document, model: type[BaseModel]) -> Finding:
    name = str(loc[-1])
    holder = _model_at(model, loc[:-1])
    about = holder.model_fields[name].description if holder and name in holder.model_fields else ""
    message = f"the key '{name}' is missing {_under(loc[:-1])}"
    fix = (
        f"add '{name}:' ({about[0].lower()}{about[1:].rstrip('.')})" if about else f"add '{name}:'"
    )
    return at(document, loc[:-1], message, fix, rule="missing-key")


def _under(loc: Loc) -> str:
    if not loc:
        return "at the top level"
    words = [str(step) if isinstance(step, str) else f"entry {step + 1}" for step in loc]
    return f"under '{' > '.join(words)}'"


def _plain(kind: str, context: dict[str, Any], given: object) -> tuple[str, str]:
    """Message and mend for what pydantic itself refuses: shapes and choices."""
    shown = _shown(given)
    if kind == "literal_error":
        choices = re.findall(r"'([^']*)'", str(context.get("expected", "")))
        near = nearest(str(given), choices)
        listed = ", ".join(choices[:-1]) + f" or {choices[-1]}" if len(choices) > 1 else choices[0]
        return (
            f"{shown} is not known here; {listed} is needed",
            f"did you mean '{near}'?" if near else "",
        )
    if kind in ("model_type", "model_attributes_type", "dict_type", "mapping_type"):
        return (
            f"{shown} stands here; keys with values are needed",
            "write them indented below, or as {key: value, key: value}",
        )
    if kind in ("tuple_type", "list_type", "iterable_type"):
        return (
            f"{shown} stands here; a list is needed",
            "write [first, second], or '- ' before each",
        )
    if kind == "too_short":
        return (
            "an empty list; one entry at least is needed",
            "write the entries, or take the key away",
        )
    if kind == "too_long":
        return f"more than {context.get('max_length')} entries", "leave some out"
    return f"{shown} does not do here", "see the manual for what may stand here"


def _shown(value: object) -> str:
    if value in ("", None):
        return "nothing"
    if isinstance(value, dict):
        return "a group of keys"
    if isinstance(value, (list, tuple)):
        return "a list"
    text = str(value)
    return f"'{text}'" if len(text) <= 60 else f"'{text[:59]}…'"


def _model_at(model: type[BaseModel], loc: Loc) -> type[BaseModel] | None:
    """The model that reads the part of the file at `loc`."""
    here: Any = model
    for step in loc:
        if isinstance(here, type) and issubclass(here, BaseModel):
            field = here.model_fields.get(str(step))
            here = field.annotation if field else None
        else:
            arguments = [a for a in get_args(here) if a is not Ellipsis]
            here = arguments[-1] if arguments else None
        here = _bare(here)
    return here if isinstance(here, type) and issubclass(here, BaseModel) else None


def _bare(annotation: Any) -> Any:
    """An annotation without `| None`."""
    if get_origin(annotation) in (Union, UnionType):
        kept = [a for a in get_args(annotation) if a is not type(None)]
        return kept[0] if kept else None
    return annotation
