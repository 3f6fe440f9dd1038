"""Every published figure by configuration, place and quantity, so that those that belong together meet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from slackwater.analysis.audit.identities import unit_of
from slackwater.analysis.audit.rounding import Span, span_of
from slackwater.protocol.claims.claim import Claim, Claims
from slackwater.protocol.claims.figure import Figure

_GEAR_STEP = Decimal("0.06")  # common practice


@dataclass(frozen=True, slots=True)
class Known:
    """A published figure and where it stands."""

    figure: Figure
    claim: int  # index of the claim it stands in; -1 for the boat or the configuration
    where: str

    def span(self, quantity: str, rounding: str, coarse: Decimal = Decimal(0)) -> Span:
        """The figure as an interval of its rounding, in the unit of `unit_of`."""
        unit = unit_of(quantity) or self.figure.unit
        figure = self.figure
        if quantity == "gear_ratio":
            # "2" stands for what is built as two to one, 1.97 or 2.03, not for 1.5 to 2.5.
            figure = replace(figure, step=min(figure.step, _GEAR_STEP))
        return span_of(figure, unit, rounding=rounding, coarse=coarse)


Book = dict[tuple[str, str], dict[str, list[Known]]]


def place_of(claim: Claim, side: str) -> str:
    """The place that a side of a claim is stated at, as text."""
    at = claim.at_modified if side == "modified" and claim.at_modified is not None else claim.at
    if at is None:
        return "" if claim.place is None else str(claim.place)
    return f"{at.value:g} {at.unit}"


def collect(claims: Claims) -> Book:
    """Every published figure, by configuration and place, and by quantity within these."""
    book: Book = {}
    for index, claim in enumerate(claims.claims):
        for side in ("baseline", "modified"):
            configuration = getattr(claim, side)
            # Without a place only figures of one and the same claim belong together.
            place = place_of(claim, side) or f"#{index}"
            entry = book.setdefault((configuration, place), {})
            figure = claim.stated.figures.get(side)
            if figure is not None:
                where = f"{claim.id}, {side}"
                entry.setdefault(claim.quantity, []).append(Known(figure, index, where))
            for name, beside in getattr(claim.beside, side).items():
                where = f"beside {claim.id}, {side}"
                entry.setdefault(name, []).append(Known(beside, index, where))
            _add_at(entry, claim, side, index)
    for (configuration, _), entry in book.items():
        _add_boat(entry, claims, configuration)
    return book


def _add_at(entry: dict[str, list[Known]], claim: Claim, side: str, index: int) -> None:
    """The place itself is a figure: the engine speed that was held. It is taken as exact."""
    at = claim.at_modified if side == "modified" and claim.at_modified is not None else claim.at
    if at is None or at.unit != "rpm" or "engine_speed" in entry:
        return
    value = Decimal(repr(at.value))
    held = Figure(f"{at}", value, value, "rpm", Decimal("1e-9"))
    entry["engine_speed"] = [Known(held, index, f"{claim.id}, at")]


def _add_boat(entry: dict[str, list[Known]], claims: Claims, configuration: str) -> None:
    for name in ("gear_ratio", "propeller_pitch"):
        figure = claims.of_drive(configuration, name)
        if figure is not None:
            entry[name] = [Known(figure, -1, name.replace("_", " "))]
    boat = claims.boat
    if boat.fuel_capacity is not None:
        entry["fuel_capacity"] = [Known(boat.fuel_capacity, -1, "fuel capacity")]
    if boat.fuel_reserve is not None:
        name = "fuel_reserve" if boat.fuel_reserve.unit == "%" else "fuel_reserve_volume"
        entry[name] = [Known(boat.fuel_reserve, -1, "fuel reserve")]
