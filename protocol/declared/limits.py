"""Limits on loading and conditions: `{at_most: 8 kn}`, `{between: [40 %, 100 %]}`, `{same: true}`."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from pydantic import ValidationError
from pydantic_core import InitErrorDetails, PydanticCustomError, core_schema

from slackwater.protocol.catalogue.measures import CONDITIONS, LOADING, nearest
from slackwater.protocol.files.scalars import SNAKE, CountIn, FlagIn, QuantityIn, Scalar, refuse
from slackwater.protocol.units.quantity import Quantity, QuantityError, same_dimension

_KNOWN = {**LOADING, **CONDITIONS}
_LIKELY_SLIP = 0.85  # names closer than this are one name misspelt


@dataclass(frozen=True, slots=True)
class Limit:
    """What a protocol asks of one condition; exactly one of the fields is set.

    Parameters
    ----------
    at_most, at_least : Quantity, optional
        Bounds, each included.
    between : tuple of two Quantity, optional
        Lower and upper bound, both included.
    within : Quantity, optional
        Largest difference between the configurations compared; absolute, or a percentage.
    same : bool
        No difference at all between the configurations compared.
    """

    at_most: Quantity | None = None
    at_least: Quantity | None = None
    between: tuple[Quantity, Quantity] | None = None
    within: Quantity | None = None
    same: bool = False

    @property
    def compares(self) -> bool:
        """Whether it limits the difference between configurations, not each session's value."""
        return self.same or self.within is not None

    def holds(self, value: Quantity) -> bool:
        """Whether one session's value keeps the limit; always so for `within` and `same`.

        Raises
        ------
        QuantityError
            When value and limit are of different dimensions, such as litres and per cent of fuel.
        """
        if self.at_most is not None:
            return value.to(self.at_most.unit).value <= self.at_most.value
        if self.at_least is not None:
            return value.to(self.at_least.unit).value >= self.at_least.value
        if self.between is not None:
            low, high = self.between
            return low.value <= value.to(low.unit).value and (
                value.to(high.unit).value <= high.value
            )
        return True

    def bounds(self, unit: str) -> tuple[float, float]:
        """The lowest and the highest value that keep it, infinite where it sets none. [unit]"""
        low, high = self.between or (self.at_least, self.at_most)
        return (
            -math.inf if low is None else low.to(unit).value,
            math.inf if high is None else high.to(unit).value,
        )

    def __str__(self) -> str:
        if self.at_most is not None:
            return f"at most {self.at_most}"
        if self.at_least is not None:
            return f"at least {self.at_least}"
        if self.between is not None:
            return f"between {self.between[0]} and {self.between[1]}"
        return f"within {self.within}" if self.within is not None else "the same"


_KINDS = tuple(f.name for f in fields(Limit))
_HOW = "write one of {at_most: ...}, {at_least: ...}, {between: [..., ...]}, {within: ...}, {same: true}"
_Problem = tuple[tuple[str | int, ...], PydanticCustomError, object]


@dataclass(frozen=True)
class LimitsIn:
    """Marks a mapping of names to limits; known names are held to their dimension."""

    usual: tuple[str, ...]  # the names that an editor proposes here
    known: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: _KNOWN, compare=False)

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self._check)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        properties = {name: limit_schema(self.known[name]) for name in self.usual}
        return {
            "type": "object",
            "properties": properties,
            "patternProperties": {f"^{SNAKE}$": limit_schema(())},
            "additionalProperties": False,
        }

    def _check(self, value: object) -> dict[str, Limit]:
        if not isinstance(value, Mapping):
            raise refuse(
                "unfit-value",
                "names with limits are needed here",
                "write them such as 'wind_speed: {at_most: 8 kn}'",
            )
        limits: dict[str, Limit] = {}
        problems: list[_Problem] = []
        for name, entry in value.items():
            bad_name = self._bad_name(name)
            if bad_name is not None:
                problems.append(((name, "[key]"), bad_name, name))
                continue
            if isinstance(entry, Limit):
                limits[name] = entry
                continue
            found: dict[str, Any] = {}
            faults = list(_read_limit(entry, self.known.get(name, ()), found))
            problems += [((name, *loc), error, given) for loc, error, given in faults]
            if not faults:
                limits[name] = Limit(**found)
        if problems:
            raise ValidationError.from_exception_data(
                "limits",
                [InitErrorDetails(type=e, loc=loc, input=given) for loc, e, given in problems],
            )
        return limits

    def _bad_name(self, name: object) -> PydanticCustomError | None:
        if name in self.known:
            return None
        if not isinstance(name, str) or not re.fullmatch(SNAKE, name):
            near = nearest(str(name).replace("-", "_").replace(" ", "_"), self.known)
            fix = f"did you mean '{near}'?" if near else "use small letters, digits and underscores"
            return refuse("unknown-key", f"'{name}' cannot be the name of a condition", fix)
        near = nearest(name, self.known, _LIKELY_SLIP)
        if near is None:
            return None
        return refuse(
            "unknown-key", f"the key '{name}' is not known here", f"did you mean '{near}'?"
        )


def _read_limit(entry: object, likes: tuple[str, ...], found: dict[str, Any]) -> Iterator[_Problem]:
    """Read one limit into `found`, and yield what is wrong with it."""
    if not isinstance(entry, Mapping) or not entry:
        yield (), refuse("unfit-value", f"'{_shown(entry)}' is not a limit", _HOW), entry
        return
    for kind in entry:
        if kind not in _KINDS:
            near = nearest(str(kind), _KINDS)
            fix = f"did you mean '{near}'?" if near else _HOW
            error = refuse("unknown-key", f"the key '{kind}' is not known here", fix)
            yield (str(kind), "[key]"), error, entry
    known = [kind for kind in entry if kind in _KINDS]
    if len(known) > 1:
        yield (
            (),
            refuse(
                "unfit-value",
                f"two limits in one: {' and '.join(known)}",
                "give one; both bounds are written {between: [lowest, highest]}",
            ),
            entry,
        )
        return
    for kind in known:
        yield from _read_kind(kind, entry[kind], likes, found)


def _read_kind(
    kind: str, given: object, likes: tuple[str, ...], found: dict[str, Any]
) -> Iterator[_Problem]:
    reader: Scalar = _reader(likes)
    try:
        if kind == "same":
            found[kind] = FlagIn().read(given)
            if not found[kind]:
                raise QuantityError("'same: false' limits nothing", "take the line away")
        elif kind == "within":
            found[kind] = _difference_reader(likes).read(given)
        elif kind != "between":
            found[kind] = reader.read(given)
    except QuantityError as error:
        yield (kind,), refuse("unfit-value", error.message, error.fix), given
    if kind != "between":
        return
    if not isinstance(given, (list, tuple)) or len(given) != 2:
        fault = refuse("unfit-value", "two bounds are needed", "write {between: [lowest, highest]}")
        yield (kind,), fault, given
        return
    bounds = []
    for position, one in enumerate(given):
        try:
            bounds.append(reader.read(one))
        except QuantityError as bad:
            yield (kind, position), refuse("unfit-value", bad.message, bad.fix), one
    if len(bounds) < 2:
        return
    low, high = bounds
    if not same_dimension(low.unit, high.unit):
        fault = refuse(
            "unfit-value",
            f"'{low}' and '{high}' are of different kinds",
            "give both bounds in one unit",
        )
        yield (kind,), fault, given
    elif low.value > high.to(low.unit).value:
        fault = refuse(
            "unfit-value", f"'{low}' is more than '{high}'", "write the lower bound first"
        )
        yield (kind,), fault, given
    else:
        found[kind] = (low, high)


def _reader(likes: tuple[str, ...]) -> Scalar:
    return CountIn() if likes == ("count",) else QuantityIn(likes)


def _difference_reader(likes: tuple[str, ...]) -> Scalar:
    """For `within`: an absolute difference, or a percentage where the value has a true zero."""
    if likes == ("count",):
        return CountIn()
    if "degC" in likes:
        return QuantityIn(("delta_degC",), "not negative")
    if not likes:
        return QuantityIn((), "not negative")
    return QuantityIn(likes if "%" in likes else ("%", *likes), "not negative")


_SAYS = {
    "at_most": "The largest value that each session may have.",
    "at_least": "The smallest value that each session may have.",
    "between": "The smallest and the largest value that each session may have.",
    "within": "How far the means of two configurations may be apart.",
    "same": "The same value in every session.",
}


def limit_schema(likes: tuple[str, ...]) -> dict[str, Any]:
    """The JSON Schema of one limit."""
    one = _reader(likes).json()
    pair = {"type": "array", "items": one, "minItems": 2, "maxItems": 2}
    bounds: dict[str, dict[str, Any]] = {
        "at_most": one,
        "at_least": one,
        "between": pair,
        "within": _difference_reader(likes).json(),
        "same": {"const": True},
    }
    return {
        "type": "object",
        "description": "A limit: one of at_most, at_least, between, within and same.",
        "properties": {name: {**each, "description": _SAYS[name]} for name, each in bounds.items()},
        "additionalProperties": False,
        "minProperties": 1,
        "maxProperties": 1,
    }


def _shown(value: object) -> str:
    text = str(value)
    return text if len(text) <= 60 else text[:59] + "…"


CONDITION_LIMITS = LimitsIn(tuple(CONDITIONS))
LOADING_LIMITS = LimitsIn(tuple(LOADING))
