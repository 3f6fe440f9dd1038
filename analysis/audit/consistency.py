"""Whether the figures of one claim can all be true at once, given that each was rounded.

The unknowns are the two true values, baseline B and modified M. Every printed figure confines them:
the values to a box, the difference M - B to a band, the percentage to a wedge. The figures agree
when box, band and wedge have a point in common; anything less strict would let faults through,
anything stricter would call honest rounding a fault.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from slackwater.analysis.audit.rounding import (
    ENDLESS,
    Span,
    coarseness,
    half_width,
    in_unit,
    nominal,
    span_of,
)
from slackwater.protocol.catalogue.manoeuvre_kinds import CLAIMED
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.claims.figure import Figure

_FAR = Decimal("1e14")  # beyond any value of a figure that can be read
_HUNDRED = Decimal(100)
_SLACK = Decimal("1e-15")  # of the largest number about, for the arithmetic's own rounding

#: How digits come about: rounded to the nearest, or cut off.
ROUNDINGS = ("nearest", "down")

HalfPlane = tuple[Decimal, Decimal, Decimal]  # a B + b M + c >= 0
Point = tuple[Decimal, Decimal]


@dataclass(frozen=True, slots=True)
class ClaimFigures:
    """The figures of one claim, ready to be compared with each other.

    Attributes
    ----------
    figures : mapping
        Under baseline, modified, difference and change; those that were stated.
    unit : str
        The unit that values and differences are compared in.
    change_of : str
        baseline, modified, or "both" for a percentage of their mean.
    rounding : str
        "nearest" or "down".
    positive : bool
        True values are above zero.
    sizes : frozenset of str
        Figures printed without a sign: sizes, whose direction the two values tell.
    cut : frozenset of str
        Figures whose digits are taken to be cut off, though the file does not say so.
    """

    figures: Mapping[str, Figure]
    unit: str
    change_of: str = "baseline"
    rounding: str = "nearest"
    positive: bool = True
    sizes: frozenset[str] = frozenset()
    cut: frozenset[str] = frozenset()

    def changed(self, name: str, figure: Figure) -> ClaimFigures:
        """The same claim with another figure in one place."""
        return replace(self, figures={**self.figures, name: figure}).directed()

    def directed(self) -> ClaimFigures:
        """The same claim with the sizes printed without a sign turned the way the values go."""
        values = [self.figures.get(name) for name in ("baseline", "modified")]
        if not self.sizes or values[0] is None or values[1] is None:
            return self
        before, after = (nominal(v, self.unit).middle for v in values if v is not None)
        turned = dict(self.figures)
        for name in self.sizes & turned.keys():
            figure = turned[name]
            if (after < before) != (figure.low < 0):
                turned[name] = negated(figure)
        return replace(self, figures=turned)

    def without(self, name: str) -> ClaimFigures:
        """The same claim with one figure left out."""
        return replace(self, figures={k: v for k, v in self.figures.items() if k != name})

    def own_unit(self, name: str) -> str:
        """The unit a figure is compared in."""
        return "%" if name == "change" else self.unit

    def spans(self, *, wide: bool = False) -> dict[str, Span]:
        """The figures as intervals of their rounding; `wide` when round figures may be rounder."""
        coarse = self.coarse() if wide else Decimal(0)
        out = {}
        for name, figure in self.figures.items():
            own = coarseness([figure]) if wide and name == "change" else coarse
            how = "down" if name in self.cut else self.rounding
            out[name] = span_of(figure, self.own_unit(name), rounding=how, coarse=own)
        return out

    def coarse(self) -> Decimal:
        """The step that the two values, and the difference with them, may all have been rounded to."""
        values = [self.figures[n] for n in ("baseline", "modified") if n in self.figures]
        difference = self.figures.get("difference")
        return coarseness(values, [] if difference is None else [difference])

    def nominal(self, name: str) -> Decimal:
        """The number printed, without its rounding, in the unit it is compared in."""
        return nominal(self.figures[name], self.own_unit(name)).middle


def figures_of(claim: Claim, rounding: str = "nearest") -> ClaimFigures:
    """The figures of a claim, with the sign of an unsigned size read from the two values.

    `a saving of 3 L/h (6 %)` beside 50 and 47 L/h means minus 3 L/h: printed without a sign, a
    difference or a percentage is a size, whose direction the values tell.
    """
    stated = dict(claim.stated.figures)
    measure = CLAIMED.get(claim.quantity)
    first = next((f for k, f in stated.items() if k != "change"), None)
    unit = measure.unit if measure else (first.unit if first else "1")
    sizes = frozenset(
        name
        for name in ("difference", "change")
        if name in stated and not stated[name].signed and stated[name].low > 0
    )
    positive = measure is None or measure.scale == "ratio"
    return ClaimFigures(stated, unit, claim.stated.change_of, rounding, positive, sizes).directed()


def negated(figure: Figure) -> Figure:
    """The figure with the other sign."""
    ends = None if figure.ends is None else (-figure.ends[1], -figure.ends[0])
    return replace(figure, low=-figure.high, high=-figure.low, signed=True, worded=True, ends=ends)


def agree(claim: ClaimFigures, *, wide: bool = False) -> bool:
    """Whether two true values exist that would have been printed as all of these figures."""
    if len(claim.figures) < 2:
        return True
    spans = claim.spans(wide=wide)
    least = Decimal("1e-12") if claim.positive else -_FAR
    everything = Span(least, _FAR)
    box_b, box_m = spans.get("baseline", everything), spans.get("modified", everything)
    box_b, box_m = _capped(box_b, least), _capped(box_m, least)
    if box_b.low > box_b.high or box_m.low > box_m.high:
        return False
    polygon: list[Point] = [
        (box_b.low, box_m.low),
        (box_b.high, box_m.low),
        (box_b.high, box_m.high),
        (box_b.low, box_m.high),
    ]
    for plane in _half_planes(spans, claim.change_of, negative=box_b.high < 0):
        polygon = _clip(polygon, plane)
        if not polygon:
            return False
    return True


def agree_cut_off(claim: ClaimFigures) -> bool:
    """Whether the figures agree when digits were cut off: all, the values alone, or the percentage."""
    if claim.rounding != "nearest":
        return False
    values = frozenset(claim.figures) - {"change"}
    ways = (frozenset(claim.figures), values, frozenset({"change"}))
    return any(agree(replace(claim, cut=way).directed()) for way in ways)


def _capped(span: Span, least: Decimal) -> Span:
    return Span(max(span.low, least), min(span.high, _FAR))


def _half_planes(spans: Mapping[str, Span], change_of: str, *, negative: bool) -> list[HalfPlane]:
    one = Decimal(1)
    planes: list[HalfPlane] = []
    difference, change = spans.get("difference"), spans.get("change")
    if difference is not None:
        if difference.low > -ENDLESS:
            planes.append((-one, one, -difference.low))
        if difference.high < ENDLESS:
            planes.append((one, -one, difference.high))
    if change is not None:
        low, high = change.low / _HUNDRED, change.high / _HUNDRED
        sign = -one if negative else one
        for end, side in ((low, sign), (high, -sign)):
            if abs(end) >= ENDLESS / _HUNDRED:
                continue
            if change_of == "baseline":  # M - (1 + end) B
                planes.append((-side * (1 + end), side, Decimal(0)))
            elif change_of == "modified":  # (1 - end) M - B
                planes.append((-side, side * (1 - end), Decimal(0)))
            else:  # 2 (M - B) - end (M + B)
                planes.append((-side * (2 + end), side * (2 - end), Decimal(0)))
    return planes


def _clip(polygon: list[Point], plane: HalfPlane) -> list[Point]:
    """The part of a convex polygon on one side of a line; touching counts."""
    a, b, c = plane
    values = [a * x + b * y + c for x, y in polygon]
    scale = max(abs(a * x) + abs(b * y) + abs(c) for x, y in polygon)
    slack = -scale * _SLACK
    kept: list[Point] = []
    for index, (point, value) in enumerate(zip(polygon, values, strict=True)):
        before, earlier = polygon[index - 1], values[index - 1]
        if (value >= slack) != (earlier >= slack) and value != earlier:
            part = earlier / (earlier - value)
            kept.append(
                (
                    before[0] + part * (point[0] - before[0]),
                    before[1] + part * (point[1] - before[1]),
                )
            )
        if value >= slack:
            kept.append(point)
    return kept


def implied_change(claim: ClaimFigures, spans: Mapping[str, Span]) -> Span | None:
    """The percentage that follows from the two values, or from a value and the difference. [%]"""
    b, m, d = (spans.get(name) for name in ("baseline", "modified", "difference"))
    one = Span(Decimal(1), Decimal(1))
    hundred = Span(_HUNDRED, _HUNDRED)
    if claim.change_of == "modified":
        if b is not None and m is not None:
            return (one - b / m) * hundred
        if d is not None and m is not None:
            return d / m * hundred
    if claim.change_of == "both":
        if b is None or m is None:
            return None
        part = b / m  # the interval comes out wider than need be; it only ranks explanations
        return (one - part) / (one + part) * Span(2 * _HUNDRED, 2 * _HUNDRED)
    if b is not None and m is not None:
        return (m / b - one) * hundred
    if d is not None and b is not None:
        return d / b * hundred
    return None


def of_baseline(change: Span, base: str) -> Span:
    """A span of percentages of one base as one of the baseline. [%]"""
    if base != "modified":
        return change

    def turned(end: Decimal) -> Decimal:
        if abs(end) >= ENDLESS:
            return -_HUNDRED if end < 0 else ENDLESS
        return ENDLESS if end >= _HUNDRED else (1 / (1 - end / _HUNDRED) - 1) * _HUNDRED

    return Span(turned(change.low), turned(change.high))


def implied_difference(spans: Mapping[str, Span]) -> Span | None:
    """The difference that follows from the two values. [unit of the values]"""
    b, m = spans.get("baseline"), spans.get("modified")
    return None if b is None or m is None else m - b


def misfit(claim: ClaimFigures) -> Decimal:
    """How far the numbers as printed are from fitting exactly, in what rounding usually does."""
    given = {name: Span(v, v) for name in claim.figures if (v := claim.nominal(name)) is not None}
    spans = claim.spans()
    worst = Decimal(0)
    for name, exactly, open_ in (
        ("difference", implied_difference(given), implied_difference(spans)),
        ("change", implied_change(claim, given), implied_change(claim, spans)),
    ):
        figure = claim.figures.get(name)
        if figure is None or exactly is None or open_ is None or abs(open_.low) >= ENDLESS:
            continue
        usual = usual_rounding(figure, claim.own_unit(name), open_)
        worst = max(worst, abs(exactly.middle - claim.nominal(name)) / usual)
    return worst


def usual_rounding(figure: Figure, unit: str, open_: Span) -> Decimal:
    """How far a figure usually lies from what the printed others give. [unit]

    Half its last digit, and what the rounding of the others leaves open, not all of which is
    usually used up.
    """
    half = half_width(figure)
    return in_unit(Span(half, half), figure.unit, unit).middle + open_.width * Decimal("0.3")
