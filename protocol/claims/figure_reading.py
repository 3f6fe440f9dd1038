"""From a text to a figure: `16.2 kn`, `13 to 15 kn`, `about 30 %`, `no more than 3 % less`, `5 ± 1 %`."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from slackwater.protocol.claims.figure import Bound, Figure, Side
from slackwater.protocol.claims.figure_units import pace, per_hundred, plain_units
from slackwater.protocol.claims.figure_words import LESS, MORE, from_words
from slackwater.protocol.files.scalars import Scalar
from slackwater.protocol.units.possible import refuse_impossible
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
_SIZE = r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+"
#: Words before the number. The longer ones stand first, since the first that fits is taken.
_LEADS: tuple[tuple[str, str], ...] = (
    ("below", r"nearly|almost|just under|just below|not quite|close to"),
    (
        "above",
        r"just over|just above|a little over|a little more than|slightly more than|slightly over",
    ),
    ("average", r"on average,?|an average(?: of)?|averaging|average|mean|in the mean"),
    ("up to", r"up to|as much as|at best|at its best"),
    (
        "at most",
        r"at most|no more than|not more than|less than|fewer than|under|below|max(?:imum)?\.?|≤|<=?",
    ),
    (
        "at least",
        r"at least|no less than|not less than|more than|well over|over|above|min(?:imum)?\.?|≥|>=?",
    ),
    ("within", r"within|inside|±|\+/-"),
    ("about", r"about|approximately|approx\.?|around|roughly|some|circa|ca\.?|~|≈"),
)
_LEAD = re.compile(
    "|".join(rf"(?P<k{i}>{words})" for i, (_, words) in enumerate(_LEADS)), re.IGNORECASE
)
#: Words behind it.
_ENDINGS: tuple[tuple[str, str], ...] = (
    ("average", r",?\s*(?:on average|in the mean)"),
    ("about", r"\s+or so"),
    ("up to", r",?\s+at (?:its )?best"),
    ("at least", r"\s+(?:or|and) (?:more|better)|,?\s+at least|\s*\+"),
    ("at most", r"\s+(?:or|and) (?:less|under)|,?\s+at most"),
    ("within", r"\s+(?:either way|apart|on both sides|difference)"),
)
_SPAN = re.compile(
    rf"(?P<low>{_NUMBER})\s*(?P<unit>(?!to\b|and\b)[^\d\s+–.-][^\d\s–-]*)?\s*"
    rf"(?:-|–|to|\.\.+|and)\s*(?P<high>{_NUMBER})(?P<rest>.*)"
)
_SINGLE = re.compile(
    rf"(?P<value>{_NUMBER})(?P<before>[^\d±]*?)(?:(?:±|\+/-)\s*(?P<spread>{_SIZE})(?P<rest>.*))?"
)
_BRACKET = re.compile(r"(?P<head>.*\S)\s*[(\[](?P<inside>[^()\[\]]*)[)\]]")
_TAIL = re.compile(rf"(?P<unit>.*?)\s*\b(?:(?P<less>{LESS})|(?P<more>{MORE}))\s*", re.IGNORECASE)


@dataclass(slots=True)
class _Said:
    """What the words about a number say of it."""

    about: bool = False
    average: bool = False
    bound: Bound = ""
    side: Side = ""

    def add(self, word: str) -> None:
        if word == "about":
            self.about = True
        elif word == "average":
            self.average = True
        elif word in ("below", "above"):
            self.side = "below" if word == "below" else "above"
        else:
            self.bound = word  # type: ignore[assignment]

    def of(self, figure: Figure) -> Figure:
        """The figure with what was said of it."""
        return replace(
            figure,
            about=figure.about or self.about,
            average=self.average,
            bound=self.bound or figure.bound,
            side=self.side,
        )


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
    words = from_words(shown, shown)
    if words is not None:
        return words
    said = _Said()
    led = _ending(_leading(_signs(shown), said), said)
    figure = from_words(shown, led) or _over_a_mile(shown, led)
    if figure is None:
        hundred, scale = per_hundred(led)
        tidy, assumed = plain_units(hundred)
        figure = replace(_scaled(_number(shown, tidy), scale), assumed=assumed)
    return said.of(figure)


def _scaled(figure: Figure, scale: Decimal) -> Figure:
    """The figure of an amount over a hundred, for one."""
    if scale == 1:
        return figure
    spread = None if figure.uncertainty is None else figure.uncertainty * scale
    return replace(
        figure,
        low=figure.low * scale,
        high=figure.high * scale,
        step=figure.step * scale,
        uncertainty=spread,
    )


def _signs(text: str) -> str:
    """Minus signs and spaces of print as the ones that are typed."""
    text = text.replace("−", "-").replace("\u00a0", " ").replace("\u202f", " ").strip()
    return re.sub(r"(^|[\s(])–(?=\s?[0-9.])", r"\1-", text)


def _leading(tidy: str, said: _Said) -> str:
    while (lead := _LEAD.match(tidy)) is not None:
        rest = tidy[lead.end() :]
        if lead[0][-1].isalpha() and rest[:1].isalpha():
            break  # the beginning of another word
        said.add(next(word for i, (word, _) in enumerate(_LEADS) if lead[f"k{i}"] is not None))
        tidy = rest.strip()
    return tidy


def _ending(tidy: str, said: _Said) -> str:
    for word, pattern in _ENDINGS:
        found = re.search(rf"(?:{pattern})$", tidy, re.IGNORECASE)
        if found is not None and found.start() > 0:
            said.add(word)
            tidy = tidy[: found.start()].strip()
    return tidy


def _over_a_mile(shown: str, tidy: str) -> Figure | None:
    """A time over a mile, as the speed that it is."""
    found = pace(tidy)
    if found is None:
        return None
    value, step, assumed = found
    refuse_impossible(shown, float(value), "kn", None, "speed_through_water")
    return Figure(shown, value, value, "kn", step, assumed=assumed)


def _number(shown: str, tidy: str) -> Figure:
    between = re.match(r"between\s+", tidy, re.IGNORECASE)
    body = tidy[between.end() :] if between else tidy
    ends = None
    bracket = _BRACKET.fullmatch(body)
    if bracket is not None:
        inside = _SPAN.fullmatch(bracket["inside"].strip())
        if inside is not None:
            ends = _ordered(shown, _decimal(inside["low"], shown), _decimal(inside["high"], shown))
            body = bracket["head"]
    span = _SPAN.fullmatch(body)
    if span is not None:
        return replace(_span(shown, span), ends=ends)
    single = _SINGLE.fullmatch(body)
    if single is None or between is not None:
        parse_any(tidy)  # says what is wrong with a number, where it can
        raise QuantityError(
            f"'{shown}' is not a figure; a number and its unit are needed",
            "write it such as '17.1 kn', '13 to 15 kn', 'about 30 %' or 'up to 20 %'",
        )
    rest = _one_unit(shown, single["before"], single["rest"] or "")
    return replace(
        _figure(shown, (single["value"], single["value"]), single["spread"], rest), ends=ends
    )


def _one_unit(shown: str, before: str, behind: str) -> str:
    """The unit of a value with its ±, which may stand before it, behind it, or both."""
    if not before.strip() or not behind.strip():
        return before if before.strip() else behind
    if not behind.strip().startswith(before.strip()):
        raise QuantityError(
            f"'{shown}' has two units", "write value and uncertainty in one: '11.5 ± 0.2 kn'"
        )
    return behind


def _span(shown: str, span: re.Match[str]) -> Figure:
    rest = span["rest"]
    if span["unit"] and not rest.strip():
        rest = span["unit"]
    elif span["unit"] and not rest.strip().startswith(span["unit"]):
        raise QuantityError(
            f"'{shown}' has two units", "write the span with one unit: '13 to 15 kn'"
        )
    return _figure(shown, (span["low"], span["high"]), None, rest)


def _figure(shown: str, numbers: tuple[str, str], spread: str | None, rest: str) -> Figure:
    tail = _TAIL.fullmatch(rest)
    unit_text = tail["unit"] if tail else rest
    if re.match(r"\s*[,'][0-9]|\s[0-9]", rest):
        parse_any(numbers[1] + rest)  # says what is wrong with such a number
    low, high = (_decimal(number, shown) for number in numbers)
    if tail is not None:
        if low < 0 or high < 0:
            raise QuantityError(
                f"'{shown}' has a minus and a word for its direction",
                "write the one or the other: '-5 %', or '5 % less'",
            )
        if tail["less"]:
            low, high = -high, -low
    low, high = _ordered(shown, low, high)
    unit = normal_unit(unit_text.strip()) if unit_text.strip() else "1"
    for value in (low, high):
        refuse_impossible(shown, float(value), unit, float(spread) if spread else None)
    return Figure(
        shown,
        low,
        high,
        unit,
        step=max(Decimal(1).scaleb(_exponent(number)) for number in numbers),
        uncertainty=Decimal(spread) if spread else None,
        signed=tail is not None or any(number[0] in "+-" for number in numbers),
        worded=tail is not None,
    )


def _ordered(shown: str, low: Decimal, high: Decimal) -> tuple[Decimal, Decimal]:
    if low <= high:
        return low, high
    if low < 0 and high < 0:
        return high, low  # "-4 to -6 %" is written from the smaller size to the larger
    raise QuantityError(
        f"'{shown}' goes down from {low} to {high}", "write the smaller number first"
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


@dataclass(frozen=True, slots=True)
class FigureIn(Scalar):
    """A published figure of one of some dimensions; of any, when none is named.

    `of` is its row in `possible.POSSIBLE`, for what is above zero on every boat.
    """

    likes: tuple[str, ...] = ()
    example: str = "17.1 kn"
    of: str = ""

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
        if self.of and figure.low <= 0:
            raise QuantityError(f"'{figure}' is not above zero", "give a value above zero")
        if self.of:
            refuse_impossible(str(figure), float(figure.high), figure.unit, None, self.of)
        return figure

    def json(self) -> dict[str, Any]:
        return {"type": ["string", "number"], "minLength": 1, "examples": [self.example]}
