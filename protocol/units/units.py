"""Units: their spelling, what they measure, and conversion between them.

The units stand in `units.txt`; pint makes the table of their factors from it (`unit_making`). Only
what is listed there can be written: no prefixes, so a slip of the finger is not taken for a unit
nobody meant.
"""

from __future__ import annotations

import difflib
import re
from functools import lru_cache

from slackwater.protocol.units.unit_table import SPELLINGS, UNITS

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
    ("a number of points of a rating scale", ("points",)),
)


class QuantityError(ValueError):
    """A text that is not the quantity needed: what is wrong, and the mend."""

    def __init__(self, message: str, fix: str = "") -> None:
        self.message = message
        self.fix = fix
        super().__init__(f"{message}; {fix}" if fix else message)


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
    kinds = {temperature_kind(first), temperature_kind(second)}
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
    kinds = {temperature_kind(from_unit), temperature_kind(to_unit)}
    if "point" in kinds and normal_unit(from_unit) != normal_unit(to_unit):
        raise QuantityError(
            f"'{from_unit}' and '{to_unit}' differ by an offset, not only by a factor",
            "convert the value itself",
        )
    return degree_ratio(from_unit, to_unit)


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """A value in another unit, temperatures with their offset.

    Raises
    ------
    QuantityError
        When a unit is unknown or the dimensions differ.
    """
    _require_same(from_unit, to_unit)
    if "point" not in {temperature_kind(from_unit), temperature_kind(to_unit)}:
        return value * conversion(from_unit, to_unit)
    if normal_unit(from_unit) == normal_unit(to_unit):
        return value
    base = value * _factor(from_unit) + _offset(from_unit)
    return (base - _offset(to_unit)) / _factor(to_unit)


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
        if match is None or match[1] not in SPELLINGS:
            raise _unknown_unit(text.strip(), piece)
        pairs.append((SPELLINGS[match[1]], sign * int(match[2] or 1)))
    offsets = [name for name, _ in pairs if name in ("degree_celsius", "degree_fahrenheit")]
    if offsets and (len(pairs) > 1 or pairs[0][1] != 1):
        raise QuantityError(
            f"'{text.strip()}' reckons with a temperature that has an offset",
            "use delta_degC or K in a compound unit",
        )
    return tuple(pairs)


def _unknown_unit(whole: str, piece: str) -> QuantityError:
    bare = re.sub(r"(?<=\w)[\^*]*-?[0-9]+$", "", piece)
    same = [name for name in SPELLINGS if name.casefold() == bare.casefold()]
    close = same or difflib.get_close_matches(bare, SPELLINGS, n=1, cutoff=0.6)
    if bare.casefold() in ("bft", "beaufort", "force"):
        return QuantityError(
            f"'{whole}' is a force of the Beaufort scale, which stands for a span of wind speeds",
            "write the wind speed that was measured or estimated, such as '9 kn'; the force may go "
            "into 'note:'",
        )
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
    over = [(UNITS[name][0], power) for name, power in factors if power > 0]
    under = [(UNITS[name][0], -power) for name, power in factors if power < 0]

    def show(pair: tuple[str, int]) -> str:
        return pair[0] if pair[1] == 1 else f"{pair[0]}^{pair[1]}"

    text = "*".join(show(pair) for pair in over) or "1"
    text += "".join("/" + show(pair) for pair in under)
    return {"Nm": "N*m"}.get(text, text)


@lru_cache(maxsize=1024)
def _dimension(text: str) -> dict[str, int]:
    """Power of each base dimension; a percentage and a count have none."""
    powers: dict[str, int] = {}
    for name, power in _factors(text):
        for kind, own in UNITS[name][3]:
            powers[kind] = powers.get(kind, 0) + own * power
    return {kind: power for kind, power in powers.items() if power}


@lru_cache(maxsize=1024)
def _factor(text: str) -> float:
    """The size of a unit in base units."""
    over = under = 1.0
    for name, power in _factors(text):
        size = UNITS[name][1]
        if power > 0:
            over *= size**power
        else:
            under *= size**-power
    return over / under


def _offset(text: str) -> float:
    """What a temperature's zero is in kelvin; 0 for everything else."""
    factors = _factors(text)
    return UNITS[factors[0][0]][2] if len(factors) == 1 else 0.0


@lru_cache(maxsize=1024)
def temperature_kind(text: str) -> str:
    """`point` for a temperature with an offset, `difference`, or nothing; kelvin is either."""
    factors = _factors(text)
    if len(factors) != 1 or "degree_" not in factors[0][0]:
        return ""
    return "difference" if factors[0][0].startswith("delta_") else "point"


@lru_cache(maxsize=1024)
def degree_ratio(from_unit: str, to_unit: str) -> float:
    """The ratio of two units by size alone; for a temperature, of its degrees."""
    names = [
        f"delta_{u}" if temperature_kind(u) == "point" else u
        for u in (normal_unit(from_unit), normal_unit(to_unit))
    ]
    if names[0] == names[1]:
        return 1.0
    return _factor(names[0]) / _factor(names[1])


def _require_same(from_unit: str, to_unit: str) -> None:
    if not same_dimension(from_unit, to_unit):
        raise QuantityError(
            f"'{normal_unit(from_unit)}' is {fitting(from_unit)[0]} and cannot be given in "
            f"'{normal_unit(to_unit)}'; {needed((to_unit,))} is needed"
        )
