"""The run table with its rows prepared: what the crew fill in, and what `analyse` reads again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from slackwater.analysis.sheet.prepared import Prepared, PreparedRow

if TYPE_CHECKING:
    from slackwater.analysis.sheet.contents import SheetContents


def headings(
    contents: SheetContents,
    columns: Mapping[str, str | Sequence[str]] | None = None,
    units: Mapping[str, str] | None = None,
) -> dict[str, str]:
    """The columns of the run table by name, each with its heading.

    Parameters
    ----------
    contents : SheetContents
    columns, units : mapping, optional
        The trial's own headings and units, so that the table is the one that it describes.
    """
    columns, units = columns or {}, units or {}
    known = {
        "session": "",
        "set_point": contents.schedule.pattern.unit,
        "double_run": "",
        "direction": "",
        **({"heading": "deg"} if contents.schedule.circumstances.course is not None else {}),
        "start": "",
        "duration": "s",
        **{reading.name: reading.unit for reading in contents.readings},
        "set_aside": "",
        "note": "",
    }
    found = {}
    for name, unit in known.items():
        named = columns.get(name, name)
        unit = units.get(name, unit)
        for number, own in enumerate([named] if isinstance(named, str) else named):
            bare = unit and not own.rstrip().endswith(("]", ")"))
            # The columns of several engines stand side by side.
            key = f"{name} {number + 1}" if number else name
            found[key] = f"{own} [{unit}]" if bare else own
    return found


def prepared(contents: SheetContents, head: Mapping[str, str]) -> Prepared:
    """A row for every run, in the order planned; what is measured is left blank.

    Nothing that the crew have to see for themselves is filled in beforehand: neither the time nor
    the duration nor the heading that was steered.
    """
    rows: list[PreparedRow] = [
        {
            "session": session.id,
            "set_point": run.set_point,
            "double_run": run.double_run,
            "direction": run.direction,
        }
        for session in contents.schedule.sessions
        for run in session.runs
    ]
    return Prepared("runs", head, rows, {"direction": ("out", "back")})
