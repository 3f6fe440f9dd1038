"""What the columns of a table of samples hold, by their headings: quantity and unit, or a time.

The words are common practice of loggers. Where a trial names its own headings, those go before.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

from slackwater.analysis.intake.everyday import WORDS, engine_of
from slackwater.analysis.intake.headings import split_heading, squash
from slackwater.analysis.logs.table_times import MILLISECONDS
from slackwater.protocol.catalogue.logged import UNITS
from slackwater.protocol.units.quantity import QuantityError, normal_unit
from slackwater.protocol.units.units import same_dimension

#: What a time column may be; the rest of the names are quantities.
MOMENT, ELAPSED, DATE = "moment", "elapsed", "date"

_TIMES: dict[str, tuple[str, ...]] = {
    MOMENT: (
        *("time", "timestamp", "time stamp", "date time", "datetime", "date and time", "utc", "clock"),
        *("time utc", "local time", "epoch", "unix", "unix time", "epoch time", "date time utc"),
    ),
    ELAPSED: (
        *("elapsed", "elapsed time", "elapsed seconds", "seconds", "t", "sec", "time since start"),
        *("running time", "seconds since start"),
    ),
    DATE: ("date", "date utc", "day"),
}  # fmt: skip
_LOGGED: dict[str, tuple[str, ...]] = {
    "speed_over_ground": ("velocity", "speed over ground"),
    "speed_through_water": ("speed imp", "speed through water", "paddle wheel", "speed water"),
    "course_over_ground": ("cog", "course over ground", "course", "track", "cog true"),
    "course_over_ground_magnetic": ("cog magnetic", "cog mag"),
    "heading": ("heading", "hdg", "heading true", "hdt"),
    "heading_magnetic": (
        *("heading magnetic", "hdg magnetic", "hdg mag", "hdm", "compass", "compass heading"),
        "heading mag",
    ),
    "latitude": ("lat", "latitude"),
    "longitude": ("lon", "long", "lng", "longitude"),
    "distance": ("distance",),
    "rate_of_turn": ("rot", "rate of turn"),
    "rudder_angle": ("rudder", "rudder angle"),
    "heel": ("heel", "roll"),
    "trim": ("pitch",),
    "wind_angle": ("twa", "true wind angle"),
    "wind_direction": ("twd", "true wind direction"),
    "wind_speed": ("true wind speed",),
    "apparent_wind_speed": ("aws", "apparent wind speed"),
    "apparent_wind_angle": ("awa", "apparent wind angle"),
    "engine_load": ("load", "engine load"),
    "tank_level": ("fuel level", "tank level"),
    "stroke_rate": ("stroke rate", "cadence"),
}
_FILLERS = frozenset({"gps", "gnss"})
#: Units as loggers shorten them, which nothing else takes for one.
_SHORT = {"mps": "m/s", "spm": "1/min", "c": "degC", "f": "degF", "kmh": "km/h", "mins": "min", "pct": "%"}  # fmt: skip
#: What is written without a unit in one unit only.
_PLAIN = {"latitude": "deg", "longitude": "deg"}
_PIECES = re.compile(r"[a-z]+|[0-9]+|[%°]")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")


@dataclass(frozen=True, slots=True)
class Told:
    """What a trial says of headings; empty without one.

    Parameters
    ----------
    columns : mapping
        Headings by measure, several where engines have a column each; `start` is the time.
    units : mapping
        Of columns whose heading has none.
    dates : str
        "day first" or "month first", where dates are not year first.
    measures : mapping
        Unit of each measure of the protocol.
    """

    columns: Mapping[str, str | Sequence[str]] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    dates: str = ""
    measures: Mapping[str, str] = field(default_factory=dict)

    def unit_of(self, quantity: str) -> str:
        """The unit that channels of a quantity have; empty for what is none."""
        return UNITS.get(quantity) or self.measures.get(quantity, "")


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a heading stands for.

    Parameters
    ----------
    name : str
        A quantity, or one of `MOMENT`, `ELAPSED`, `DATE`; empty for what is not known.
    unit : str
        As written; empty for none.
    """

    name: str = ""
    unit: str = ""

    @property
    def is_time(self) -> bool:
        """Whether it tells when."""
        return self.name in _TIMES


def meaning_of(heading: str, below: str, told: Told) -> Meaning:
    """What a heading stands for, with the cell of a row of units below it."""
    base, bracketed = split_heading(heading)
    beneath = split_heading(below)[1] or below
    own = _told(heading, base, told)
    if own:
        return _with_unit(own, (bracketed or "", beneath, told.units.get(own, "")), told)
    words = _words(heading) if bracketed and not spelled(bracketed) else _words(base)
    name, rest = _named(words)
    if not name:
        return Meaning()
    unit = told.units.get(name, "")
    return _with_unit(name, (bracketed or "", beneath, *rest, unit, _PLAIN.get(name, "")), told)


def _told(heading: str, base: str, told: Told) -> str:
    """What the trial says that a heading is."""
    for name, own in told.columns.items():
        headings = [own] if isinstance(own, str) else own
        if any(squash(each) in (squash(heading), squash(base)) for each in headings):
            return MOMENT if name == "start" else name if told.unit_of(name) else ""
    return ""


def _with_unit(name: str, units: Sequence[str], told: Told) -> Meaning:
    """The first of the units that fits."""
    wanted = "s" if name in _TIMES else told.unit_of(name)
    for text in units:
        if name in _TIMES and text.strip().casefold() in ("ms", "msec", "milliseconds"):
            return Meaning(name, MILLISECONDS)
        unit = spelled(text)
        if unit and same_dimension(unit, wanted):
            return Meaning(name, unit)
    return Meaning(name)


@lru_cache(maxsize=1024)
def spelled(text: str) -> str:
    """A unit in its usual spelling, whatever the case; empty for what is none."""
    small = text.strip().casefold()
    for each in (text.strip(), small, _SHORT.get(small, "")):
        try:
            if each:
                return normal_unit(each)
        except QuantityError:
            continue
    return ""


def _words(text: str) -> tuple[str, ...]:
    return tuple(_PIECES.findall(_CAMEL.sub(" ", text).casefold()))


def _named(words: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """What some words name, and what in them may be a unit."""
    pairs = tuple("/".join(pair) for pair in pairwise(words))
    units = (*pairs, *reversed(words))
    bare = words[:-1] if words[-1:] == ("ms",) else _without_units(words)
    for several in (words, bare, _less(words, _FILLERS), _less(bare, _FILLERS)):
        name = _lookup().get(tuple(sorted(several)), "")
        if name:
            return name, units
    engines = set(engine_of(" ".join(words)).split())
    for several in (_less(words, engines), _less(bare, engines)):
        name = _lookup().get(tuple(sorted(several)), "")
        if name and several != words:
            return name, units
    return "", ()


def _less(words: tuple[str, ...], out: frozenset[str] | set[str]) -> tuple[str, ...]:
    return tuple(word for word in words if word not in out)


def _without_units(words: tuple[str, ...]) -> tuple[str, ...]:
    """Without one or two words at the end that are a unit."""
    if len(words) > 2 and spelled("/".join(words[-2:])):
        return words[:-2]
    return words[:-1] if len(words) > 1 and spelled(words[-1]) else words


@lru_cache(maxsize=1)
def _lookup() -> dict[tuple[str, ...], str]:
    """Names by the words that stand for them, in alphabetical order."""
    everyday = {name: words for name, words in WORDS.items() if name in UNITS}
    plain = {name: (name.replace("_", " "),) for name in UNITS}
    found: dict[tuple[str, ...], str] = {}
    for names in (plain, everyday, _LOGGED, _TIMES):
        for name, texts in names.items():
            for text in texts:
                found[tuple(sorted(text.split()))] = name
    return found
