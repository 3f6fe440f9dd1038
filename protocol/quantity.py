"""Quantities with their units: `8 kn`, `1 %`, `6200 ± 40 kg`.

The units stand in `units.txt`, the arithmetic is pint's. Only what is listed there can be written:
no prefixes, so a slip of the finger is not taken for a unit nobody meant.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import as_file, files
from typing import Any

_NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_PLAIN_NUMBER = re.compile(_NUMBER)
_PLUS_MINUS = re.compile(r"±|\+/-|\+-")
_LEADING_NUMBER = re.compile(rf"({_NUMBER})(.*)", re.DOTALL)
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]+(?:[ .'][0-9]{3})*,[0-9]+")
_GROUPED_THOUSANDS = re.compile(r"[+-]?[0-9]{1,3}(?:[ '_\u00a0\u202f][0-9]{3})+(?![0-9])")
_SEVERAL = re.compile(rf"{_NUMBER}\s*(?:-|–|to|\.\.)\s*{_NUMBER}")
_LIMIT_SIGN = re.compile(r"(?:<=|>=|<|>|≤|≥|~|≈)")
_FACTOR = re.compile(r"([^\W\d]+|°[CF]?|Δ?°[CF]|delta_°[CF]|%)(?:(?:\^|\*\*)?(-?[1-9]))?")
_LONGEST = 200  # characters; nothing that is a quantity comes near

# What people call a dimension, and the units that fit it; the first unit stands for the dimension.
_FITTING: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("a speed", ("kn", "m/s", "km/h", "mph")),
    ("a rotational speed", ("rpm",)),
    ("a flow of volume", ("L/h", "gal/h")),
    ("a flow of mass", ("kg/h", "lb/h")),
    ("a distance per volume", ("nmi/L", "nmi/gal", "mi/gal", "km/L")),
    ("a volume per distance", ("L/nmi", "gal/nmi", "L/km")),
    ("a length", ("m", "ft", "in", "nmi")),
    ("a length per revolution", ("m/rev", "in/rev")),
    ("a mass", ("kg", "t", "lb")),
    ("a volume", ("L", "gal", "m^3")),
    ("a time", ("s", "min", "h")),
    ("an angle", ("deg", "rad")),
    ("a power", ("kW", "hp", "PS")),
    ("a torque or an energy", ("N*m", "kWh")),
    ("a force", ("N", "kN", "lbf")),
    ("a pressure", ("kPa", "bar", "psi")),
    ("a density", ("kg/m^3", "kg/L")),
    ("a mass per energy", ("g/kWh", "lb/hp/h")),
    ("a sound level", ("dB",)),
    ("a temperature", ("degC", "degF", "K")),
    ("a temperature difference", ("delta_degC", "delta_degF", "K")),
    ("a percentage", ("%",)),
)


class QuantityError(ValueError):
    """A text that is not the quantity needed: what is wrong, and the mend."""

    def __init__(self, message: str, fix: str = "") -> None:
        self.message = message
        self.fix = fix
        super().__init__(f"{message}; {fix}" if fix else message)


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
            spread *= _degree_ratio(self.unit, unit)
        return Quantity(convert(self.value, self.unit, unit), normal_unit(unit), spread)

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
        When the text is no quantity, or one of another dimension.
    """
    likes = (like,) if isinstance(like, str) else like
    value, spread, unit_text = split_quantity(text, likes)
    if not unit_text:
        if "1" in likes:
            return Quantity(value, "1", spread)
        raise QuantityError(
            f"'{text.strip()}' has no unit; {needed(likes)} is needed",
            f"write '{show_number(value)} {likes[0]}'" + _or_another(likes),
        )
    unit = normal_unit(unit_text)
    if not any(same_dimension(unit, one) for one in likes):
        raise _wrong_dimension(text.strip(), value, unit, likes)
    return Quantity(value, unit, spread)


def parse_any(text: str) -> Quantity:
    """Read a quantity of any dimension; a plain number has the unit "1"."""
    value, spread, unit_text = split_quantity(text, ())
    return Quantity(value, normal_unit(unit_text) if unit_text else "1", spread)


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


@lru_cache(maxsize=1024)
def normal_unit(text: str) -> str:
    """The usual spelling of a unit: `knots` is `kn`, `l/hr` is `L/h`, `(N m)` is not a unit.

    Raises
    ------
    QuantityError
        When the unit is not known.
    """
    return _spell(_factors(text))


@lru_cache(maxsize=1024)
def same_dimension(first: str, second: str) -> bool:
    """Whether two units measure the same kind of thing; a temperature and a difference do not."""
    kinds = {_temperature_kind(first), _temperature_kind(second)}
    if kinds == {"point", "difference"}:
        return False
    return bool(_dimension(first) == _dimension(second))


@lru_cache(maxsize=1024)
def conversion(from_unit: str, to_unit: str) -> float:
    """The factor that takes a value from one unit to another.

    Raises
    ------
    QuantityError
        When a unit is unknown, the dimensions differ, or a temperature has an offset, so that no
        factor will do.
    """
    _require_same(from_unit, to_unit)
    kinds = {_temperature_kind(from_unit), _temperature_kind(to_unit)}
    if "point" in kinds and normal_unit(from_unit) != normal_unit(to_unit):
        raise QuantityError(
            f"'{from_unit}' and '{to_unit}' differ by an offset, not only by a factor",
            "convert the value itself",
        )
    return _degree_ratio(from_unit, to_unit)


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """A value in another unit, temperatures with their offset.

    Raises
    ------
    QuantityError
        When a unit is unknown or the dimensions differ.
    """
    _require_same(from_unit, to_unit)
    if "point" not in {_temperature_kind(from_unit), _temperature_kind(to_unit)}:
        return value * conversion(from_unit, to_unit)
    if normal_unit(from_unit) == normal_unit(to_unit):
        return value
    return float(_registry().convert(value, _pint_unit(from_unit), _pint_unit(to_unit)))


def needed(likes: tuple[str, ...]) -> str:
    """The kinds of quantity in words, with the units that fit: `a speed (kn, m/s, km/h, mph)`."""
    if not likes:
        return "a quantity"
    words = []
    for like in likes:
        if like == "1":
            words.append("a plain number")
            continue
        noun, units = fitting(like)
        words.append(f"{noun} ({', '.join(units)})")
    return " or ".join(words)


@lru_cache(maxsize=256)
def fitting(like: str) -> tuple[str, tuple[str, ...]]:
    """What the dimension of a unit is called, and units that fit it."""
    for noun, units in _FITTING:
        if same_dimension(units[0], like):
            return noun, units
    unit = normal_unit(like)
    return f"a quantity in {unit}", (unit,)


# --- reading -------------------------------------------------------------------------------------


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
        return QuantityError(
            f"'{shown}' has a decimal comma", f"write a decimal point: '{_with_point(tidy)}'"
        )
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
        raise QuantityError(
            f"'{shown}' has a comma in its number",
            f"write a decimal point, and nothing between thousands: "
            f"'{_with_point(comma[0])}{tidy[comma.end() :]}', or without the comma",
        )
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


def _with_point(number: str) -> str:
    whole, _, fraction = number.rpartition(",")
    return re.sub(r"[ .']", "", whole) + "." + fraction


def _or_another(likes: tuple[str, ...]) -> str:
    others = [unit for like in likes if like != "1" for unit in fitting(like)[1]]
    others = [unit for unit in dict.fromkeys(others) if unit != likes[0]]
    return f" or another of {', '.join(others)}" if others else ""


def _wrong_dimension(shown: str, value: float, unit: str, likes: tuple[str, ...]) -> QuantityError:
    kinds = {_temperature_kind(like) for like in likes if like != "1"}
    if _temperature_kind(unit) == "point" and "difference" in kinds:
        return QuantityError(
            f"'{shown}' is a temperature; a temperature difference is needed",
            f"write '{show_number(value)} delta_{unit}'",
        )
    if _temperature_kind(unit) == "difference" and "point" in kinds:
        return QuantityError(
            f"'{shown}' is a temperature difference; a temperature is needed",
            f"write '{show_number(value)} {unit.removeprefix('delta_')}'",
        )
    return QuantityError(f"'{shown}' is {fitting(unit)[0]}; {needed(likes)} is needed")


# --- units ---------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _registry() -> Any:
    # pint costs more to import than all else that a check needs, so it waits until it is wanted.
    import pint

    with as_file(files("slackwater.protocol") / "units.txt") as path:
        return pint.UnitRegistry(path)


@lru_cache(maxsize=1)
def _names() -> dict[str, str]:
    """Every spelling of every unit, with the name that pint knows it by."""
    registry = _registry()
    names = {}
    for spelling in registry:
        name = registry.get_name(spelling, case_sensitive=True)
        names[spelling] = name
    for short, long in (("degC", "degree_celsius"), ("degF", "degree_fahrenheit")):
        names[short] = long
        for lead in ("delta_", "Δ"):
            names[lead + short] = f"delta_{long}"
    return names


def _symbol(name: str) -> str:
    symbol = str(_registry().get_symbol(name))
    return symbol.replace("Δ", "delta_") if symbol.startswith("Δ") else symbol


@lru_cache(maxsize=1024)
def _factors(text: str) -> tuple[tuple[str, int], ...]:
    """The factors of a unit as pairs of pint's name and exponent, in the order written."""
    plain = text.strip().replace("·", "*").replace("⋅", "*").replace("²", "^2").replace("³", "^3")
    # A bracket under the stroke: L/(h*m) is L/h/m.
    plain = re.sub(r"/\s*\(([^()]*)\)", lambda m: "/" + m[1].replace("*", "/"), plain)
    if plain == "1":
        return ()
    if not plain or len(plain) > _LONGEST:
        raise QuantityError("no unit is given" if not plain else "the unit is too long a text")
    pairs = []
    for position, part in enumerate(re.split(r"([*/])", plain)):
        if position % 2:
            continue
        sign = -1 if position and re.split(r"([*/])", plain)[position - 1] == "/" else 1
        piece = part.strip()
        if piece == "1" and position == 0:
            continue
        match = _FACTOR.fullmatch(piece)
        if match is None or match[1] not in _names():
            raise _unknown_unit(text.strip(), piece)
        pairs.append((_names()[match[1]], sign * int(match[2] or 1)))
    offsets = [name for name, _ in pairs if name in ("degree_celsius", "degree_fahrenheit")]
    if offsets and (len(pairs) > 1 or pairs[0][1] != 1):
        raise QuantityError(
            f"'{text.strip()}' reckons with a temperature that has an offset",
            "use delta_degC or K in a compound unit",
        )
    return tuple(pairs)


def _unknown_unit(whole: str, piece: str) -> QuantityError:
    bare = re.sub(r"(?<=\w)[\^*]*-?[0-9]+$", "", piece)
    same = [name for name in _names() if name.casefold() == bare.casefold()]
    close = same or difflib.get_close_matches(bare, _names(), n=1, cutoff=0.6)
    if bare == "nm":  # a nanometre to some, a nautical mile to others, a newton metre to a few
        close = ["nmi", "N*m"]
    message = f"the unit '{bare}' is not known" if bare else f"'{whole}' is not a unit"
    if piece != whole and bare:
        message += f" in '{whole}'"
    if close:
        return QuantityError(message, "did you mean " + " or ".join(f"'{c}'" for c in close) + "?")
    return QuantityError(message, "see the list of units in the manual, or write it in SI units")


def _spell(factors: tuple[tuple[str, int], ...]) -> str:
    if not factors:
        return "1"
    over = [(_symbol(name), power) for name, power in factors if power > 0]
    under = [(_symbol(name), -power) for name, power in factors if power < 0]

    def show(pair: tuple[str, int]) -> str:
        return pair[0] if pair[1] == 1 else f"{pair[0]}^{pair[1]}"

    text = "*".join(show(pair) for pair in over) or "1"
    text += "".join("/" + show(pair) for pair in under)
    return {"Nm": "N*m"}.get(text, text)


@lru_cache(maxsize=1024)
def _pint_unit(text: str) -> Any:
    expression = "*".join(f"{name}**{power}" for name, power in _factors(text))
    return _registry().parse_units(expression, as_delta=False)


@lru_cache(maxsize=1024)
def _dimension(text: str) -> Any:
    return _registry().get_dimensionality(_pint_unit(text))


@lru_cache(maxsize=1024)
def _temperature_kind(text: str) -> str:
    """`point` for a temperature with an offset, `difference`, or nothing; kelvin is either."""
    factors = _factors(text)
    if len(factors) != 1 or "degree_" not in factors[0][0]:
        return ""
    return "difference" if factors[0][0].startswith("delta_") else "point"


@lru_cache(maxsize=1024)
def _degree_ratio(from_unit: str, to_unit: str) -> float:
    """The ratio of two units by size alone; for a temperature, of its degrees."""
    names = [
        f"delta_{u}" if _temperature_kind(u) == "point" else u
        for u in (normal_unit(from_unit), normal_unit(to_unit))
    ]
    if names[0] == names[1]:
        return 1.0
    return float(_registry().convert(1.0, _pint_unit(names[0]), _pint_unit(names[1])))


def _require_same(from_unit: str, to_unit: str) -> None:
    if not same_dimension(from_unit, to_unit):
        raise QuantityError(
            f"'{normal_unit(from_unit)}' is {fitting(from_unit)[0]} and cannot be given in "
            f"'{normal_unit(to_unit)}'; {needed((to_unit,))} is needed"
        )
