"""What a protocol has tried, sorted by how it is found in logs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from slackwater.protocol.declared.manoeuvres import kind_of

if TYPE_CHECKING:
    from slackwater.protocol.declared.manoeuvres import Manoeuvre

Sort = Literal["turn", "stop", "speed", "straight"]

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
SORTS: dict[Sort, dict[str, str]] = {
    "turn": TURNS,
    "stop": STOPS,
    "speed": SPEEDS,
    "straight": STRAIGHTS,
}


@dataclass(frozen=True, slots=True)
class WantedValue:
    """A value that is read of a manoeuvre: its name, kind, unit, and the speeds that it is read between. [kn]"""

    name: str
    kind: str
    unit: str
    from_speed: float | None = None
    to_speed: float | None = None


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

    @property
    def from_speed(self) -> float | None:
        """The speed that it begins at, where that is declared. [kn]"""
        return next((v.from_speed for v in self.values if v.from_speed is not None), None)


def wanted_of(name: str, manoeuvre: Manoeuvre) -> Wanted:
    """A manoeuvre of a protocol as it is looked for in logs."""
    values, by_hand, sorts = [], [], set()
    for value_name, value in manoeuvre.values.items():
        kind = kind_of(value_name, value)
        sort = next((s for s, kinds in SORTS.items() if kind and kind.name in kinds), None)
        if kind is None or sort is None:
            by_hand.append(value_name)
            continue
        sorts.add(sort)
        speeds = [None if each is None else each.to("kn").value for each in (value.from_speed, value.to_speed)]  # fmt: skip
        unit = manoeuvre.measures[value_name].unit
        values.append(WantedValue(value_name, kind.name, unit, *speeds))
    why = ""
    if not values:
        why = "none of its values is told by logs: write them into the table by hand"
    elif len(sorts) > 1:
        why = f"its values are of several sorts ({', '.join(sorted(sorts))}): declare a manoeuvre for each"
    begins = {v.from_speed for v in values if v.kind != "time_between_speeds"}
    if not why and len(begins - {None}) > 1:
        why = "its values begin at several speeds: declare a manoeuvre for each"
    one: Sort | Literal[""] = next(iter(sorts)) if len(sorts) == 1 else ""
    return Wanted(
        name, one, tuple(values), tuple(by_hand), manoeuvre.ways, manoeuvre.directions,
        manoeuvre.tries, manoeuvre.current, why,
    )  # fmt: skip
