"""Headings of a run table: which row they stand in, what each column holds and in which unit."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from slackwater.analysis.intake.grid import Row, clean, is_blank, plain, quoted
from slackwater.analysis.intake.problems import Problems
from slackwater.protocol.units.quantity import (
    QuantityError,
    convert,
    needed,
    normal_unit,
)

COLUMNS = ("session", "set_point", "double_run", "direction", "heading", "start", "duration")
CONTRACT = (*COLUMNS, "set_aside", "note", "configuration")

_UNIT = re.compile(r"(.*?)\s*(?:\[([^\[\]]*)\]|\(([^()]*)\))\s*", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the table that is read.

    Parameters
    ----------
    name : str
        The contract's name, or that of a declared measure.
    index : int
        Its place in a row, from 0.
    heading : str
        As the file spells it.
    unit : str
        The unit in the file; empty for text and counts.
    slope, offset : float
        Working value = slope · value in the file + offset.
    engines : tuple of Column
        The columns of several engines that become this one; empty for a single column.
    combine : "sum" or "mean"
        How they do.
    """

    name: str
    index: int
    heading: str
    unit: str = ""
    slope: float = 1.0
    offset: float = 0.0
    engines: tuple[Column, ...] = ()
    combine: str = "mean"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the headings are read against.

    Parameters
    ----------
    measures : mapping
        Working unit of each declared measure.
    set_point_unit : str
        Working unit of the set points.
    units, columns : mapping
        The trial's own: units of columns, and the file's headings of columns, several where each
        engine has a column of its own.
    reciprocal : bool
        Whether runs go both ways, so that each needs a direction.
    combine : mapping
        "sum" or "mean" of the engines' columns, by measure.
    """

    measures: Mapping[str, str]
    set_point_unit: str
    units: Mapping[str, str]
    columns: Mapping[str, str | Sequence[str]]
    reciprocal: bool
    combine: Mapping[str, str] = field(default_factory=dict)

    def own_headings(self, name: str) -> tuple[str, ...]:
        """The headings that the trial gives to a column; none where it leaves that to the table."""
        own = self.columns.get(name, ())
        return (own,) if isinstance(own, str) else tuple(own)

    def unit(self, name: str) -> str:
        """The working unit of a column; empty for text and counts."""
        own = {"set_point": self.set_point_unit, "heading": "deg", "duration": "s"}
        return own.get(name) or self.measures.get(name, "")

    @property
    def names(self) -> tuple[str, ...]:
        """Every name that a column may have."""
        return tuple(dict.fromkeys((*CONTRACT, *self.measures)))

    def score(self, row: Sequence[str]) -> int:
        """How many cells of a row are headings known here; 0 without one for the session."""
        found = {self.match(cell) for cell in row if cell}
        return len(found - {""}) if "session" in found else 0

    def match(self, heading: str) -> str:
        """The name that a heading stands for; empty when it stands for none."""
        base, key = squash(split_heading(heading)[0]), squash(heading)
        for name in self.columns:
            if any(squash(own) in (key, base) for own in self.own_headings(name)):
                return name
        return next((n for n in self.names if squash(n) == base and n not in self.columns), "")


@lru_cache(maxsize=2048)
def squash(text: str) -> str:
    """A heading for comparison: case, spaces and strokes do not count."""
    folded = unicodedata.normalize("NFKC", clean(text)).casefold()
    return "".join(c for c in folded if c.isalnum()) or folded


def split_heading(heading: str) -> tuple[str, str | None]:
    """A heading and the unit in brackets at its end; None when it has no brackets."""
    match = _UNIT.fullmatch(clean(heading))
    if match is None:
        return clean(heading), None
    return clean(match[1]), clean(match[2] if match[2] is not None else match[3])


def read_headings(
    header: Row, wanted: Wanted, problems: Problems
) -> tuple[dict[str, Column], list[tuple[int, str]]]:
    """Find what each column of the table holds, and its unit.

    Returns
    -------
    columns : dict
        Those that are read, by name. What is wrong with them is in `problems`.
    unknown : list of (index, heading)
        Those whose heading is not understood.
    """
    found: dict[str, Column] = {}
    engines: dict[str, list[Column]] = {}
    unknown: list[tuple[int, str]] = []
    for index, cell in enumerate(header.cells):
        heading = plain(cell)
        if is_blank(cell):
            continue
        name = wanted.match(heading)
        if not name:
            unknown.append((index, heading))
        elif len(wanted.own_headings(name)) > 1:
            engines.setdefault(name, []).append(
                _column(name, index, heading, header, wanted, problems)
            )
        elif name in found:
            _repeated(name, found[name].heading, heading, header, index, problems)
        else:
            found[name] = _column(name, index, heading, header, wanted, problems)
    _check_mapping(header, wanted, found, engines, problems)
    for name, columns in engines.items():
        found[name] = replace(
            columns[0], engines=tuple(columns), combine=wanted.combine.get(name, "mean")
        )
    return found, unknown


def _repeated(
    name: str, first: str, second: str, header: Row, index: int, problems: Problems
) -> None:
    problems.error(
        "column-repeated",
        f"two columns are headed {name}: {quoted(first)} and {quoted(second)}; "
        "which of them counts cannot be told",
        "delete or rename one of them",
        row=header,
        index=index,
    )


def _column(
    name: str, index: int, heading: str, header: Row, wanted: Wanted, problems: Problems
) -> Column:
    working = wanted.unit(name)
    if not working:
        return Column(name, index, heading)
    written = split_heading(heading)[1]
    declared = wanted.units.get(name)
    unit = written or declared
    if not unit:
        problems.error(
            "unit-missing",
            f"column {quoted(heading)} has no unit; {needed((working,))} is needed",
            f"head it '{name} [{working}]', or declare it in the trial: units: {{{name}: "
            f"{working}}}, each with the unit that the numbers are really in",
            row=header,
            index=index,
        )
        return Column(name, index, heading, working)
    try:
        if (
            declared
            and written
            and declared != written
            and normal_unit(declared) != normal_unit(written)
        ):
            problems.error(
                "unit-conflict",
                f"column {quoted(heading)} is headed [{written}], but the trial's units: says "
                f"{declared}",
                f"take {name} out of units:, or correct the heading",
                row=header,
                index=index,
            )
        return _with_unit(name, index, heading, unit, working)
    except QuantityError as error:
        fits = "" if needed((working,)) in error.message else f"; {needed((working,))} is needed"
        problems.error(
            "unit-unfit",
            f"column {quoted(heading)}: {error.message}{fits}",
            error.fix or f"head it '{name} [{working}]' if the numbers are in {working}",
            row=header,
            index=index,
        )
        return Column(name, index, heading, working)


def _with_unit(name: str, index: int, heading: str, unit: str, working: str) -> Column:
    if unit == working or normal_unit(unit) == normal_unit(working):
        return Column(name, index, heading, working)
    # Two points make the line, so that temperatures keep their offset.
    offset = convert(0.0, unit, working)
    slope = convert(1.0, unit, working) - offset
    return Column(name, index, heading, normal_unit(unit), slope, offset)


def _check_mapping(
    header: Row,
    wanted: Wanted,
    found: Mapping[str, Column],
    engines: Mapping[str, Sequence[Column]],
    problems: Problems,
) -> None:
    """Headings that the trial names and the table does not have, or has twice."""
    headings = [plain(c) for c in header.cells if not is_blank(c)]
    for name in wanted.columns:
        seen = [squash(each.heading) for each in engines.get(name, ())]
        bare = [squash(split_heading(each.heading)[0]) for each in engines.get(name, ())]
        for own in wanted.own_headings(name):
            count = seen.count(squash(own)) or bare.count(squash(own))
            if name in found or count == 1:
                continue
            if count > 1:
                twice = [each for each in headings if squash(own) in squash(each)]
                _repeated(name, twice[0], twice[-1], header, headings.index(twice[-1]), problems)
                continue
            near = close_name(own, headings)
            problems.error(
                "column-missing",
                f"the trial says that {name} is headed {quoted(own)}, but no column is",
                f"did you mean {quoted(near)}?"
                if near
                else f"the headings are: {', '.join(headings[:20])}",
                row=header,
            )


def close_name(heading: str, names: Sequence[str]) -> str:
    """The name that a heading nearly is; empty when there is none."""
    keys = {squash(split_heading(name)[0]): name for name in names}
    near = difflib.get_close_matches(squash(split_heading(heading)[0]), keys, n=1, cutoff=0.8)
    return keys[near[0]] if near else ""
