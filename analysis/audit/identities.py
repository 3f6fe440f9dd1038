"""What published figures of one configuration and one place have to do with each other.

Each identity takes every part once, so that interval arithmetic on the roundings is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from slackwater.analysis.audit.rounding import Span, exact, span_of
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.claims.claim import Claim, Claims
from slackwater.protocol.claims.figure import Figure

Spans = Mapping[str, Span]
Rule = Callable[[Spans], Span]

#: Units that the identities are worked out in; those of the catalogue for what stands there.
UNITS: dict[str, str] = {
    "fuel_capacity": "L",
    "fuel_reserve": "1",
    "fuel_reserve_volume": "L",
    "gear_ratio": "1",
    "propeller_pitch": "m",
    "engine_speed": "rpm",
    "fuel_flow": "L/h",
    "speed": "kn",
}
_ONE = exact(1)
_GEAR_STEP = Decimal("0.06")  # common practice
_METRES_A_MINUTE = exact(Decimal(1852) / 60)  # for one knot


def unit_of(quantity: str) -> str:
    """The unit that a quantity is worked out in; empty for one of no known unit."""
    if quantity in UNITS:
        return UNITS[quantity]
    return MEASURES[quantity].unit if quantity in MEASURES else ""


@dataclass(frozen=True, slots=True)
class Way:
    """A wrong way to work a figure out, that people are known to take."""

    code: str
    words: str
    rule: Rule


@dataclass(frozen=True, slots=True)
class Identity:
    """How one figure follows from others.

    Attributes
    ----------
    check : str
        Id of the check.
    result : str
        The figure that follows.
    parts : tuple of str
        The figures that it follows from.
    formula : str
        In words.
    rule : callable
        Spans of the parts to the span of the result, all in `UNITS`.
    ways : tuple of Way
    """

    check: str
    result: str
    parts: tuple[str, ...]
    formula: str
    rule: Rule
    ways: tuple[Way, ...] = ()


def _range_ways(distance: Rule) -> tuple[Way, ...]:
    def with_factor(factor: Callable[[Span], Span]) -> Rule:
        return lambda s: distance(s) * factor(s["fuel_reserve"])

    return (
        Way("range", "the reserve was not kept back", with_factor(lambda r: _ONE)),
        Way("range", "the reserve was added instead of kept back", with_factor(lambda r: _ONE + r)),
        Way("range", "only the reserve was reckoned with", with_factor(lambda r: r)),
        Way(
            "range",
            "the fuel was divided by what remains instead of multiplied with it",
            with_factor(lambda r: _ONE / (_ONE - r)),
        ),
        Way(
            "range",
            "the reserve was kept back twice",
            with_factor(lambda r: (_ONE - r) * (_ONE - r)),
        ),
        Way(
            "range",
            "it is the distance out and back, not the range",
            with_factor(lambda r: (_ONE - r) / exact(2)),
        ),
    )


def _per_flow(s: Spans) -> Span:
    return s["speed"] / s["fuel_flow"]


def _per_flow_range(s: Spans) -> Span:
    return _per_flow(s) * s["fuel_capacity"]


def _economy_range(s: Spans) -> Span:
    return s["economy"] * s["fuel_capacity"]


def _advance(s: Spans) -> Span:
    return s["speed"] * _METRES_A_MINUTE * s["gear_ratio"] / s["engine_speed"]


def _advance_at_engine(s: Spans) -> Span:
    return s["speed"] * _METRES_A_MINUTE / s["engine_speed"]


_SPEED_ECONOMY_WAYS = (
    Way("inverted", "flow was divided by speed", lambda s: s["fuel_flow"] / s["speed"]),
)

IDENTITIES: tuple[Identity, ...] = (
    Identity(
        "economy",
        "economy",
        ("speed", "fuel_flow"),
        "economy = speed / fuel flow",
        _per_flow,
        _SPEED_ECONOMY_WAYS,
    ),
    Identity(
        "fuel-per-distance",
        "fuel_per_distance",
        ("speed", "fuel_flow"),
        "fuel per distance = fuel flow / speed",
        lambda s: s["fuel_flow"] / s["speed"],
        (Way("inverted", "speed was divided by flow", _per_flow),),
    ),
    Identity(
        "range",
        "range",
        ("economy", "fuel_capacity", "fuel_reserve"),
        "range = economy x capacity x (1 - reserve)",
        lambda s: _economy_range(s) * (_ONE - s["fuel_reserve"]),
        _range_ways(_economy_range),
    ),
    Identity(
        "range",
        "range",
        ("economy", "fuel_capacity", "fuel_reserve_volume"),
        "range = economy x (capacity - reserve)",
        lambda s: s["economy"] * (s["fuel_capacity"] - s["fuel_reserve_volume"]),
        (Way("range", "the reserve was not kept back", _economy_range),),
    ),
    Identity(
        "range",
        "range",
        ("speed", "fuel_flow", "fuel_capacity", "fuel_reserve"),
        "range = speed / fuel flow x capacity x (1 - reserve)",
        lambda s: _per_flow_range(s) * (_ONE - s["fuel_reserve"]),
        _range_ways(_per_flow_range),
    ),
    Identity(
        "range-at-most",
        "range",
        ("economy", "fuel_capacity"),
        "range is at most economy x capacity",
        lambda s: Span(Decimal(0), _economy_range(s).high),
    ),
    Identity(
        "advance",
        "advance",
        ("speed", "engine_speed", "gear_ratio"),
        "advance = speed / propeller speed",
        _advance,
        (Way("gear-ratio", "the gear ratio was left out", _advance_at_engine),),
    ),
    Identity(
        "slip",
        "slip",
        ("speed", "engine_speed", "gear_ratio", "propeller_pitch"),
        "slip = 1 - speed / (propeller speed x pitch)",
        lambda s: _ONE - _advance(s) / s["propeller_pitch"],
        (
            Way(
                "gear-ratio",
                "the gear ratio was left out",
                lambda s: _ONE - _advance_at_engine(s) / s["propeller_pitch"],
            ),
            Way(
                "inverted",
                "it is the part that does not slip",
                lambda s: _advance(s) / s["propeller_pitch"],
            ),
        ),
    ),
    Identity(
        "slip",
        "slip",
        ("advance", "propeller_pitch"),
        "slip = 1 - advance / pitch",
        lambda s: _ONE - s["advance"] / s["propeller_pitch"],
        (
            Way(
                "inverted",
                "it is the part that does not slip",
                lambda s: s["advance"] / s["propeller_pitch"],
            ),
        ),
    ),
)


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
        return "" if claim.place is None or not claim.place.unit else str(claim.place)
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
