"""What a protocol has tried, sorted by how it is found in logs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from slackwater.analysis.handling.own_values import OVER, OwnValue
from slackwater.protocol.declared.from_log import SLOWEST
from slackwater.protocol.declared.manoeuvres import kind_of

if TYPE_CHECKING:
    from slackwater.protocol.declared.from_log import FromLog
    from slackwater.protocol.declared.limits import Limit
    from slackwater.protocol.declared.manoeuvres import Manoeuvre

Sort = Literal["turn", "stop", "speed", "straight", "planing"]

#: Kinds of values with the figure that gives each, by the sort of manoeuvre that they are read of.
TURNS = {
    "turning_advance": "advance",
    "turning_transfer": "transfer",
    "tactical_diameter": "tactical_diameter",
    "steady_diameter": "steady_diameter",
    "speed_lost_in_turn": "speed_lost",
}
STOPS = {"stopping_distance": "track_reach", "stopping_time": "stopping_time"}
SPEEDS = {
    "time_to_speed": "time_to_speed",
    "time_to_plane": "time_to_plane",
    "time_between_speeds": "time_between_speeds",
}
STRAIGHTS = {"steering_correction": "heading_spread"}
PLANING = {SLOWEST: "slowest_held"}
SORTS: dict[Sort, dict[str, str]] = {
    "turn": TURNS,
    "stop": STOPS,
    "speed": SPEEDS,
    "straight": STRAIGHTS,
    "planing": PLANING,
}


@dataclass(frozen=True, slots=True)
class Held:
    """What it takes to hold a planing speed.

    Parameters
    ----------
    seconds : float
        For how long. [s]
    within : float
        How far the speed may stray to either side. [kn]
    step : float
        How far below it she may be when she comes off the plane. [kn]
    planing : mapping
        Limits that show that she planes, by channel.
    """

    seconds: float
    within: float
    step: float
    planing: Mapping[str, Limit]

    @property
    def words(self) -> str:
        """What shows that she planes, and what is a hold."""
        shown = " and ".join(f"{name.replace('_', ' ')} {limit}" for name, limit in self.planing.items())  # fmt: skip
        return (
            f"planing by {shown}; held for {self.seconds:g} s within {self.within:g} kn, and off the plane at most "
            f"{self.step:g} kn below"
        )


@dataclass(frozen=True, slots=True)
class WantedValue:
    """A value that is read of a manoeuvre: its name, kind, unit, and the speeds that it is read between. [kn]"""

    name: str
    kind: str
    unit: str
    from_speed: float | None = None
    to_speed: float | None = None
    held: Held | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """A manoeuvre as it is looked for.

    Parameters
    ----------
    name : str
    sort : str
        How it is found; empty where logs do not tell it.
    values : tuple of WantedValue
        That logs tell.
    own : tuple of OwnValue
        Those of the protocol's own that it says how to read over the try.
    by_hand : tuple of str
        Values that logs do not tell.
    ways : tuple of str
        Its directions.
    directions : str
        As the protocol has them.
    tries : int
        Planned, in each direction.
    current : str
        "averaged", "drift_taken_out" or "none".
    why_not : str
        Why it is not looked for; else empty.
    """

    name: str
    sort: Sort | Literal[""]
    values: tuple[WantedValue, ...]
    by_hand: tuple[str, ...]
    ways: tuple[str, ...]
    directions: str
    tries: int
    current: str
    why_not: str = ""
    own: tuple[OwnValue, ...] = ()

    @property
    def channels(self) -> tuple[str, ...]:
        """What is read beside the boat's path, because the protocol says so."""
        shown = [name for v in self.values if v.held is not None for name in v.held.planing]
        return (*shown, *(each.channel for each in self.own))

    @property
    def read_by(self) -> dict[str, str]:
        """How values are read that the protocol itself says how to read, in words."""
        planing = {v.name: v.held.words for v in self.values if v.held is not None}
        return planing | {each.name: each.words for each in self.own}

    @property
    def from_speed(self) -> float | None:
        """The speed that it begins at, where that is declared. [kn]"""
        return next((v.from_speed for v in self.values if v.from_speed is not None), None)


def wanted_of(name: str, manoeuvre: Manoeuvre) -> Wanted:
    """A manoeuvre of a protocol as it is looked for in logs."""
    values, own, by_hand = [], [], []
    for value_name, value in manoeuvre.values.items():
        unit = manoeuvre.measures[value_name].unit
        kind = kind_of(value_name, value)
        if kind is None and value.from_log is not None:
            own.append(_own(value_name, unit, value.from_log))
        elif kind is None or _sort_of(kind.name) is None or (kind.name == SLOWEST and value.from_log is None):  # fmt: skip
            by_hand.append(value_name)
        else:
            begin, end = (None if each is None else each.to("kn").value for each in (value.from_speed, value.to_speed))  # fmt: skip
            values.append(WantedValue(value_name, kind.name, unit, begin, end, _held(value.from_log)))  # fmt: skip
    sorts = sorted({sort for each in values if (sort := _sort_of(each.kind)) is not None})
    return Wanted(
        name, sorts[0] if len(sorts) == 1 else "", tuple(values), tuple(by_hand), manoeuvre.ways,
        manoeuvre.directions, manoeuvre.tries, manoeuvre.current, _why_not(values, own, sorts), tuple(own),
    )  # fmt: skip


def _sort_of(kind: str) -> Sort | None:
    return next((sort for sort, kinds in SORTS.items() if kind in kinds), None)


def _own(name: str, unit: str, how: FromLog) -> OwnValue:
    over = OVER if how.over is None else how.over.to("s").value
    return OwnValue(name, unit, how.channel or "", how.take or "", over)


def _held(how: FromLog | None) -> Held | None:
    """What a planing speed has to be held by; the protocol's own checks have seen that it is whole."""
    if how is None or how.hold is None or how.within is None or how.step is None:
        return None
    return Held(how.hold.to("s").value, how.within.to("kn").value, how.step.to("kn").value, how.planing)  # fmt: skip


def _why_not(values: Sequence[WantedValue], own: Sequence[OwnValue], sorts: Sequence[str]) -> str:
    """Why a manoeuvre is not looked for; empty where it is."""
    if not values and own:
        return (
            f"{', '.join(each.name for each in own)} would be read over its tries, and nothing else in it tells when "
            "these were: declare it beside a value that logs find, or write it into the table by hand"
        )
    if not values:
        return "none of its values is told by logs: write them into the table by hand"
    if len(sorts) > 1:
        return f"its values are of several sorts ({', '.join(sorts)}): declare a manoeuvre for each"
    if len(values) > 1 and sorts == ["planing"]:
        return "it has several slowest planing speeds: declare a manoeuvre for each"
    begins = {v.from_speed for v in values if v.kind != "time_between_speeds"}
    if len(begins - {None}) > 1:
        return "its values begin at several speeds: declare a manoeuvre for each"
    return ""
