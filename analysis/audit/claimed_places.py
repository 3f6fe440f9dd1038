"""The rows of a trial's result that a claim speaks of: at a place, where it is best, or everywhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

from slackwater.analysis.result.mean import Mean
from slackwater.analysis.verdict.compared import Compared
from slackwater.protocol.catalogue.recipes import at_a_session, changes_as
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.units.quantity import (
    Quantity,
    QuantityError,
    convert,
    parse_any,
    same_dimension,
)

Placed = TypeVar("Placed", Compared, Mean)


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows that a claim speaks of.

    Attributes
    ----------
    rows : list of Compared
    note : str
        How they were got, where they are not simply the trial's own.
    missing : str
        Why there is none, or empty.
    """

    rows: list[Compared] = field(default_factory=list)
    note: str = ""
    missing: str = ""


def rows_of(claim: Claim, comparisons: Sequence[Compared]) -> Rows:
    """The rows of the table of comparisons that a claim speaks of, or why there is none."""
    told = told_as(claim, comparisons)
    return told if told.missing else _chosen(claim, told, rows_at(claim, told.rows))


def _chosen(claim: Claim, told: Rows, found: list[Compared]) -> Rows:
    if not found:
        places = ", ".join(dict.fromkeys(str(r.at) for r in told.rows))
        return Rows(missing=f"the trial has nothing at {claim.place}; it compares at {places}")
    if len(found) > 1 and at_its_best(claim):
        best = _furthest(found, claim.stated.change or claim.stated.difference)
        note = f"held against {best.at}, where the change is largest"
        return Rows([best], f"{note}; {told.note}" if told.note else note)
    return Rows(found, told.note)


def rows_at(claim: Claim, rows: Sequence[Compared]) -> list[Compared]:
    """The rows at the place of a claim, or inside its range."""
    place = claim.place
    if place is None or place.single is not None or not place.unit:
        return here(rows, claim.at)
    found = [r for r in rows if (at := _quantity(r.at)) is not None and place.holds(at)]
    return here(found, None)


def at_its_best(claim: Claim) -> bool:
    """Whether a claim speaks of the place where the change is largest."""
    change = claim.stated.change or claim.stated.difference
    said = change is not None and change.bound == "up to"
    return said or (claim.place is not None and claim.place.word == "anywhere")


def told_as(claim: Claim, comparisons: Sequence[Compared]) -> Rows:
    """All rows of a claim's quantity and pair; those of the quantity that it changes as, else."""
    pair = [r for r in comparisons if (r.baseline, r.modified) == (claim.baseline, claim.modified)]
    if not pair:
        return Rows(missing=f"the trial does not compare {claim.modified} with {claim.baseline}")
    rows, note = [r for r in pair if r.quantity == claim.quantity], ""
    other, power = changes_as(claim.quantity)
    if not here(rows, claim.at) and other != claim.quantity and not at_a_session(claim.quantity):
        title = claim.quantity.replace("_", " ")
        note = f"the {title} changes as the {other} does, whose comparison was taken"
        note += " and turned over" if power < 0 else ""
        rows = [r for r in pair if r.quantity == other]
        rows = [_turned(r) for r in rows] if power < 0 else rows
    if not rows:
        return Rows(missing=f"the trial gives no {claim.quantity.replace('_', ' ')}")
    return Rows(rows, note)


def here(rows: Sequence[Placed], at: Quantity | None) -> list[Placed]:
    """The rows at a place; those of all set points, where none is named."""
    if at is not None:
        return [r for r in rows if same_place(r.at, at)]
    if len(rows) < 2:
        return list(rows)
    # Without a place the whole sweep is meant: the rows of the set points, not those at equal speed.
    first = unit_at(rows[0].at)
    return [r for r in rows if unit_at(r.at) == first]


def unit_at(at: object) -> str:
    """The unit that a row's place is in; empty where it is no number."""
    place = _quantity(at)
    return "" if place is None else place.unit


def _quantity(at: object) -> Quantity | None:
    try:
        return parse_any(str(at))
    except QuantityError:
        return None


def same_place(at: object, place: Quantity) -> bool:
    """Whether a row stands at a place."""
    try:
        own = parse_any(str(at))
        if not same_dimension(own.unit, place.unit):
            return False
        value = convert(place.value, place.unit, own.unit)
    except QuantityError:
        return False
    return abs(value - own.value) <= 1e-6 * max(abs(value), 1e-9)


def _turned(row: Compared) -> Compared:
    """The comparison of the inverse of a quantity: exact on the scale of ratios."""

    def inverse(value: float | None) -> float | None:
        return None if value is None else 1 / (1 + value) - 1

    words = {"more": "less", "less": "more"}
    return replace(
        row,
        change=inverse(row.change),
        low=inverse(row.high),
        high=inverse(row.low),
        better=words.get(row.better or "", row.better),
        baseline_mean=None,
        modified_mean=None,
    )


def _furthest(rows: Sequence[Compared], change: Figure | None) -> Compared:
    sign = -1 if change is not None and change.high < 0 else 1
    given = [r for r in rows if r.change is not None] or list(rows)
    return max(given, key=lambda r: sign * (r.change or 0.0))
