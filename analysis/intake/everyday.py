"""What crews head their columns with, and which column of a run table is most likely meant.

Only for suggestions and for a trial that is proposed from a table: no column is ever read by it. The words
are common practice.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from slackwater.analysis.intake.grid import clean

#: By name of a run table's column: headings in use, as words in small letters.
WORDS: dict[str, tuple[str, ...]] = {
    "session": ("session no", "session id", "day", "outing", "trip", "sortie", "trial day"),
    "set_point": (
        *("set point", "setpoint", "set", "target", "nominal", "step", "setting", "set rpm"),
        *("target rpm", "nominal rpm", "rpm set", "rpm target", "rpm nominal", "target speed"),
    ),
    "double_run": ("double run no", "pair", "run pair", "double", "repeat", "rep", "pass"),
    "direction": ("dir", "direction of run", "way", "leg", "run direction", "up down"),
    "heading": ("hdg", "course", "course steered", "compass", "cog"),
    "start": (
        *("time", "start time", "time start", "date", "date time", "datetime", "timestamp"),
        *("start utc", "time utc", "local time", "utc", "started", "clock"),
    ),
    "duration": ("dur", "run time", "length", "time recorded", "recorded", "seconds"),
    "configuration": ("config", "configuration fitted", "fitted", "setup", "propeller", "prop"),
    "set_aside": ("set aside because", "rejected", "reject", "excluded", "discarded", "void"),
    "note": ("notes", "remark", "remarks", "comment", "comments"),
    "speed_over_ground": (
        *("speed", "sog", "gps speed", "speed gps", "gps", "ground speed", "boat speed"),
        *("knots", "kn", "kts", "speed over ground gps", "mean speed", "average speed"),
    ),
    "speed_through_water": ("stw", "log speed", "speed log", "log", "water speed"),
    "engine_speed": (
        *("rpm", "engine rpm", "revs", "engine revs", "engine", "revolutions", "engine speed rpm"),
        *("rev min", "r min", "mean rpm", "average rpm"),
    ),
    "propeller_speed": ("shaft rpm", "prop rpm", "propeller rpm", "shaft speed"),
    "throttle": ("lever", "throttle position"),
    "fuel_flow": (
        *("fuel", "flow", "fuel rate", "consumption", "fuel consumption", "burn", "fuel burn"),
        *("l h", "gph", "lph", "litres per hour", "fuel use"),
    ),
    "shaft_power": ("power", "shaft kw", "engine power", "kw"),
    "electric_power": ("battery power", "motor power", "electric kw", "input power", "power"),
    "trim": ("trim angle", "pitch angle"),
    "wind_speed": ("wind", "true wind", "tws", "wind kn"),
    "water_depth": ("depth", "sounder", "depth sounder"),
    "water_temperature": ("water temp", "sea temp", "sea temperature"),
    "sound_level": ("noise level", "sound", "dba", "db"),
}  # fmt: skip

#: Words that say which engine a column belongs to.
ENGINES = frozenset(
    [
        "port",
        "stbd",
        "starboard",
        "stb",
        "sb",
        "pt",
        "p",
        "s",
        "left",
        "right",
        "centre",
        "center",
        "inner",
        "outer",
        "me1",
        "me2",
        "1",
        "2",
        "3",
        "4",
    ]
)
_NUMBERED = re.compile(r"\b(?:engine|eng|motor|no|me)\s*(?=[0-9]\b)")
_PIECES = re.compile(r"[a-z]+|[0-9]+")


def words_of(heading: str) -> tuple[str, ...]:
    """The words of a heading without its brackets, in small letters."""
    return tuple(_PIECES.findall(clean(heading).casefold().split("[")[0].split("(")[0]))


def engine_of(heading: str) -> str:
    """The words of a heading that name an engine; empty where none does."""
    return " ".join(word for word in _bare(heading) if word in ENGINES)


def _bare(heading: str) -> tuple[str, ...]:
    return tuple(_PIECES.findall(_NUMBERED.sub("", " ".join(words_of(heading)))))


def meant_by(heading: str, names: Collection[str]) -> str:
    """The column that a heading most likely stands for, of those named; empty where none is.

    Parameters
    ----------
    heading : str
        As the file spells it, with or without a unit in brackets.
    names : collection of str
        The columns that are open.
    """
    return _by_words(words_of(heading), names) or _by_words(
        tuple(word for word in _bare(heading) if word not in ENGINES), names
    )


def _by_words(words: tuple[str, ...], names: Collection[str]) -> str:
    text = " ".join(words)
    for name in names:
        if text and text in (name.replace("_", " "), *WORDS.get(name, ())):
            return name
    return ""
