"""What the parts of a claim have to agree on: units with the quantity, bases above zero, names.

Like its sisters for protocols and trials it reads the plain texts, so that all slips are told at
once. Whether the figures agree with each other is no slip of the file: that is what is audited.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from slackwater.protocol.catalogue.manoeuvre_kinds import CLAIMED
from slackwater.protocol.catalogue.measures import Measure, nearest
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.claims.figure_reading import parse_figure
from slackwater.protocol.files.model_faults import at
from slackwater.protocol.files.scalars import SNAKE
from slackwater.protocol.files.source import Document, Loc
from slackwater.protocol.findings import Finding
from slackwater.protocol.units.quantity import QuantityError, fitting, parse_any, same_dimension
from slackwater.protocol.units.units import temperature_kind

LARGEST_CHANGE = 1000  # per cent
_LIKELY_SLIP = 0.85  # names closer than this are one name misspelt


def claim_findings(document: Document) -> Iterator[Finding]:
    """Everything on which the parts of the claims disagree."""
    seen: dict[str, int] = {}
    entries = document.data.get("claims")
    if entries in ([], ""):
        message = "there is no claim here; one at least is needed"
        yield at(document, ("claims",), message, "write '- id: C1' and what is claimed below it")
    for index, claim in enumerate(entries if isinstance(entries, list) else []):
        if isinstance(claim, dict):
            yield from findings_of_claim(document, index, claim, seen)


def findings_of_claim(
    document: Document, index: int, claim: dict[str, Any], seen: dict[str, int]
) -> Iterator[Finding]:
    """Everything on which the parts of one claim disagree.

    Parameters
    ----------
    document : Document
    index : int
        Its place among the claims.
    claim : dict
    seen : dict
        The ids of the claims before it; its own is put in.
    """
    loc: Loc = ("claims", index)
    name = str(claim.get("id", ""))
    if name and name in seen:
        message = f"the id '{name}' is that of claim {seen[name] + 1} already"
        yield at(document, (*loc, "id"), message, "give each claim an id of its own")
    seen.setdefault(name, index)
    yield from _sides(document, loc, claim)
    yield from _places(document, loc, claim)
    quantity = claim.get("quantity")
    if isinstance(quantity, str):
        yield from _quantity(document, (*loc, "quantity"), quantity)
        yield from _stated(document, loc, claim, CLAIMED.get(quantity))
    yield from _beside(document, loc, claim)


def _quantity(document: Document, loc: Loc, name: str) -> Iterator[Finding]:
    if name in CLAIMED or not re.fullmatch(SNAKE, name):
        return
    # A name of its own is fine when the trial declares it; one that is nearly a known one is not.
    near = nearest(name, CLAIMED, _LIKELY_SLIP if document.data.get("trial") else 0.6)
    if near is not None:
        message = f"the quantity '{name}' is not known"
        yield at(document, loc, message, f"did you mean '{near}'?", rule="unknown-quantity")


def _sides(document: Document, loc: Loc, claim: dict[str, Any]) -> Iterator[Finding]:
    baseline, modified = claim.get("baseline"), claim.get("modified")
    if isinstance(baseline, str) and baseline and baseline == modified:
        message = f"'{baseline}' is compared with itself"
        yield at(document, (*loc, "modified"), message, "name the other configuration")


def _places(document: Document, loc: Loc, claim: dict[str, Any]) -> Iterator[Finding]:
    units = []
    for key in ("at", "at_modified"):
        try:
            units.append(parse_any(str(claim[key])).unit)
        except (KeyError, QuantityError):
            return  # absent, or told of by the model
    if not same_dimension(units[0], units[1]):
        message = f"'at' is in {units[0]} and 'at_modified' in {units[1]}"
        yield at(document, (*loc, "at_modified"), message, "give both as the same kind of quantity")


def _figure(value: object) -> Figure | None:
    try:
        return parse_figure(value) if isinstance(value, str) else None
    except QuantityError:
        return None  # the model tells of it


def _stated(
    document: Document, loc: Loc, claim: dict[str, Any], measure: Measure | None
) -> Iterator[Finding]:
    stated = claim.get("stated")
    if not isinstance(stated, dict):
        return
    here: Loc = (*loc, "stated")
    figures = {key: _figure(stated.get(key)) for key in ("baseline", "modified", "difference")}
    if not any(key in stated for key in (*figures, "change")):
        message = "no figure is stated"
        fix = "write what was published under baseline, modified, difference or change"
        yield at(document, here, message, fix)
    unit = measure.unit if measure else None
    for key, figure in figures.items():
        if figure is None:
            continue
        if unit is None:
            unit = figure.unit
        if not _fits(figure.unit, unit, difference=key == "difference"):
            yield _unfit(document, (*here, key), figure, claim.get("quantity"), unit)
        elif key != "difference" and _is_ratio(measure) and figure.low <= 0:
            message = f"'{figure}' is not above zero, so nothing can be a percentage of it"
            yield at(document, (*here, key), message, "check the figure")
    yield from _change(document, here, _figure(stated.get("change")), figures["baseline"], measure)


def _is_ratio(measure: Measure | None) -> bool:
    return measure is None or measure.scale == "ratio"


def _fits(unit: str, needed: str, *, difference: bool) -> bool:
    if difference and temperature_kind(needed) == "point":
        return temperature_kind(unit) == "difference"
    return same_dimension(unit, needed)


def _unfit(document: Document, loc: Loc, figure: Figure, quantity: object, unit: str) -> Finding:
    fits = ", ".join(fitting(unit)[1]) or unit
    found = "has no unit" if figure.unit == "1" else f"is {fitting(figure.unit)[0]}"
    return at(
        document,
        loc,
        f"'{figure}' {found}; {str(quantity).replace('_', ' ')} is {fitting(unit)[0]}",
        f"write it in one of {fits}",
        rule="unfit-unit",
    )


def _change(
    document: Document,
    here: Loc,
    change: Figure | None,
    baseline: Figure | None,
    measure: Measure | None,
) -> Iterator[Finding]:
    if change is None:
        return
    loc: Loc = (*here, "change")
    if change.unit != "%":
        message = f"'{change}' is not a percentage; a change is stated in per cent"
        fix = "a difference in the quantity's own unit goes under 'difference'"
        yield at(document, loc, message, fix, rule="unfit-unit")
    elif max(abs(change.low), abs(change.high)) > LARGEST_CHANGE:
        message = f"a change of {change} is more than {LARGEST_CHANGE:,} %"
        yield at(document, loc, message, "check the figure; 2 times as much is +100 %")
    elif change.low <= -100 and _is_ratio(measure):
        message = f"a change of {change} would leave nothing of the baseline, or less"
        yield at(document, loc, message, "check the figure and its base")
    elif not _is_ratio(measure) and baseline is not None and baseline.low <= 0 <= baseline.high:
        message = f"no percentage can be formed of a baseline of '{baseline}'"
        yield at(document, loc, message, "state the difference instead")


def _beside(document: Document, loc: Loc, claim: dict[str, Any]) -> Iterator[Finding]:
    beside = claim.get("beside")
    for side in ("baseline", "modified"):
        entries = beside.get(side) if isinstance(beside, dict) else None
        for name, value in (entries if isinstance(entries, dict) else {}).items():
            here: Loc = (*loc, "beside", side, name)
            measure, figure = CLAIMED.get(name), _figure(value)
            if measure is None:
                near = nearest(name, CLAIMED)
                fix = f"did you mean '{near}'?" if near else "see the catalogue of measures"
                message = f"the quantity '{name}' is not known"
                yield at(document, here, message, fix, rule="unknown-quantity", key=True)
            elif figure is not None and not _fits(figure.unit, measure.unit, difference=False):
                yield _unfit(document, here, figure, name, measure.unit)
