"""The table of tries with its rows prepared: in the order to be made, directions in turn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from slackwater.analysis.sheet.prepared import Prepared, PreparedRow

if TYPE_CHECKING:
    from slackwater.analysis.sheet.contents import SheetContents
    from slackwater.protocol.declared.manoeuvres import Manoeuvre

#: Columns beside the values.
BEFORE, AFTER = ("session", "manoeuvre", "direction", "try"), ("helmsman", "set_aside", "note")

#: Said first of all wherever manoeuvres are to be made; common practice.
MANOEUVRE_CAUTIONS = (
    (
        "Hard turns and crash stops throw people out of boats and against what is in them: all seated, holding on, "
        "nothing loose, and nobody on the bow, on deck edges or standing."
    ),
    (
        "Kill cord on whoever steers, lifejackets on all. Say loudly what comes before every try, and wait for the "
        "answer of each person aboard."
    ),
    (
        "Clear deep water with room on all sides for what goes wrong; no swimmers, bystanders, boats, moorings or "
        "wash on others. Stop while anybody is near."
    ),
    (
        "Build up from half the speed. A boat that trips, hooks, cavitates or lands hard is done with for the day; "
        "no figure is worth another try."
    ),
    "Where speed, turns or stops are limited by local rules, by the maker or by the skipper, that limit holds.",
)


def in_turn(manoeuvre: Manoeuvre) -> Iterator[tuple[int, str]]:
    """Number and direction of each try of a session: which goes first alternates."""
    for number in range(1, manoeuvre.tries + 1):
        ways = manoeuvre.ways if number % 2 else manoeuvre.ways[::-1]
        for way in ways:
            yield number, way


def named_headings(
    manoeuvres: Mapping[str, Manoeuvre],
    columns: Mapping[str, str | Sequence[str]] | None = None,
    units: Mapping[str, str] | None = None,
) -> dict[str, str]:
    """The columns of the table by name, each with its heading.

    Parameters
    ----------
    manoeuvres : mapping
    columns, units : mapping, optional
        The trial's own headings and units, so that the table is the one that it describes.
    """
    columns, units = columns or {}, units or {}
    values = {}
    for each in manoeuvres.values():
        for name, measure in each.measures.items():
            own = columns.get(name, name)
            heading = own if isinstance(own, str) else name
            bare = not heading.rstrip().endswith(("]", ")"))
            values[name] = f"{heading} [{units.get(name, measure.unit)}]" if bare else heading
    return {
        **{name: name for name in BEFORE},
        **values,
        **{name: name for name in AFTER},
    }


def prepared(
    contents: SheetContents,
    columns: Mapping[str, str | Sequence[str]] | None = None,
    units: Mapping[str, str] | None = None,
) -> Prepared:
    """A row for every try of every session; what is read is left blank."""
    rows: list[PreparedRow] = [
        {"session": session.id, "manoeuvre": name, "direction": way, "try": number}
        for session in contents.schedule.sessions
        for name, manoeuvre in contents.manoeuvres.items()
        for number, way in in_turn(manoeuvre)
    ]
    ways = dict.fromkeys(way for each in contents.manoeuvres.values() for way in each.ways if way)
    offered = {"manoeuvre": tuple(contents.manoeuvres), "direction": tuple(ways)}
    head = named_headings(contents.manoeuvres, columns, units)
    return Prepared("tries", head, rows, {name: words for name, words in offered.items() if words})
