"""The comparisons as they are read: one block for each pair of configurations and quantity."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from statistics import median
from typing import Any

from slackwater.analysis.result.result import Result
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.wording.numbers import (
    MISSING,
    NBSP,
    Scale,
    change_scale,
    common_decimals,
    fixed,
    range_text,
    row_decimals,
    uncertainty_text,
    value_scale,
)
from slackwater.analysis.wording.words import quantity_title

Row = dict[str, Any]

_NUMBER_AND_UNIT = re.compile(r"\s*([-+−]?\d[\d.,]*)\s*(.*?)\s*$", re.DOTALL)
SPEEDS = ("kn", "kt", "mph", "km/h", "m/s")


def split_at(at: str | None) -> tuple[str, str]:
    """The number and the unit of a place such as "2500 rpm"; a place without number is all unit."""
    match = _NUMBER_AND_UNIT.match(at or "")
    return (match[1], match[2]) if match else ("", at or "")


def by_position(rows: list[Row]) -> list[Row]:
    """The rows in the order of their set points; rows without one keep their order, at the end."""
    return sorted(rows, key=lambda row: (row["position"] is None, row["position"] or 0.0))


def _place(row: Compared) -> tuple[bool, float]:
    return row.position is None, row.position or 0.0


@dataclass(frozen=True)
class Block:
    """The comparisons of one quantity between two configurations, in the order of the set points.

    `beside` is what is told once a session and not by its runs: scored by people, or read of manoeuvres.
    """

    baseline: str
    modified: str
    quantity: str
    rows: tuple[Compared, ...]
    value_decimals: int | None = None
    beside: bool = False

    @property
    def sweep(self) -> tuple[str, str]:
        """Key of the block's quantity in `sweeps`."""
        return self.quantity, split_at(self.rows[0].at)[1]

    @property
    def title(self) -> str:
        """The quantity in words, with where it stands when that is no set point."""
        title = quantity_title(self.quantity)
        if self.at_equal_speed:
            return f"{title} at equal speed"
        label = (self.rows[0].at or "").removeprefix("best economy").strip()
        told = label in ("", title, "trip", "year") or not self.is_figure
        return title if told else f"{title} ({label})"

    @property
    def is_figure(self) -> bool:
        """One figure for the whole sweep."""
        return len(self.rows) == 1 and self.rows[0].position is None

    @property
    def at_equal_speed(self) -> bool:
        """Compared where the speeds are equal, and not the set points."""
        return not self.is_figure and split_at(self.rows[0].at)[1] in SPEEDS

    @property
    def noun(self) -> str:
        """What the rows are: set points, or speeds at which economy and the like are compared."""
        return "speeds" if split_at(self.rows[0].at)[1] in SPEEDS else "set points"

    @property
    def value(self) -> Scale:
        """How the means are printed."""
        return value_scale(self.rows[0].unit)

    @property
    def change(self) -> Scale:
        """How changes, noise floors and worthwhile differences are printed."""
        return change_scale(self.rows[0].scale, self.rows[0].unit)

    @property
    def change_unit(self) -> str:
        """Unit of the change after a number, with its space."""
        return NBSP + self.change.unit

    @cached_property
    def _column(self) -> int | None:
        return common_decimals(self.change.width(row.low, row.high) for row in self.rows)

    def decimals(self, row: Compared) -> int | None:
        """Decimals of the change in this row."""
        own = row_decimals(self.change.width(row.low, row.high), self._column)
        # Without any interval one decimal of a per cent is the most one would read off.
        return 1 if own is None and self.change.factor != 1.0 else own

    def change_text(self, row: Compared) -> str:
        """The change without its unit, "+3.1"."""
        return fixed(self.change.of(row.change), self.decimals(row), signed=True)

    def interval_text(self, row: Compared) -> str:
        """The interval of the change without its unit, "+2.1 to +4.0"."""
        low, high = self.change.of(row.low), self.change.of(row.high)
        if low is None or high is None:
            return MISSING
        return range_text(low, high, self.decimals(row))

    def floor_text(self, row: Compared) -> str:
        """The noise floor without its unit."""
        return uncertainty_text(self.change.of(row.noise_floor))

    def declared_text(self, value: float | None) -> str:
        """A declared figure without its unit, as short as it was declared."""
        scaled = self.change.of(value)
        return MISSING if scaled is None else f"{scaled:.6f}".rstrip("0").rstrip(".")

    def mean_text(self, row: Compared, column: str) -> str:
        """A mean without its unit."""
        return fixed(self.value.of(getattr(row, column)), self.value_decimals)


def value_decimals(result: Result) -> dict[str, int]:
    """Decimals at which the means of each quantity are printed where no interval stands beside."""
    widths: dict[str, list[float | None]] = {}
    sizes: dict[str, list[float]] = {}
    for row in result.records("set_points"):
        scale = value_scale(row["unit"])
        widths.setdefault(row["quantity"], []).append(scale.width(row["low"], row["high"]))
        sizes.setdefault(row["quantity"], []).append(abs(scale.of(row["mean"]) or 0.0))
    decimals = {name: common_decimals(found, lean=True) for name, found in widths.items()}
    return {
        # Without any interval, four digits of a typical value.
        name: 3 - math.floor(math.log10(median(sizes[name]) or 1.0)) if found is None else found
        for name, found in decimals.items()
    }


def blocks(result: Result) -> tuple[Block, ...]:
    """All blocks, in the order in which the comparisons name them."""
    decimals = value_decimals(result)
    beside = {row["quantity"] for name in ("ratings", "manoeuvres") for row in result.records(name)}
    made = []
    for (baseline, modified, quantity, _), rows in _together(result.compared):
        made.append(
            Block(
                baseline,
                modified,
                quantity,
                tuple(sorted(rows, key=_place)),
                decimals.get(quantity),
                quantity in beside,
            )
        )
    return tuple(made)


_Key = tuple[str, str, str, str]


def _together(rows: Iterable[Compared]) -> list[tuple[_Key, list[Compared]]]:
    """The rows of one figure, in the order in which figures begin.

    Set points that are speeds and further speeds compared at are two figures; the second begins where
    places do not go on rising.
    """
    groups: list[tuple[_Key, list[Compared]]] = []
    last: dict[_Key, list[Compared]] = {}
    for row in rows:
        key = (row.baseline, row.modified, row.quantity, split_at(row.at)[1])
        if key not in last or not _goes_on(last[key][-1], row):
            last[key] = []
            groups.append((key, last[key]))
        last[key].append(row)
    return groups


def _goes_on(before: Compared, row: Compared) -> bool:
    if before.position is None or row.position is None:
        return True
    return row.position > before.position


def sweeps(result: Result) -> dict[tuple[str, str], list[Row]]:
    """What was found at the set points: the rows of each quantity and unit of place."""
    found: dict[tuple[str, str], list[Row]] = {}
    for row in result.records("set_points"):
        if row["mean"] is not None:
            found.setdefault((row["quantity"], split_at(row["at"])[1]), []).append(row)
    return {key: by_position(rows) for key, rows in found.items()}


def places(block: Block, rows: list[Compared]) -> str:
    """Where in the block these rows stand: "1000 rpm", "1500 and 2000 rpm", "2500 to 3500 rpm"."""
    order = [row.at for row in block.rows]
    indices = [order.index(row.at) for row in rows]
    stretches: list[list[int]] = []
    for index in indices:
        if stretches and index == stretches[-1][-1] + 1:
            stretches[-1].append(index)
        else:
            stretches.append([index])
    unit = split_at(order[0])[1]
    parts: list[str] = []
    for stretch in stretches:
        names = [split_at(order[index])[0] or order[index] for index in stretch]
        parts += [f"{names[0]} to {names[-1]}"] if len(names) > 2 else names
    text = parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
    return f"{text}{NBSP}{unit}" if split_at(order[0])[0] else text
