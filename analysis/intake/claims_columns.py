"""The columns of a published table: what each holds, of which quantity, and with which configuration."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from slackwater.analysis.intake.grid import Row, plain, quoted
from slackwater.analysis.intake.headings import split_heading, squash
from slackwater.analysis.intake.problems import Problems
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.claims.figure_units import plain_units
from slackwater.protocol.units.quantity import QuantityError, normal_unit, same_dimension

#: Headings that are known, without case, spaces and strokes.
KNOWN = {
    "at": ("at", "setpoint", "rpm", "enginespeed", "revs", "speedsetting", "throttle"),
    "baseline": ("baseline", "before", "old", "original", "standard", "without"),
    "modified": ("modified", "after", "new", "with", "fitted"),
    "difference": ("difference", "diff", "gainabsolute", "delta"),
    "change": (
        "change", "changepercent", "gain", "improvement", "statedchange", "percent", "change%",
    ),
    "quantity": ("quantity", "measure"),
    "configuration": ("configuration", "config", "setup", "propeller", "variant", "condition"),
    "says": ("says", "text", "note", "remark"),
}  # fmt: skip
_BY_NAME = {name: key for key, names in KNOWN.items() for name in names}
_FIGURES = ("baseline", "modified", "difference", "change")
#: Everyday words for quantities in headings; the longer ones stand first.
_WORDS = {
    "fuel per distance": "fuel_per_distance",
    "fuel consumption": "fuel_flow",
    "fuel flow": "fuel_flow",
    "fuel burn": "fuel_flow",
    "fuel used": "fuel_flow",
    "top speed": "top_speed",
    "consumption": "fuel_flow",
    "economy": "economy",
    "mileage": "economy",
    "range": "range",
    "speed": "speed",
    "slip": "slip",
    "fuel": "fuel_flow",
    "power": "shaft_power",
    "mpg": "economy",
}
#: The quantity that a unit stands for, when none is named.
_BY_UNIT = {
    "kn": "speed",
    "L/h": "fuel_flow",
    "nmi/L": "economy",
    "L/nmi": "fuel_per_distance",
    "nmi": "range",
    "kW": "shaft_power",
}


@dataclass(frozen=True, slots=True)
class Field:
    """A column of the table: what it holds, the unit in its heading, and a name of its own there."""

    index: int
    unit: str
    name: str = ""


@dataclass(slots=True)
class Group:
    """The columns of one quantity; `quantity` is empty where neither a word nor a unit tells it."""

    quantity: str = ""
    fields: dict[str, Field] = field(default_factory=dict)
    unnamed: list[Field] = field(default_factory=list)


@dataclass(slots=True)
class Columns:
    """All columns: those that a row has once, and those of each quantity."""

    once: dict[str, Field] = field(default_factory=dict)
    groups: list[Group] = field(default_factory=list)


def score(cells: Sequence[str]) -> int:
    """How much a row looks like the heading of a published table."""
    known = sum(squash(_without_quantity(split_heading(cell)[0])[1]) in _BY_NAME for cell in cells)
    units = sum(split_heading(cell)[1] is not None for cell in cells)
    return 2 * known + units


def columns_of(header: Row, problems: Problems) -> Columns:
    """The columns of a heading row, with everything that is wrong with them told."""
    out = Columns()
    for index, cell in enumerate(header.cells):
        heading, unit_text = split_heading(plain(cell))
        if heading:
            unit = _unit(unit_text or "", header, index, problems)
            _place(out, heading, unit, header, index, problems)
    for group in out.groups:
        _fill(group, header, problems, stacked="configuration" in out.once)
    if not any(group.fields for group in out.groups):
        problems.error(
            "no-figures",
            "no column holds a figure that could be audited",
            "name the columns 'baseline [kn]', 'modified [kn]', 'change [%]'",
            row=header,
        )
    return out


def _unit(text: str, header: Row, index: int, problems: Problems) -> str:
    if not text:
        return ""
    try:
        return normal_unit(plain_units(text)[0])
    except QuantityError as error:
        problems.error("unknown-unit", error.message, error.fix, row=header, index=index)
        return ""


def _without_quantity(heading: str) -> tuple[str, str]:
    """The quantity that a heading names, and the heading without its name."""
    text = " ".join(re.split(r"[\s_/,-]+", heading)).strip()
    for words, quantity in _WORDS.items():
        found = re.search(rf"\b{words}\b", text, re.IGNORECASE)
        if found is not None and squash(text) not in _BY_NAME:
            rest = f"{text[: found.start()]} {text[found.end() :]}"
            return quantity, " ".join(rest.split())
    return "", text


def _place(
    out: Columns, heading: str, unit: str, header: Row, index: int, problems: Problems
) -> None:
    quantity, rest = _without_quantity(heading)
    key = _BY_NAME.get(squash(rest), "") if rest else ""
    if key and key not in _FIGURES:
        _once(out, key, Field(index, unit), heading, header, problems)
        return
    if not key and not unit and not quantity:
        _unknown(heading, header, index, problems)
        return
    if (
        not key
        and not quantity
        and "at" not in out.once
        and not out.groups
        and unit in ("rpm", "%")
    ):
        out.once["at"] = Field(index, unit)
        return
    group = _group(out, quantity, key, unit)
    name = "" if squash(rest) == key else rest
    if not key:
        group.unnamed.append(Field(index, unit, name or heading))
    elif key in group.fields:
        _twice(heading, header, index, problems)
    else:
        group.fields[key] = Field(index, unit, name)


def _once(
    out: Columns, key: str, own: Field, heading: str, header: Row, problems: Problems
) -> None:
    if key in out.once:
        _twice(heading, header, own.index, problems)
    out.once.setdefault(key, own)


def _group(out: Columns, quantity: str, key: str, unit: str) -> Group:
    """The group that a column belongs to: by its quantity, its unit, or the one before it."""
    if not quantity and (key == "change" or unit in ("", "%")) and out.groups:
        return out.groups[-1]
    named = quantity or of_unit(unit)
    for group in out.groups:
        if group.quantity == named or (not named and key not in group.fields):
            return group
    if len(out.groups) == 1 and not quantity and not out.groups[0].quantity:
        out.groups[0].quantity = named
        return out.groups[0]
    out.groups.append(Group(named))
    return out.groups[-1]


def of_unit(unit: str) -> str:
    """The quantity that a unit stands for; empty where it stands for none."""
    if not unit:
        return ""
    for like, quantity in _BY_UNIT.items():
        if same_dimension(unit, like):
            return quantity if quantity in MEASURES else ""
    return ""


def _fill(group: Group, header: Row, problems: Problems, *, stacked: bool) -> None:
    """Columns with names of their own: the value of a row, or the two configurations."""
    if stacked and len(group.unnamed) == 1 and not group.fields:
        group.fields["baseline"] = group.unnamed.pop()
        return
    missing = [key for key in ("baseline", "modified") if key not in group.fields]
    if len(group.unnamed) == len(missing):
        for key in missing:
            group.fields[key] = group.unnamed.pop(0)
    for one in group.unnamed:
        problems.error(
            "unknown-column",
            f"the column '{one.name}' is not known",
            "take it away, or name it baseline, modified, difference or change; a table with a row "
            "for each configuration names these in a column 'configuration'",
            row=header,
            index=one.index,
        )


def _twice(heading: str, header: Row, index: int, problems: Problems) -> None:
    message = f"the column {quoted(heading)} is there twice"
    problems.error("unknown-column", message, _LISTED, row=header, index=index)


def _unknown(heading: str, header: Row, index: int, problems: Problems) -> None:
    message = f"the column {quoted(heading)} is not known, and has no unit"
    problems.error("unknown-column", message, _LISTED, row=header, index=index)


_LISTED = (
    f"known are {', '.join(k.replace('_', ' ') for k in KNOWN)}, each with its unit in brackets: "
    "'baseline [kn]'; with several quantities name them too: 'speed old [kn], fuel flow old [L/h]'"
)
