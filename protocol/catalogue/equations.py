"""What quantities have to do with each other, read off their declarations: one equation a way to make one.

A quantity that is read off a curve, or summed over a trip, is no product of its parts and gives none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from slackwater.protocol.catalogue.measures import MEASURES, Recipe
from slackwater.protocol.catalogue.recipes import OF_A_RUN

#: What recipes need besides measures and that a text may state, with the unit it is worked out in.
NEEDS: dict[str, str] = {
    "fuel_capacity": "L",
    "fuel_density": "kg/L",
    "gear_ratio": "1",
    "propeller_pitch": "m",
}
_DEEPEST = 4  # recipes within recipes


@dataclass(frozen=True, slots=True)
class Equation:
    """A quantity as a product of powers of others, each in its own unit.

    Attributes
    ----------
    result : str
    powers : mapping
        Of the parts, measures and needs alike.
    complement : bool
        The result is what the product leaves of one.
    """

    result: str
    powers: Mapping[str, float]
    complement: bool = False

    @property
    def parts(self) -> tuple[str, ...]:
        """What the result follows from."""
        return tuple(self.powers)

    @property
    def needs(self) -> tuple[str, ...]:
        """What of it is no measure."""
        return tuple(name for name in self.powers if name in NEEDS)


@cache
def equations() -> tuple[Equation, ...]:
    """Every equation that the catalogue declares, with the parts made of others put in as well."""
    found: dict[tuple[str, tuple[tuple[str, float], ...]], Equation] = {}
    for name, measure in MEASURES.items():
        for powers in _ways(name, _DEEPEST):
            key = (name, tuple(sorted(powers.items())))
            found.setdefault(key, Equation(name, powers, measure.complement))
    return tuple(found.values())


def _ways(name: str, deep: int) -> Iterator[dict[str, float]]:
    """The products that a quantity is, those of its own recipes first."""
    measure = MEASURES[name]
    for recipe in _recipes(name):
        own = {**recipe.parts, **recipe.needs}
        if len(own) > 1 and all(need in NEEDS for need in recipe.needs):
            yield own
        elif len(own) > 1 or measure.largest_of or measure.table == "whole sweep":
            continue
        yield from _put_in(own, deep)
    inverse = measure.changes_as.removeprefix("-")
    if inverse != measure.changes_as:
        yield {inverse: -1.0}


def _recipes(name: str) -> Iterator[Recipe]:
    yield from MEASURES[name].made_of
    if name in OF_A_RUN:
        yield OF_A_RUN[name]


def _put_in(powers: Mapping[str, float], deep: int) -> Iterator[dict[str, float]]:
    """A product with one of its parts replaced by what that is made of."""
    if not deep:
        return
    for part, power in powers.items():
        if part in NEEDS or MEASURES[part].complement:
            continue
        for inner in _ways(part, deep - 1):
            whole = {name: own for name, own in powers.items() if name != part}
            for name, own in inner.items():
                whole[name] = whole.get(name, 0.0) + own * power
            yield {name: own for name, own in whole.items() if own}
