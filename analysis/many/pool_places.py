"""Where places on different boats are the same, and which of them more than one boat shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from slackwater.analysis.many.alignment import (
    Place,
    by_declaration,
    by_measure,
    by_position,
    froude_number,
    whole_sweep,
)
from slackwater.analysis.many.boats import Member
from slackwater.analysis.many.outcome import Change
from slackwater.analysis.wording.words import listed
from slackwater.protocol.declared.pool import Pool

#: Told with the rule that it is told by, the message, and what to do.
Tell = Callable[[str, str, str], None]

ALIGNMENTS = {
    "set points": "the same set point, or the same speed",
    "froude": "the same Froude number of the waterline, by the baseline's speed",
    "top speed": "the same part of the baseline's top speed",
    "declared": "as declared, place by place",
}


def of_pair(member: Member, change: Change) -> bool:
    return (change.baseline, change.modified) == member.pair


class Aligning:
    """The places of a pool, and what is told of those that are not shared.

    Parameters
    ----------
    members : sequence of Member
    boats : mapping of list of int
        The trials of each boat, by their number.
    asked : Pool
    tell : callable
    """

    def __init__(
        self, members: Sequence[Member], boats: Mapping[str, list[int]], asked: Pool, tell: Tell
    ) -> None:
        self.members, self.boats, self.asked, self._tell = members, boats, asked, tell
        self.alone: list[str] = []
        self.lone: dict[str, list[str]] = {}  # places that one boat shows, and in which quantities
        self.scales = self._scales()

    def places(self, key: str, sweeps: Sequence[Sequence[Change]]) -> list[Place]:
        """Where changes of one quantity are pooled."""
        return self._shared(key, self._places(sweeps))

    def tell_left(self) -> None:
        """What is pooled nowhere, or not everywhere; told once all quantities were asked for."""
        for places_alone, names in self.lone.items():
            self._tell(
                "not-shared",
                f"{listed(names)}: not pooled at {places_alone}, where fewer than two boats have an "
                "interval",
                "",
            )
        if self.alone:
            self._tell(
                "not-shared",
                "nowhere pooled, for no two boats have an interval at one place: "
                f"{listed(list(dict.fromkeys(self.alone)))}",
                "align by 'froude' or 'top speed', or declare positions",
            )

    def _scales(self) -> list[float | None]:
        """What a speed in m/s is multiplied with, trial by trial, to what it is aligned by."""
        if self.asked.align == "froude":
            lengths = [m.outcome.waterline_length for m in self.members]
            self._lacking(lengths, "waterline_length", "the Froude number")
            return [None if each is None else froude_number(1.0, each) for each in lengths]
        if self.asked.align == "top speed":
            tops = [_top_speed(m) for m in self.members]
            self._lacking(tops, "speed", "the top speed")
            return [None if each is None else 1 / each for each in tops]
        return [None] * len(self.members)

    def _lacking(self, values: Sequence[float | None], key: str, what: str) -> None:
        names = [m.name for m, value in zip(self.members, values, strict=True) if value is None]
        if names:
            self._tell(
                "cannot-be-aligned",
                f"{listed(names)}: nothing tells {what}, so that none of its places is pooled",
                f"give {key}, or align in another way",
            )

    def _places(self, sweeps: Sequence[Sequence[Change]]) -> list[Place]:
        first = next((sweep[0] for sweep in sweeps if sweep), None)
        if first is None:
            return []
        if first.kind == "whole sweep":
            return whole_sweep(sweeps)
        if self.asked.align == "declared":
            names = [m.outcome.trial for m in self.members]
            return by_declaration(sweeps, names, self.asked.positions)
        if self.asked.align == "froude":
            return by_measure(sweeps, self.scales, self.asked.at, lambda v: f"Fn {v:g}")
        if self.asked.align == "top speed":
            return by_measure(
                sweeps, self.scales, self.asked.at, lambda v: f"{100 * v:g} % of top speed"
            )
        return by_position(sweeps)

    def _shared(self, key: str, places: Sequence[Place]) -> list[Place]:
        """Places that two boats show, or all where there is one boat; the rest is told."""
        boats = [self._boats_at(place) for place in places]
        if len(self.boats) < 2:
            return [place for place, count in zip(places, boats, strict=True) if count]
        shared = [place for place, count in zip(places, boats, strict=True) if count > 1]
        if not shared:
            self.alone.append(key.removeprefix("by ").split(" by ")[0].replace("_", " "))
        lone = [place.label for place, count in zip(places, boats, strict=True) if count < 2]
        if shared and lone:
            self.lone.setdefault(listed(lone), []).append(key.replace("_", " "))
        return shared

    def _boats_at(self, place: Place) -> int:
        return sum(
            any(place.shown[n] is not None for n in numbers) for numbers in self.boats.values()
        )


def _top_speed(member: Member) -> float | None:
    """The highest speed of the baseline at any set point. [m/s]"""
    speeds = [
        c.speed
        for c in member.outcome.changes
        if of_pair(member, c) and c.kind == "set points" and c.speed is not None
    ]
    return max(speeds) if speeds else None
