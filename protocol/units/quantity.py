"""Quantities with their units: `8 kn`, `1 %`, `6200 ± 40 kg`.

Units and their conversion are in `units.py`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from slackwater.protocol.units.possible import refuse_impossible
from slackwater.protocol.units.units import (
    QuantityError,
    conversion,
    convert,
    degree_ratio,
    fitting,
    needed,
    normal_unit,
    same_dimension,
    temperature_kind,
)

__all__ = [
    "Quantity",
    "QuantityError",
    "conversion",
    "convert",
    "fitting",
    "needed",
    "normal_unit",
    "parse_any",
    "parse_number",
    "parse_quantity",
    "same_dimension",
    "show_number",
    "split_quantity",
]

_NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_PLAIN_NUMBER = re.compile(_NUMBER)
_PLUS_MINUS = re.compile(r"±|\+/-|\+-")
_LEADING_NUMBER = re.compile(rf"({_NUMBER})(.*)", re.DOTALL)
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+(?:[ .'][0-9]{3})*,[0-9]+")
_GROUPED_THOUSANDS = re.compile(r"[+-]?[0-9]{1,3}(?:[ '_\u00a0\u202f][0-9]{3})+(?![0-9])")
_SEVERAL = re.compile(rf"{_NUMBER}\s*(?:-|–|to|\.\.)\s*{_NUMBER}")
_LIMIT_SIGN = re.compile(r"(?:<=|>=|<|>|≤|≥|~|≈)")
_LONGEST = 200  # characters; nothing that is a quantity comes near


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with its unit.

    Parameters
    ----------
    value : float
        [unit]
    unit : str
        In its usual spelling, see `normal_unit`; "1" for a plain number.
    uncertainty : float, optional
        Standard uncertainty. [unit; for a temperature, the size of its degree]
    """

    value: float
    unit: str
    uncertainty: float | None = None

    def to(self, unit: str) -> Quantity:
        """The same quantity in another unit.

        Raises
        ------
        QuantityError
            When the unit is unknown or of another dimension.
        """
        spread = self.uncertainty
        if spread is not None:
            spread *= degree_ratio(self.unit, unit)
        return Quantity(convert(self.value, self.unit, unit), normal_unit(unit), spread)

    def size_in(self, unit: str) -> float:
        """The size of a difference in another unit; where a temperature has its zero does not matter.

        Raises
        ------
        QuantityError
            When the unit is unknown or of another dimension.
        """
        if temperature_kind(self.unit) and temperature_kind(unit):
            return self.value * degree_ratio(self.unit, unit)
        return self.to(unit).value

    def __str__(self) -> str:
        number = show_number(self.value)
        if self.uncertainty is not None:
            number = f"{number} ± {show_number(self.uncertainty)}"
        return number if self.unit == "1" else f"{number} {self.unit}"


def show_number(value: float) -> str:
    """A number as people write it: ten digits at most, no trailing zeros."""
    return f"{value:.10g}"


def parse_number(text: str) -> float:
    """Read a plain number, strictly: `045` is 45; no `1_000`, `nan`, `inf` or decimal comma.

    Raises
    ------
    QuantityError
        When the text is not a finite number.
    """
    tidy = _tidy(text)
    if not _PLAIN_NUMBER.fullmatch(tidy):
        raise _not_a_number(text, tidy)
    return _finite(tidy)


def parse_quantity(text: str, like: str | tuple[str, ...]) -> Quantity:
    """Read a quantity such as `8 kn`, `1 %` or `6200 ± 40 kg`.

    Parameters
    ----------
    text : str
        As a person wrote it. After ± stands a standard uncertainty.
    like : str or tuple of str
        A unit of the dimension needed; several when any of several dimensions will do. "1" stands
        for a plain number without a unit, and admits a percentage.

    Returns
    -------
    Quantity
        In the unit written, with that unit in its usual spelling.

    Raises
    ------
    QuantityError
        When the text is no quantity, one of another dimension, or a value that is impossible.
    """
    likes = (like,) if isinstance(like, str) else like
    value, spread, unit_text = split_quantity(text, likes)
    if not unit_text:
        if "1" in likes:
            refuse_impossible(text.strip(), value, "1", spread)
            return Quantity(value, "1", spread)
        if likes[0] == "%" and 0 < abs(value) < 1:
            raise QuantityError(
                f"'{text.strip()}' has no unit; {needed(likes)} is needed",
                f"write '{show_number(100 * value)} %' if a fraction is meant, "
                f"else '{show_number(value)} %'",
            )
        raise QuantityError(
            f"'{text.strip()}' has no unit; {needed(likes)} is needed",
            f"write '{show_number(value)} {likes[0]}'" + _or_another(likes),
        )
    unit = normal_unit(unit_text)
    if not any(same_dimension(unit, one) for one in likes):
        raise _wrong_dimension(text.strip(), value, unit, likes)
    refuse_impossible(text.strip(), value, unit, spread)
    return Quantity(value, unit, spread)


def parse_any(text: str) -> Quantity:
    """Read a quantity of any dimension; a plain number has the unit "1"."""
    value, spread, unit_text = split_quantity(text, ())
    unit = normal_unit(unit_text) if unit_text else "1"
    refuse_impossible(text.strip(), value, unit, spread)
    return Quantity(value, unit, spread)


def split_quantity(text: str, likes: tuple[str, ...]) -> tuple[float, float | None, str]:
    """Split a text into value, standard uncertainty and the text of the unit."""
    tidy = _tidy(text)
    example = f"such as '10 {likes[0]}'" if likes and likes[0] != "1" else "such as '10'"
    if not tidy:
        raise QuantityError(f"no value is given; {needed(likes)} is needed", f"write it {example}")
    _refuse_other_notations(text, tidy, likes)
    first, *others = _PLUS_MINUS.split(tidy)
    head = _LEADING_NUMBER.fullmatch(first.strip())
    if head is None:
        raise QuantityError(
            f"'{text.strip()}' is not a quantity; {needed(likes)} is needed",
            f"write a number and its unit, {example}",
        )
    value, unit_text = _finite(head[1]), head[2].strip()
    if not others:
        return value, None, unit_text
    tail = _LEADING_NUMBER.fullmatch(others[0].strip()) if len(others) == 1 else None
    if tail is None or (unit_text and tail[2].strip() not in {"", unit_text}):
        raise QuantityError(
            f"'{text.strip()}' cannot be read as a value and its standard uncertainty",
            "write value, ±, standard uncertainty and then the unit, such as '6200 ± 40 kg'",
        )
    spread = _finite(tail[1])
    if spread < 0 or tail[1].startswith("-"):
        raise QuantityError(
            f"'{text.strip()}' has a negative uncertainty", "give the size of the uncertainty"
        )
    return value, spread, unit_text or tail[2].strip()


def _tidy(text: str) -> str:
    return text.replace("−", "-").replace("\u00a0", " ").replace("\u202f", " ").strip()


def _finite(digits: str) -> float:
    value = float(digits)
    if not math.isfinite(value):
        raise QuantityError(f"'{digits}' is too large a number", "give a number within reason")
    return value


def _not_a_number(text: str, tidy: str) -> QuantityError:
    shown = text.strip()
    if not tidy:
        return QuantityError("no value is given; a number is needed", "write a number such as '10'")
    if _DECIMAL_COMMA.fullmatch(tidy):
        return _comma(shown, tidy, "")
    if _GROUPED_THOUSANDS.match(tidy):
        return QuantityError(
            f"'{shown}' has its thousands set apart",
            f"write the digits together: '{re.sub(r'[^0-9.+-]', '', tidy)}'",
        )
    return QuantityError(f"'{shown}' is not a number", "write a number such as '10' or '1.75'")


def _refuse_other_notations(text: str, tidy: str, likes: tuple[str, ...]) -> None:
    """Name the notations that people do use and that would be misread, before anything is read."""
    shown = text.strip()
    if len(tidy) > _LONGEST:
        raise QuantityError(
            f"a text of {len(tidy)} characters is not a quantity; {needed(likes)} is needed"
        )
    comma = _DECIMAL_COMMA.match(tidy)
    if comma:
        raise _comma(shown, comma[0], tidy[comma.end() :])
    grouped = _GROUPED_THOUSANDS.match(tidy)
    if grouped:
        digits = re.sub(r"[^0-9+-]", "", grouped[0])
        raise QuantityError(
            f"'{shown}' has its thousands set apart",
            f"write the digits together: '{digits}{tidy[grouped.end() :]}'",
        )
    if _SEVERAL.match(tidy):
        raise QuantityError(
            f"'{shown}' is a span; a single value is needed",
            "give one value, with its standard uncertainty after ± where it is known",
        )
    if _LIMIT_SIGN.match(tidy):
        raise QuantityError(
            f"'{shown}' starts with a sign of comparison; a value is needed",
            "leave the sign away; limits are written {at_most: ...} or {at_least: ...}",
        )


def _comma(shown: str, number: str, rest: str) -> QuantityError:
    """A comma in a number: a decimal one to some, between thousands to others."""
    whole, _, fraction = number.rpartition(",")
    digits = re.sub(r"[ .']", "", whole)
    pointed, joined = f"{digits}.{fraction}{rest}", f"{digits}{fraction}{rest}"
    if len(fraction) == 3 and digits == whole:
        fix = f"write '{joined}' or '{pointed}', whichever is meant"
    else:
        fix = f"write a decimal point, and nothing between thousands: '{pointed}'"
    return QuantityError(f"'{shown}' has a comma in its number", fix)


def _or_another(likes: tuple[str, ...]) -> str:
    others = [unit for like in likes if like != "1" for unit in fitting(like)[1]]
    others = [unit for unit in dict.fromkeys(others) if unit != likes[0]]
    return f" or another of {', '.join(others)}" if others else ""


def _wrong_dimension(shown: str, value: float, unit: str, likes: tuple[str, ...]) -> QuantityError:
    kinds = {temperature_kind(like) for like in likes if like != "1"}
    if temperature_kind(unit) == "point" and "difference" in kinds:
        return QuantityError(
            f"'{shown}' is a temperature; a temperature difference is needed",
            f"write '{show_number(value)} delta_{unit}'",
        )
    if temperature_kind(unit) == "difference" and "point" in kinds:
        return QuantityError(
            f"'{shown}' is a temperature difference; a temperature is needed",
            f"write '{show_number(value)} {unit.removeprefix('delta_')}'",
        )
    return QuantityError(f"'{shown}' is {fitting(unit)[0]}; {needed(likes)} is needed")
