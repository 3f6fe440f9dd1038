"""The figures of claims as a network: what each confines, and how the catalogue's equations tie them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from slackwater.analysis.audit.book import place_of
from slackwater.analysis.audit.consistency import (
    ROUNDINGS,
    ClaimFigures,
    figures_of,
    implied_change,
    of_baseline,
)
from slackwater.analysis.audit.identities import factor_of, unit_of
from slackwater.analysis.audit.network import Interval, Node, Tie
from slackwater.analysis.audit.rounding import ENDLESS, Span, coarseness, span_of
from slackwater.protocol.catalogue.equations import Equation, equations
from slackwater.protocol.catalogue.manoeuvre_kinds import CLAIMED
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.catalogue.recipes import at_a_session
from slackwater.protocol.claims.claim import Claim, Claims
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.units.quantity import convert, same_dimension

Given = list[tuple[Node, Interval]]
OF_THE_BOAT = "boat"
LEFT: Node = (OF_THE_BOAT, "", "left")  # the part of the fuel that a range is reckoned with


def level(configuration: str, place: str, quantity: str) -> Node:
    """The node of a value."""
    return configuration, "" if at_a_session(quantity) else place, quantity


def ratio(claim: Claim, quantity: str) -> Node:
    """The node of a ratio of two values."""
    place = (
        "" if at_a_session(quantity) else f"{_place(claim, 'baseline')}|{_place(claim, 'modified')}"
    )
    return claim.baseline, claim.modified, place, quantity


def _place(claim: Claim, side: str) -> str:
    return place_of(claim, side)


def speaks_of_one_place(claim: Claim) -> bool:
    """Whether a claim's figures are those of one place, so that equations hold between them.

    An average of ratios is not the ratio of averages, and "up to" is reached at one place or another.
    """
    change = claim.stated.change or claim.stated.difference
    if best_somewhere(claim) or (change is not None and change.average):
        return False
    return claim.place is None or claim.at is not None


def best_somewhere(claim: Claim) -> bool:
    """Whether a claim speaks of one place that it does not name: where the change is largest."""
    change = claim.stated.change or claim.stated.difference
    up_to = change is not None and change.bound == "up to"
    return claim.at is None and (
        up_to or (claim.place is not None and claim.place.word == "anywhere")
    )


def given_by(claim: Claim, rounding: str) -> Given:
    """What the figures of one claim confine."""
    figures = figures_of(claim, rounding)
    found: Given = []
    for side in ("baseline", "modified"):
        beside = getattr(claim.beside, side)
        own = {} if side not in figures.figures else {claim.quantity: figures.figures[side]}
        for quantity, figure in [*own.items(), *beside.items()]:
            coarse = figures.coarse() if figure is own.get(quantity) else Decimal(0)
            unit = unit_of(quantity) or figure.unit
            interval = _log(widest(figure, unit, rounding, coarse), quantity)
            if interval is not None:
                found.append((level(getattr(claim, side), _place(claim, side), quantity), interval))
    for span in _changes(figures, claim, rounding):
        found.append((ratio(claim, claim.quantity), _log_of_change(span)))
    return found


def widest(figure: Figure, unit: str, rounding: str, coarse: Decimal = Decimal(0)) -> Span:
    """Everything that the figure may stand for: rounded, cut off, or a round figure."""
    coarse = max(coarse, coarseness([figure]))
    spans = [span_of(figure, unit, rounding=how, coarse=coarse) for how in {rounding, *ROUNDINGS}]
    return Span(min(s.low for s in spans), max(s.high for s in spans))


def _changes(figures: ClaimFigures, claim: Claim, rounding: str) -> Iterator[Span]:
    """The percentages of the baseline that the percentage, and the difference, leave open."""
    measure = CLAIMED.get(claim.quantity)
    if measure is None or measure.scale != "ratio":
        return
    printed = figures.figures.get("change")
    if printed is not None:
        yield of_baseline(widest(printed, "%", rounding), figures.change_of)
    spans = {
        name: widest(figure, figures.unit, rounding, figures.coarse())
        for name, figure in figures.figures.items()
        if name in ("baseline", "difference")
    }
    found = implied_change(replace(figures, change_of="baseline"), spans)
    if found is not None:
        yield found


def _log_of_change(span: Span) -> Interval:
    """The logarithm of modified over baseline for a span of percentages."""

    def log(end: Decimal) -> float:
        if abs(end) >= ENDLESS:
            return math.copysign(math.inf, float(end))
        return math.log1p(float(end) / 100) if end > -100 else -math.inf

    return log(span.low), log(span.high)


def _log(span: Span, quantity: str) -> Interval | None:
    """The logarithms of a span of values; of what it leaves of one, for a complement."""
    low, high = span.low, span.high
    measure = CLAIMED.get(quantity)
    if measure is not None and measure.complement:
        low, high = 1 - high, 1 - low
    elif measure is not None and measure.scale != "ratio":
        return None

    def log(end: Decimal) -> float:
        if abs(end) >= ENDLESS:
            return math.copysign(math.inf, float(end))
        return math.log(float(end)) if end > 0 else -math.inf

    return (log(low), log(high)) if high > 0 else None


def given_by_boat(claims: Claims, configurations: Sequence[str]) -> Given:
    """What is said of the boat and of each configuration, and what a place itself says."""
    found: Given = []
    for name in ("fuel_capacity",):
        figure = getattr(claims.boat, name)
        if figure is not None:
            interval = _log(widest(figure, unit_of(name), claims.rounding), name)
            if interval is not None:
                found.append(((OF_THE_BOAT, "", name), interval))
    found += _left_in_tank(claims)
    for configuration in configurations:
        for name in ("gear_ratio", "propeller_pitch"):
            figure = claims.of_drive(configuration, name)
            if figure is not None:
                interval = _log(widest(figure, unit_of(name), claims.rounding), name)
                if interval is not None:
                    found.append(((configuration, "", name), interval))
    return found


def _left_in_tank(claims: Claims) -> Given:
    """The part of the fuel that a range is reckoned with; anything up to the whole where none is stated."""
    kept, capacity = claims.boat.fuel_reserve, claims.boat.fuel_capacity
    if kept is None or (kept.unit != "%" and capacity is None):
        return [(LEFT, (-math.inf, 0.0))]
    span = widest(kept, "1" if kept.unit == "%" else "L", claims.rounding)
    if kept.unit != "%" and capacity is not None:
        span = span / span_of(capacity, "L")
    return [
        (
            LEFT,
            (math.log(max(float(1 - span.high), 1e-12)), math.log(max(float(1 - span.low), 1e-12))),
        )
    ]


def given_by_places(claims: Sequence[Claim]) -> Given:
    """The engine speed or the speed that a place is: known, and the same with both configurations."""
    found: Given = []
    for claim in claims:
        for side in ("baseline", "modified"):
            at = claim.at_modified if side == "modified" and claim.at_modified else claim.at
            for quantity in ("engine_speed", "speed"):
                fits = at is not None and same_dimension(at.unit, unit_of(quantity))
                if at is None or not fits or quantity == claim.quantity:
                    continue
                value = math.log(max(convert(at.value, at.unit, unit_of(quantity)), 1e-12))
                node = level(getattr(claim, side), _place(claim, side), quantity)
                found.append((node, (value, value)))
    return found


def ties(claims: Sequence[Claim]) -> list[Tie]:
    """Every equation between figures of these claims, between values and between ratios."""
    found: dict[Tie, None] = {}
    for claim in claims:
        if not speaks_of_one_place(claim):
            continue
        for side in ("baseline", "modified"):
            name, place = getattr(claim, side), _place(claim, side)
            for equation in equations():
                found[_of_values(equation, name, place)] = None
            found |= dict.fromkeys(_largest(name, place))
        for equation in equations():
            tie = _of_ratios(equation, claim)
            if tie is not None:
                found[tie] = None
    for claim in claims:
        found |= dict.fromkeys(_both(claim))
    return list(found)


def _both(claim: Claim) -> Iterator[Tie]:
    """A ratio is that of the two values, whatever the quantity."""
    for quantity, measure in MEASURES.items():
        if measure.scale == "ratio":
            first = level(claim.baseline, _place(claim, "baseline"), quantity)
            second = level(claim.modified, _place(claim, "modified"), quantity)
            yield Tie(((ratio(claim, quantity), 1.0), (second, -1.0), (first, 1.0)))


def _of_values(equation: Equation, configuration: str, place: str) -> Tie:
    terms = [(level(configuration, place, equation.result), 1.0)]
    for name, power in equation.powers.items():
        terms.append((_value_node(name, configuration, place), -power))
    if "fuel_capacity" in equation.powers:
        terms.append((LEFT, -equation.powers["fuel_capacity"]))
    return Tie(tuple(terms), -math.log(float(factor_of(equation))))


def _value_node(name: str, configuration: str, place: str) -> Node:
    if name in MEASURES:
        return level(configuration, place, name)
    of_boat = name in ("fuel_capacity", "fuel_density")
    return (OF_THE_BOAT, "", name) if of_boat else (configuration, "", name)


def _of_ratios(equation: Equation, claim: Claim) -> Tie | None:
    """The same between ratios; what is the boat's own cancels, what may differ is not known here."""
    if equation.complement or {"gear_ratio", "propeller_pitch"} & equation.powers.keys():
        return None
    terms = [(ratio(claim, equation.result), 1.0)]
    terms += [
        (ratio(claim, name), -power) for name, power in equation.powers.items() if name in MEASURES
    ]
    return Tie(tuple(terms))


def _largest(configuration: str, place: str) -> Iterator[Tie]:
    """What is largest along the sweep is no smaller than at any place of it."""
    for name, measure in MEASURES.items():
        if measure.largest_of:
            part = level(configuration, place, measure.largest_of)
            yield Tie(((part, 1.0), (level(configuration, "", name), -1.0)), most=True)
