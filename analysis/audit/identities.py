"""The equations of the catalogue as a check on published figures, in interval arithmetic.

Each equation takes every part once, so that the arithmetic on the roundings is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from slackwater.analysis.audit.rounding import Span, exact
from slackwater.protocol.catalogue.equations import NEEDS, Equation, equations
from slackwater.protocol.catalogue.manoeuvre_kinds import CLAIMED
from slackwater.protocol.units.quantity import conversion, same_dimension

Spans = Mapping[str, Span]
Rule = Callable[[Spans], Span]

_ONE = exact(1)
#: How the fuel kept back is stated, and the unit it is worked out in.
RESERVES = {"fuel_reserve": "1", "fuel_reserve_volume": "L"}
#: A unit of each dimension in which a product of base units comes out without a factor.
_COHERENT = (
    "1",
    "m",
    "s",
    "m/s",
    "m^3",
    "m^3/s",
    "kg/s",
    "kg/m^3",
    "m/m^3",
    "m^3/m",
    "J",
    "W",
    "m/J",
    "J/m",
)


def unit_of(quantity: str) -> str:
    """The unit that a quantity is worked out in; empty for one of no known unit."""
    if quantity in CLAIMED:
        return CLAIMED[quantity].unit
    return {**NEEDS, **RESERVES}.get(quantity, "")


def _size(unit: str) -> float:
    """A unit in base units; a turn counts as one."""
    if unit == "rpm":
        return 1 / 60
    return next(conversion(unit, base) for base in _COHERENT if same_dimension(unit, base))


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
        Spans of the parts to the span of the result, all in the units of `unit_of`.
    ways : tuple of Way
    """

    check: str
    result: str
    parts: tuple[str, ...]
    formula: str
    rule: Rule
    ways: tuple[Way, ...] = ()


@cache
def identities() -> tuple[Identity, ...]:
    """Every equation as a check; one that takes fuel in the tank with the reserve as it is stated."""
    found: list[Identity] = []
    for equation in equations():
        if "fuel_capacity" in equation.powers:
            found += _with_reserve(equation)
        else:
            found.append(_plain(equation))
    return tuple(found)


def factor_of(equation: Equation) -> Decimal:
    """What the product of the parts, each in its unit, is multiplied with."""
    size = 1.0
    for name, power in equation.powers.items():
        size *= _size(unit_of(name)) ** power
    return Decimal(repr(size / _size(unit_of(equation.result))))


def product(equation: Equation, powers: Mapping[str, float] | None = None) -> Rule:
    """The equation as a rule; with other powers than its own for a way to get it wrong."""
    taken = equation.powers if powers is None else powers
    factor = exact(
        factor_of(Equation(equation.result, taken)) if powers is None else factor_of(equation)
    )

    def rule(spans: Spans) -> Span:
        value = factor
        for name, power in taken.items():
            value = value * raised(spans[name], power)
        return _ONE - value if equation.complement else value

    return rule


def raised(span: Span, power: float) -> Span:
    """A span to a whole power."""
    value = span
    for _ in range(int(abs(power)) - 1):
        value = value * span
    return value if power > 0 else _ONE / value


def _named(name: str) -> str:
    return name.replace("_", " ")


def _formula(equation: Equation, more: str = "") -> str:
    top = [_named(n) for n, p in equation.powers.items() if p > 0]
    bottom = [_named(n) for n, p in equation.powers.items() if p < 0]
    text = " x ".join(top) or "1"
    if bottom:
        text += f" / {bottom[0]}" if len(bottom) == 1 else f" / ({' x '.join(bottom)})"
    left = "1 - " if equation.complement else ""
    return f"{_named(equation.result)} = {left}{text}{more}"


def _plain(equation: Equation) -> Identity:
    return Identity(
        equation.result.replace("_", "-"),
        equation.result,
        equation.parts,
        _formula(equation),
        product(equation),
        tuple(_wrong_ways(equation)),
    )


def _wrong_ways(equation: Equation) -> list[Way]:
    ways = []
    if equation.complement:
        direct = product(Equation(equation.result, equation.powers))
        ways.append(Way("inverted", "it is the part that does not slip", direct))
    if "gear_ratio" in equation.powers:
        without = {n: p for n, p in equation.powers.items() if n != "gear_ratio"}
        ways.append(Way("gear-ratio", "the gear ratio was left out", product(equation, without)))
    if not equation.needs and len(equation.powers) == 2:
        turned = product(equation, {n: -p for n, p in equation.powers.items()})
        first, second = (_named(n) for n, p in sorted(equation.powers.items(), key=lambda x: x[1]))
        ways.append(Way("inverted", f"{first} was divided by {second}", turned))
    return ways


def _with_reserve(equation: Equation) -> list[Identity]:
    whole, parts = product(equation), equation.parts

    def left(rest: Callable[[Spans], Span]) -> Rule:
        return lambda s: whole(s) * rest(s)

    def by_volume(s: Spans) -> Span:
        return whole({**s, "fuel_capacity": s["fuel_capacity"] - s["fuel_reserve_volume"]})

    forgotten = Way("range", "the reserve was not kept back", whole)
    return [
        Identity(
            "range", equation.result, (*parts, "fuel_reserve"),
            _formula(equation, " x (1 - reserve)"),
            left(lambda s: _ONE - s["fuel_reserve"]),
            tuple(
                Way("range", words, left(rest))
                for words, rest in _RESERVED_WRONGLY.items()
            ),
        ),
        Identity(
            "range", equation.result, (*parts, "fuel_reserve_volume"),
            _formula(equation, ", with the capacity less the reserve"), by_volume, (forgotten,),
        ),
        Identity(
            "range-at-most", equation.result, parts,
            f"{_formula(equation)} at most",
            lambda s: Span(Decimal(0), whole(s).high),
        ),
    ]  # fmt: skip


_RESERVED_WRONGLY: dict[str, Callable[[Spans], Span]] = {
    "the reserve was not kept back": lambda s: _ONE,
    "the reserve was added instead of kept back": lambda s: _ONE + s["fuel_reserve"],
    "only the reserve was reckoned with": lambda s: s["fuel_reserve"],
    "the fuel was divided by what remains instead of multiplied with it": lambda s: (
        _ONE / (_ONE - s["fuel_reserve"])
    ),
    "the reserve was kept back twice": lambda s: (
        (_ONE - s["fuel_reserve"]) * (_ONE - s["fuel_reserve"])
    ),
    "it is the distance out and back, not the range": lambda s: (
        (_ONE - s["fuel_reserve"]) / exact(2)
    ),
}
