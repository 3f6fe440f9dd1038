"""Figures as published: `16.2 kn`, `13 to 15 kn`, `about 30 %`, `up to 20 %`, `a quarter less`.

The digits are kept as they were printed, in decimal arithmetic, since the number of digits is part
of what was said. What the rounding of the digits leaves open is worked out in the audit.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from slackwater.protocol.files.scalars import Scalar
from slackwater.protocol.units.quantity import (
    QuantityError,
    normal_unit,
    parse_any,
    same_dimension,
    show_number,
)

LARGEST = 10  # powers of ten on either side of 1; nothing measured on a boat comes near
_LONGEST = 120  # characters

_NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_ABOUT = r"about|approximately|approx\.?|around|roughly|some|nearly|almost|circa|ca\.?|~|≈"
_UP_TO = r"up to|as much as|at most|no more than|at best|max(?:imum)?\.?|≤|<=?"
_AT_LEAST = r"at least|no less than|more than|over|above|min(?:imum)?\.?|≥|>=?"
_LEAD = re.compile(rf"({_ABOUT})|({_UP_TO})|({_AT_LEAST})", re.IGNORECASE)
_BETWEEN = re.compile(r"between\s+", re.IGNORECASE)
_SPAN = re.compile(
    rf"(?P<low>{_NUMBER})\s*(?P<unit>(?!to\b|and\b)[^\d\s+–.-][^\d\s–]*)?\s*"
    rf"(?:-|–|to|\.\.+|and)\s*(?P<high>{_NUMBER})(?P<rest>.*)"
)
_SINGLE = re.compile(
    rf"(?P<value>{_NUMBER})(?:\s*(?:±|\+/-)\s*(?P<spread>[0-9]+(?:\.[0-9]*)?|\.[0-9]+))?(?P<rest>.*)"
)
_LESS = r"less|lower|fewer|slower|smaller|down|decrease|reduction|saving|saved"
_MORE = r"more|higher|greater|faster|up|increase|improvement|gain"
_TAIL = re.compile(rf"(?P<unit>.*?)\s*\b(?:(?P<less>{_LESS})|(?P<more>{_MORE}))\s*", re.IGNORECASE)
_PARTS = {"half": "50", "third": "33.3", "quarter": "25", "fifth": "20", "tenth": "10"}
_WORDS = re.compile(
    rf"(?:(?P<times>an?|one|two|three)\s+)?(?P<part>{'|'.join(_PARTS)})s?\s+"
    rf"(?:(?P<less>{_LESS})|(?P<more>{_MORE})|(?:as\s+\w+\s+)?again)",
    re.IGNORECASE,
)
_DOUBLE = re.compile(r"twice|double|doubled", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure as it was published.

    Parameters
    ----------
    text : str
        As it stands in the text, on one line.
    low, high : Decimal
        The number printed; two numbers for a span such as `13 to 15 kn`. [unit]
    unit : str
        In its usual spelling; "1" for a plain number.
    step : Decimal
        What one in the last printed digit is worth. [unit]
    about : bool
        "about", or a part in words, which is never meant to a digit.
    bound : "", "up to" or "at least"
        What the text says of it beside the number.
    uncertainty : Decimal, optional
        What was printed after ±. [unit]
    signed : bool
        A sign, or a word such as "less", tells the direction.
    """

    text: str
    low: Decimal
    high: Decimal
    unit: str
    step: Decimal
    about: bool = False
    bound: str = ""
    uncertainty: Decimal | None = None
    signed: bool = False

    @property
    def is_span(self) -> bool:
        """Whether two numbers were printed."""
        return self.low != self.high

    @property
    def middle(self) -> Decimal:
        """The number printed, or the middle of a span. [unit]"""
        return (self.low + self.high) / 2

    @property
    def zeros(self) -> int:
        """Zeros at the end of a whole number: they may be digits, or stand for lack of them."""
        if self.step != 1 or self.low == 0:
            return 0
        count = 0
        while all(end % 10 ** (count + 1) == 0 for end in (self.low, self.high)):
            count += 1
        return count

    def in_unit(self, unit: str) -> Figure:
        """The same digits read as if another unit stood behind them."""
        return replace(self, unit=unit)

    def __str__(self) -> str:
        return self.text


def parse_figure(text: str) -> Figure:
    """Read a figure as it was published.

    Raises
    ------
    QuantityError
        When it is none, or one beyond all reason.
    """
    shown = " ".join(text.split())
    if len(shown) > _LONGEST:
        raise QuantityError(
            f"a text of {len(shown)} characters is not a figure", "give the figure alone"
        )
    tidy = shown.replace("−", "-").replace("\u00a0", " ").strip()
    in_words = _from_words(shown, tidy)
    if in_words is not None:
        return in_words
    tidy, about, bound = _leading_words(tidy)
    words = _from_words(shown, tidy)
    if words is not None:
        return replace(words, bound=bound)
    between = _BETWEEN.match(tidy)
    span = _SPAN.fullmatch(tidy[between.end() :] if between else tidy)
    if span is not None:
        first, last, rest = span["low"], span["high"], span["rest"]
        if span["unit"] and not rest.strip():
            rest = span["unit"]
        elif span["unit"] and not rest.strip().startswith(span["unit"]):
            raise QuantityError(
                f"'{shown}' has two units", "write the span with one unit: '13 to 15 kn'"
            )
        return _figure(shown, (first, last), None, rest, about, bound)
    single = _SINGLE.fullmatch(tidy)
    if single is None or between is not None:
        parse_any(tidy)  # says what is wrong with a number, where it can
        raise QuantityError(
            f"'{shown}' is not a figure; a number and its unit are needed",
            "write it such as '17.1 kn', '13 to 15 kn', 'about 30 %' or 'up to 20 %'",
        )
    number = single["value"]
    return _figure(shown, (number, number), single["spread"], single["rest"], about, bound)


def _leading_words(tidy: str) -> tuple[str, bool, str]:
    about, bound = False, ""
    while (lead := _LEAD.match(tidy)) is not None:
        about = about or lead[1] is not None
        if lead[2] is not None:
            bound = "up to"
        elif lead[3] is not None:
            bound = "at least"
        tidy = tidy[lead.end() :].strip()
    return tidy, about, bound


def _figure(
    shown: str,
    numbers: tuple[str, str],
    spread: str | None,
    rest: str,
    about: bool,
    bound: str,
) -> Figure:
    tail = _TAIL.fullmatch(rest)
    unit_text = tail["unit"] if tail else rest
    if re.match(r"\s*[,'][0-9]|\s[0-9]", rest):
        parse_any(numbers[1] + rest)  # says what is wrong with such a number
    low, high = (_decimal(number, shown) for number in numbers)
    step = max(Decimal(1).scaleb(_exponent(number)) for number in numbers)
    signed = any(number[0] in "+-" for number in numbers)
    if tail is not None:
        if low < 0 or high < 0:
            raise QuantityError(
                f"'{shown}' has a minus and a word for its direction",
                "write the one or the other: '-5 %', or '5 % less'",
            )
        if tail["less"]:
            low, high = -high, -low
        signed = True
    if low > high:
        if low < 0 and high < 0:
            low, high = high, low  # "-4 to -6 %" is written from the smaller size to the larger
        else:
            raise QuantityError(
                f"'{shown}' goes down from {low} to {high}", "write the smaller number first"
            )
    unit = normal_unit(unit_text.strip()) if unit_text.strip() else "1"
    return Figure(
        shown, low, high, unit, step, about, bound, Decimal(spread) if spread else None, signed
    )


def _decimal(number: str, shown: str) -> Decimal:
    value = Decimal(number)
    if value and abs(value.adjusted()) > LARGEST:
        raise QuantityError(
            f"'{shown}' is beyond anything that is measured on a boat", "check the figure"
        )
    if len(value.as_tuple().digits) > 2 * LARGEST:
        raise QuantityError(f"'{shown}' has more digits than can be meant", "check the figure")
    return value


def _exponent(number: str) -> int:
    return int(Decimal(number).as_tuple().exponent)


def _from_words(shown: str, tidy: str) -> Figure | None:
    """Parts in words: `a quarter less`, `half as fast again`, `twice`."""
    if _DOUBLE.fullmatch(tidy):
        value = Decimal(100)
    else:
        found = _WORDS.fullmatch(tidy)
        if found is None:
            return None
        times = {"two": 2, "three": 3}.get((found["times"] or "").lower(), 1)
        value = times * Decimal(_PARTS[found["part"].lower()])
        if found["less"]:
            value = -value
    return Figure(shown, value, value, "%", Decimal(1), about=True, signed=True)


@dataclass(frozen=True, slots=True)
class FigureIn(Scalar):
    """A published figure of one of some dimensions; of any, when none is named."""

    likes: tuple[str, ...] = ()
    example: str = "17.1 kn"

    def wanted(self) -> str:
        return f"a figure as published, such as '{self.example}'"

    def read(self, value: object) -> Figure:
        if isinstance(value, Figure):
            figure = value
        elif isinstance(value, (int, float)) and not isinstance(value, bool):
            figure = parse_figure(show_number(value))
        else:
            figure = parse_figure(str(value))
        if self.likes and not any(same_dimension(figure.unit, like) for like in self.likes):
            raise QuantityError(f"'{figure}' does not do here; {self.wanted()} is needed")
        return figure

    def json(self) -> dict[str, Any]:
        return {"type": ["string", "number"], "minLength": 1, "examples": [self.example]}
