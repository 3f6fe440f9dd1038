"""Of the manoeuvres, what the page for a tablet is made with: the tries in turn, and what is read of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slackwater.analysis.rehearsal.tries import level
from slackwater.analysis.report.sheet.tablet_columns import unit_line
from slackwater.analysis.sheet.try_rows import MANOEUVRE_CAUTIONS, in_turn, named_headings
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.numbers import unit_text
from slackwater.protocol.declared.manoeuvres import kind_of
from slackwater.protocol.units.quantity import conversion

if TYPE_CHECKING:
    from slackwater.analysis.sheet.contents import SheetContents
    from slackwater.protocol.declared.manoeuvres import Manoeuvre
    from slackwater.protocol.declared.trial import Trial

#: Kinds whose clock runs from the start of the try, so that a press can stop it.
FROM_THE_START = ("time_to_speed", "time_to_plane", "stopping_time")


def manoeuvre_data(contents: SheetContents, trial: Trial | None) -> dict[str, Any]:
    """The manoeuvres, the head of the table of tries and how many of the cautions come before them; else nothing."""
    if not contents.manoeuvres:
        return {}
    head = named_headings(
        contents.manoeuvres, trial.columns if trial else None, trial.units if trial else None
    )
    return {
        "try_cautions": 1 + len(MANOEUVRE_CAUTIONS),
        "try_head": [[key, heading] for key, heading in head.items()],
        "manoeuvres": [_manoeuvre(name, each, head) for name, each in contents.manoeuvres.items()],
    }


def _manoeuvre(name: str, manoeuvre: Manoeuvre, head: dict[str, str]) -> dict[str, Any]:
    return {
        "name": name,
        "title": printable(manoeuvre.title or name.replace("_", " ").capitalize()),
        "start": printable(manoeuvre.start),
        "end": printable(manoeuvre.end),
        "drift": manoeuvre.current == "drift_taken_out",
        "tries": [[number, way] for number, way in in_turn(manoeuvre)],
        "columns": [_column(value, manoeuvre, head[value]) for value in manoeuvre.values],
    }


def _column(value: str, manoeuvre: Manoeuvre, text: str) -> dict[str, Any]:
    """A value as the column that it is typed into."""
    measure = manoeuvre.measures[value]
    kind = kind_of(value, manoeuvre.values[value])
    _, unit, slope, offset = unit_line(text, measure.unit)
    timed = kind is not None and kind.name in FROM_THE_START
    return {
        "key": value,
        "of": value,
        "title": printable(measure.title),
        "heading": text,
        "unit": unit_text(unit),
        "slope": slope,
        "offset": offset,
        "usual": [float(f"{(level(value, manoeuvre) - offset) / slope:.6g}")],
        **({"per_second": conversion("s", unit)} if timed else {}),
    }
