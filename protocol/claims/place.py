"""Where a claim holds: at a set point or a speed, over a range of them, everywhere, or at its best."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

from slackwater.protocol.claims.figure_reading import parse_figure
from slackwater.protocol.files.scalars import Scalar
from slackwater.protocol.units.quantity import Quantity, QuantityError, convert, same_dimension

PlaceWord = Literal["", "everywhere", "anywhere", "average"]
_WORDS: dict[str, PlaceWord] = {
    "everywhere": "everywhere",
    "throughout": "everywhere",
    "every set point": "everywhere",
    "all set points": "everywhere",
    "anywhere": "anywhere",
    "its best": "anywhere",
    "best": "anywhere",
    "average": "average",
    "on average": "average",
    "the whole sweep": "average",
}


@dataclass(frozen=True, slots=True)
class Place:
    """Where a claim holds.

    Attributes
    ----------
    text : str
        As it was written.
    low, high : float
        Ends of a range; the same for a single place, infinite where there is none. [unit]
    unit : str
        Empty where only a word was written.
    word : str
        "everywhere", "anywhere" (where it is best), "average" or empty.
    """

    text: str
    low: float = -math.inf
    high: float = math.inf
    unit: str = ""
    word: PlaceWord = ""

    @property
    def single(self) -> Quantity | None:
        """The one place that is meant; None for a range or a word."""
        return Quantity(self.low, self.unit) if self.unit and self.low == self.high else None

    def holds(self, place: Quantity) -> bool:
        """Whether a place lies in it."""
        if not self.unit:
            return True
        if not same_dimension(place.unit, self.unit):
            return False
        value = convert(place.value, place.unit, self.unit)
        slack = 1e-9 * max(abs(value), 1.0)
        return self.low - slack <= value <= self.high + slack

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class PlaceIn(Scalar):
    """A set point, a speed, a range of either, or a word for all of them."""

    def wanted(self) -> str:
        return "a set point or a speed, such as '2400 rpm', '2300 to 3200 rpm' or 'everywhere'"

    def read(self, value: object) -> Place:
        if isinstance(value, Place):
            return value
        text = " ".join(str(value).split())
        word = _WORDS.get(text.casefold())
        if word is not None:
            return Place(text, word=word)
        return _of_figure(text)

    def json(self) -> dict[str, Any]:
        examples = ["2400 rpm", "2300 to 3200 rpm", "everywhere"]
        return {"type": ["string", "number"], "minLength": 1, "examples": examples}


def _of_figure(text: str) -> Place:
    figure = parse_figure(text)
    if figure.spread or figure.about or figure.side or figure.tolerance is not None:
        raise QuantityError(
            f"'{text}' is no place; a place is a set point or a range of them",
            "write it such as '2400 rpm' or '2300 to 3200 rpm'",
        )
    low, high = float(figure.low), float(figure.high)
    if figure.bound == "at least":
        high = math.inf
    elif figure.bound:
        low = -math.inf
    shown = text if low != high else str(Quantity(low, figure.unit))
    return Place(shown, low, high, figure.unit)
