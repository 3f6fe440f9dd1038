"""How a single value of a file is read: text, number, quantity, from what a person typed.

Each marker stands in an `Annotated` type; it tells pydantic how to read the value, and the JSON
Schema what an editor may let pass.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic_core import PydanticCustomError, core_schema

from slackwater.protocol.units.possible import refuse_impossible
from slackwater.protocol.units.quantity import (
    Quantity,
    QuantityError,
    fitting,
    needed,
    normal_unit,
    parse_any,
    parse_number,
    parse_quantity,
    show_number,
)

_NUMBER_PATTERN = r"[-+−]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?"
QUANTITY_PATTERN = rf"^\s*{_NUMBER_PATTERN}\s*((±|\+/-)\s*{_NUMBER_PATTERN}\s*)?[A-Za-z°Δ%][^,]*$"


def refuse(rule: str, message: str, fix: str = "") -> PydanticCustomError:
    """An error that pydantic carries along with its place and leaves as it is."""
    # The message is handed over as context, so that braces in it are left alone.
    template = "{message}"
    return PydanticCustomError(rule, template, {"message": message, "fix": fix})


@dataclass(frozen=True, slots=True)
class Scalar:
    """The base of the markers: reads one value, or says what is needed instead."""

    def read(self, value: object) -> Any:
        """The value as it is used from here on; raises QuantityError."""
        raise NotImplementedError

    def wanted(self) -> str:
        """What is needed, in words."""
        raise NotImplementedError

    def json(self) -> dict[str, Any]:
        """What an editor may let pass, as JSON Schema."""
        raise NotImplementedError

    def _check(self, value: object) -> Any:
        if value is None or isinstance(value, (dict, list, tuple)):
            found = {dict: "keys with values stand", type(None): "nothing stands"}.get(
                type(value), "a list stands"
            )
            raise refuse("unfit-value", f"{found} here; {self.wanted()} is needed")
        try:
            return self.read(value)
        except QuantityError as error:
            raise refuse("unfit-value", error.message, error.fix) from None

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self._check, serialization=core_schema.to_string_ser_schema()
        )

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return self.json()


@dataclass(frozen=True, slots=True)
class TextIn(Scalar):
    """A text; `one_line` for names, `pattern` where only some characters will do."""

    longest: int = 4000
    one_line: bool = False
    pattern: str = ""
    noun: str = "a text"
    may_be_empty: bool = False

    def wanted(self) -> str:
        return self.noun

    def read(self, value: object) -> str:
        text = str(value).strip()
        if not text and not self.may_be_empty:
            raise QuantityError(f"no value is given; {self.noun} is needed", "write it, in quotes")
        if len(text) > self.longest:
            raise QuantityError(
                f"a text of {len(text)} characters; {self.longest} at most", "make it shorter"
            )
        if self.one_line and not all(c.isprintable() for c in text):
            raise QuantityError(f"{text!r} is more than a plain line of text", "keep it to a line")
        if self.pattern and not re.fullmatch(self.pattern, text):
            raise QuantityError(f"'{text}' does not do here; {self.noun} is needed")
        return text

    def json(self) -> dict[str, Any]:
        schema: dict[str, Any] = {"type": ["string", "number"], "maxLength": self.longest}
        if not self.may_be_empty:
            schema["minLength"] = 1
        if self.pattern:
            schema |= {"type": "string", "pattern": f"^{self.pattern}$"}
        return schema


@dataclass(frozen=True, slots=True)
class NumberIn(Scalar):
    """A plain number above zero."""

    of: str = ""

    def wanted(self) -> str:
        return "a number above zero"

    def read(self, value: object) -> float:
        number = parse_number(_numeral(value, self.wanted()))
        if number <= 0:
            raise QuantityError(f"'{value}' is not above zero; {self.wanted()} is needed")
        refuse_impossible(str(value).strip(), number, "1", None, self.of)
        return number

    def json(self) -> dict[str, Any]:
        return {"type": "number", "exclusiveMinimum": 0}


@dataclass(frozen=True, slots=True)
class WholeIn(Scalar):
    """A whole number between two bounds, both included."""

    low: int = 1
    high: int = 1000

    def wanted(self) -> str:
        return f"a whole number from {self.low} to {self.high}"

    def read(self, value: object) -> int:
        text = _numeral(value, self.wanted())
        number = parse_number(text)
        if number != int(number) or not self.low <= number <= self.high:
            raise QuantityError(f"'{value}' does not do here; {self.wanted()} is needed")
        return int(number)

    def json(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True, slots=True)
class FlagIn(Scalar):
    """`true` or `false`, and nothing else."""

    def wanted(self) -> str:
        return "'true' or 'false'"

    def read(self, value: object) -> bool:
        if isinstance(value, bool):
            return value
        if value in ("true", "false"):
            return value == "true"
        meant = str(value).strip().casefold()
        fix = ""
        if meant in ("true", "yes", "on", "y", "1"):
            fix = "write 'true'"
        elif meant in ("false", "no", "off", "n", "0"):
            fix = "write 'false'"
        raise QuantityError(f"'{value}' does not do here; {self.wanted()} is needed", fix)

    def json(self) -> dict[str, Any]:
        return {"type": "boolean"}


@dataclass(frozen=True, slots=True)
class QuantityIn(Scalar):
    """A quantity of one of some dimensions; of any, when none is named.

    `sign` is "positive", "not negative" or "" for either; `of` is its row in `possible.POSSIBLE`.
    """

    likes: tuple[str, ...] = ()
    sign: str = ""
    example: str = ""
    of: str = ""

    def wanted(self) -> str:
        return needed(self.likes)

    def read(self, value: object) -> Quantity:
        if isinstance(value, Quantity):
            text = str(value)
        elif isinstance(value, str):
            text = value
        else:
            text = _numeral(value, self.wanted())
        quantity = parse_quantity(text, self.likes) if self.likes else parse_any(text)
        if self.sign == "positive" and quantity.value <= 0:
            raise QuantityError(f"'{text.strip()}' is not above zero", "give a value above zero")
        if self.sign == "not negative" and quantity.value < 0:
            raise QuantityError(f"'{text.strip()}' is below zero", "give a value of zero or more")
        shown, spread = text.strip(), quantity.uncertainty
        refuse_impossible(shown, quantity.value, quantity.unit, spread, self.of)
        return quantity

    def json(self) -> dict[str, Any]:
        schema: dict[str, Any] = {"type": "string", "pattern": QUANTITY_PATTERN}
        if not self.likes or "1" in self.likes:
            schema["type"] = ["string", "number"]
            schema.pop("pattern") if "1" in self.likes else None
        units = [unit for like in self.likes if like != "1" for unit in fitting(like)[1]]
        if self.example:
            schema["examples"] = [self.example]
        elif units:
            schema["examples"] = [f"10 {unit}" for unit in units[:3]]
        return schema


@dataclass(frozen=True, slots=True)
class CountIn(Scalar):
    """A count of people: a whole number, kept as a quantity with the unit "1"."""

    def wanted(self) -> str:
        return "a count (a whole number)"

    def read(self, value: object) -> Quantity:
        if isinstance(value, Quantity):
            value = show_number(value.value) if value.unit == "1" else str(value)
        number = parse_number(_numeral(value, self.wanted()))
        if number != int(number) or not 0 <= number <= 10_000:
            raise QuantityError(f"'{value}' is not a count", "write a whole number such as '3'")
        return Quantity(number, "1")

    def json(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": 0, "maximum": 10_000}


@dataclass(frozen=True, slots=True)
class UnitIn(Scalar):
    """The name of a unit, kept in its usual spelling."""

    def wanted(self) -> str:
        return "a unit"

    def read(self, value: object) -> str:
        return normal_unit(str(value))

    def json(self) -> dict[str, Any]:
        return {"type": ["string", "number"], "examples": ["kn", "rpm", "L/h", "%"]}


@dataclass(frozen=True, slots=True)
class PathIn(Scalar):
    """The path of a file."""

    def wanted(self) -> str:
        return "the name of a file"

    def read(self, value: object) -> Path:
        return Path(TextIn(longest=1000, one_line=True, noun=self.wanted()).read(value))

    def json(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "examples": ["runs.csv"]}


def _numeral(value: object, wanted: str) -> str:
    """A number given as text or, from Python, as a number; a truth value is neither."""
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise QuantityError(f"'{value}' does not do here; {wanted} is needed")
    return value if isinstance(value, str) else repr(value)


SNAKE = r"[a-z][a-z0-9_]*"

Text = Annotated[str, TextIn()]
OptionalText = Annotated[str, TextIn(may_be_empty=True)]
Name = Annotated[str, TextIn(longest=80, one_line=True, noun="a name")]
Kebab = Annotated[
    str,
    TextIn(
        longest=80,
        one_line=True,
        pattern=r"[a-z0-9]+(-[a-z0-9]+)*",
        noun="an id of small letters, digits and hyphens",
    ),
]
Snake = Annotated[
    str,
    TextIn(
        longest=80,
        one_line=True,
        pattern=SNAKE,
        noun="a name of small letters, digits and underscores",
    ),
]
Number = Annotated[float, NumberIn()]
Flag = Annotated[bool, FlagIn()]
Unit = Annotated[str, UnitIn()]
File = Annotated[Path, PathIn()]
Count = Annotated[Quantity, CountIn()]
AnyQuantity = Annotated[Quantity, QuantityIn()]
NotNegative = Annotated[Quantity, QuantityIn(sign="not negative")]
Positive = Annotated[Quantity, QuantityIn(sign="positive")]
