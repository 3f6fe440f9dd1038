"""The comparisons of a result that are printed, one section for each quantity and pair."""

from __future__ import annotations

import re
from dataclasses import dataclass

from slackwater.analysis.result.result import Result
from slackwater.analysis.statement.lines import Line, line_of
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.verdicts import Word
from slackwater.analysis.wording.numbers import NBSP, unit_text
from slackwater.analysis.wording.words import quantity_title
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.catalogue.recipes import changes_as

_PLACE = re.compile(r"\s*([-+−]?\d[\d.,]*)\s*(\D.*?)\s*")
_SPEEDS = ("kn", "mph", "km/h", "m/s")

#: Places of figures that name no definition of theirs.
_NO_DEFINITION = ("trip", "year", "best economy")

#: At a set point these say what the speed there says.
_BESIDE_SPEED = ("advance", "slip", "engine_speed")
#: At equal speed these say what the distance for fuel or energy says, turned over.
_FLOWS = {
    "fuel_flow": "economy",
    "fuel_mass_flow": "economy",
    "electric_power": "distance_per_energy",
}


@dataclass(frozen=True, slots=True)
class Section:
    """All lines of one quantity between two configurations.

    Attributes
    ----------
    baseline, modified : str
        Titles of the configurations.
    title : str
        The quantity in words, with "at equal speed" where it is compared so.
    lines : tuple of Line
    deciding : bool
        The protocol names it as the figure that decides.
    afterwards : str
        What a seal shows not to have been declared beforehand: "", "found afterwards" or "in part
        found afterwards".
    unit : str
        Of the places, such as "kn"; empty for one figure of the whole sweep.
    """

    baseline: str
    modified: str
    title: str
    lines: tuple[Line, ...]
    deciding: bool
    afterwards: str
    unit: str

    @property
    def noun(self) -> str:
        """What the lines stand at."""
        if not self.unit:
            return "figures"
        return "speeds" if self.unit in _SPEEDS else "set points"

    def where(self, lines: list[Line]) -> str:
        """Where some of the lines stand, as a sentence ends: " at all 5 speeds", " at 10 kn"."""
        if not self.unit:
            return ""
        if len(lines) == len(self.lines) > 2:
            return f" at all {len(lines)} {self.noun}"
        return f" at {self.places(lines)}"

    def places(self, lines: list[Line]) -> str:
        """Where some of the lines stand: "10, 13 and 16 kn"."""
        numbers = [place_of(line.row)[0] for line in lines]
        listed = numbers[0] if len(numbers) == 1 else f"{', '.join(numbers[:-1])} and {numbers[-1]}"
        return f"{listed}{NBSP}{unit_text(self.unit)}"


def place_of(row: Compared) -> tuple[str, str]:
    """Number and unit of a row's place; empty for a figure of the whole sweep."""
    if row.position is None:
        return "", ""
    found = _PLACE.fullmatch(row.at)
    return (found[1], found[2]) if found else (row.at, "")


def sections(result: Result) -> tuple[Section, ...]:
    """What is printed of a result: what decides first, then every further quantity, whole.

    Nothing is chosen by how it came out. Left out is only what says the same as another quantity
    (range as economy, advance and slip as speed), and a figure of the whole sweep that the trial
    does not tell or tells by several definitions.
    """
    groups: dict[tuple[str, str, str, str], list[Compared]] = {}
    for row in result.compared:
        unit = place_of(row)[1]
        groups.setdefault((row.baseline, row.modified, row.quantity, unit), []).append(row)
    kept = [
        _section(result, rows, unit)
        for (_, _, quantity, unit), rows in groups.items()
        if rows[0].deciding or _printed(quantity, unit, rows, {key[2] for key in groups})
    ]
    return tuple(sorted(kept, key=lambda each: not each.deciding))


def _printed(quantity: str, unit: str, rows: list[Compared], told: set[str]) -> bool:
    if quantity in _BESIDE_SPEED or (unit in _SPEEDS and _FLOWS.get(quantity) in told):
        return False
    if not unit and (len(rows) > 1 or rows[0].verdict is Word.UNTESTABLE):
        return False
    listed = MEASURES.get(quantity)
    other, _ = changes_as(quantity)
    if other != quantity and other in told:
        return listed is not None and listed.asked_only
    return not any(
        MEASURES[name].asked_only and changes_as(name)[0] == quantity
        for name in told
        if name in MEASURES
    )


def _section(result: Result, rows: list[Compared], unit: str) -> Section:
    first, names = rows[0], result.configurations
    ordered = sorted(rows, key=lambda row: row.position or 0.0)
    title = quantity_title(first.quantity)
    if unit in _SPEEDS:
        title += " at equal speed"
    elif not unit and first.at not in (title, "", *_NO_DEFINITION):
        title += f" ({first.at})"
    means, compared = result.means, result.compared
    return Section(
        baseline=names.get(first.baseline, first.baseline),
        modified=names.get(first.modified, first.modified),
        title=title,
        lines=tuple(line_of(row, compared, means, row.at if unit else None) for row in ordered),
        deciding=bool(first.deciding),
        afterwards=_afterwards({row.declared for row in rows}),
        unit=unit,
    )


def _afterwards(declared: set[bool | None]) -> str:
    if False not in declared:
        return ""
    return "found afterwards" if declared == {False} else "in part found afterwards"
