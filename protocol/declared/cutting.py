"""How runs are cut from a trial's logs, where the logs themselves do not tell."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from slackwater.protocol.declared.protocol_parts import Part
from slackwater.protocol.files.scalars import File, Name, PathIn, Scalar, Snake
from slackwater.protocol.units.quantity import QuantityError

_FARTHEST = timedelta(hours=14)
_AHEAD = re.compile(r"([+-]?)([0-9]{1,2}):([0-9]{2})")


@dataclass(frozen=True, slots=True)
class AheadIn(Scalar):
    """By how much a clock is ahead of UTC."""

    def wanted(self) -> str:
        return "a time from -14:00 to 14:00"

    def read(self, value: object) -> timedelta:
        if isinstance(value, timedelta):
            return value
        text = str(value).strip()
        match = _AHEAD.fullmatch(text)
        ahead = timedelta(hours=int(match[2]), minutes=int(match[3])) if match else None
        if match is None or ahead is None or ahead > _FARTHEST or int(match[3]) > 59:
            raise QuantityError(
                f"'{text}' is not {self.wanted()}",
                'write it as "02:00", or "-05:00" where the clock is behind',
            )
        return -ahead if match[1] == "-" else ahead

    def json(self) -> dict[str, Any]:
        return {"type": "string", "pattern": f"^{_AHEAD.pattern}$", "examples": ["02:00"]}


@dataclass(frozen=True, slots=True)
class LogIn(PathIn):
    """The path of a log."""

    def json(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "examples": ["day1.log"]}


Ahead = Annotated[timedelta, AheadIn()]
LogFile = Annotated[Path, LogIn()]
Sources = Annotated[tuple[Name, ...], Field(min_length=1, max_length=12)]


class Cutting(Part):
    """What is taken from logs, and by which clock they are told."""

    sources: dict[Snake, Name | Sources] = Field(
        default_factory=dict,
        max_length=40,
        description="Sources to take, by quantity; a list where each engine has one.",
        examples=[{"speed_over_ground": "GP RMC"}],
    )
    plan: File | None = Field(
        default=None,
        description="The prepared table of runs, for their order where nothing tells the set points.",
    )
    ahead_of_utc: Ahead = Field(
        default_factory=timedelta,
        description="By which the clock of sessions and runs is ahead of UTC.",
    )

    @property
    def asked(self) -> dict[str, tuple[str, ...]]:
        """The sources asked for, each quantity with one or several."""
        return {
            quantity: (source,) if isinstance(source, str) else source
            for quantity, source in self.sources.items()
        }
