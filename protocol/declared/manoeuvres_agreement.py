"""What manoeuvres have to agree on with the rest of a protocol, and a trial's with its protocol."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from slackwater.protocol.catalogue.manoeuvre_kinds import KINDS
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.declared.from_log import unknown_channel
from slackwater.protocol.files.model_faults import at
from slackwater.protocol.files.source import Document, Loc
from slackwater.protocol.findings import Finding
from slackwater.protocol.units.quantity import QuantityError, normal_unit

#: Columns of a table of tries that are no value.
TRY_COLUMNS = ("session", "manoeuvre", "direction", "try", "helmsman", "set_aside", "note")


def tried_units(data: Mapping[str, Any]) -> dict[str, str | None]:
    """The values that a protocol's text has read of manoeuvres, with their units where these can be told."""
    units: dict[str, str | None] = {}
    for _, name, entry in _values(data):
        kind = KINDS.get(str(entry.get("kind") or name))
        units[name] = kind.unit if kind else None
        written = entry.get("unit")
        if isinstance(written, str):
            try:
                units[name] = normal_unit(written)
            except QuantityError:
                continue
    return units


def manoeuvre_findings(
    document: Document, measures: Collection[str], rated: Collection[str]
) -> Iterator[Finding]:
    """A value has one name: no measure's, no item's, no column's, no other manoeuvre's."""
    yield from _channels(document, measures)
    seen: dict[str, str] = {}
    for manoeuvre, name, _ in _values(document.data):
        where = (
            "the catalogue" * (name in MEASURES)
            or "'measures:'" * (name in measures)
            or "'ratings:'" * (name in rated)
            or "every table of tries" * (name in TRY_COLUMNS)
            or f"the manoeuvre '{seen.get(name)}'" * (name in seen)
        )
        seen.setdefault(name, manoeuvre)
        if where:
            loc: Loc = ("manoeuvres", manoeuvre, "values", name)
            yield at(
                document,
                loc,
                f"'{name}' is a name of {where} already",
                f"give the value a name of its own, such as '{manoeuvre}_{name}', and say its kind",
                key=True,
            )


def _channels(document: Document, measures: Collection[str]) -> Iterator[Finding]:
    """What a value is read from in logs is something that logs hold."""
    for manoeuvre, name, entry in _values(document.data):
        how = entry.get("from_log")
        told: dict[str, Loc] = {}
        if isinstance(how, dict) and isinstance(how.get("channel"), str):
            told[how["channel"]] = ("channel",)
        if isinstance(how, dict) and isinstance(how.get("planing"), dict):
            told |= {str(each): ("planing", str(each)) for each in how["planing"]}
        for channel, loc in told.items():
            fix = unknown_channel(channel, measures)
            if fix is not None:
                yield at(
                    document,
                    ("manoeuvres", manoeuvre, "values", name, "from_log", *loc),
                    f"no log holds '{channel}'",
                    fix,
                    key=len(loc) > 1,
                )


def trial_manoeuvre_findings(document: Document, *, tried: bool) -> Iterator[Finding]:
    """A trial has a table of tries where its protocol has manoeuvres."""
    if tried or "manoeuvres" not in document.data:
        return
    yield at(
        document,
        ("manoeuvres",),
        "the protocol has no manoeuvres",
        "declare what is tried under 'manoeuvres:' in the protocol, or take this away",
        rule="unknown-key",
        key=True,
    )


def _values(data: Mapping[str, Any]) -> Iterator[tuple[str, str, Mapping[str, Any]]]:
    """Each value of each manoeuvre that is shaped like one."""
    manoeuvres = data.get("manoeuvres")
    for manoeuvre, entry in manoeuvres.items() if isinstance(manoeuvres, dict) else ():
        values = entry.get("values") if isinstance(entry, dict) else None
        for name, value in values.items() if isinstance(values, dict) else ():
            yield str(manoeuvre), str(name), value if isinstance(value, dict) else {}
