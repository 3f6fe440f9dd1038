"""The turns of a trial as they were found in its logs: a picture for each configuration, all to one scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slackwater.analysis.report.drawing.turning_tracks import extent, turning_tracks

if TYPE_CHECKING:
    from slackwater.analysis.intake.try_provenance import TurnTrack
    from slackwater.analysis.result.result import Result

CAPTION = (
    "Tracks of all turns, to one scale, the approach upwards: red to port, green to starboard; ● is where the helm was put "
    "over, □ where she had turned by 90, 180 and 360 degrees. The drift is taken out of those that tell it; dashed are those "
    "over ground."
)


def turns(result: Result) -> dict[str, str]:
    """A picture by the title of each configuration that has turns; empty without any."""
    tracks = _by_configuration(result)
    if not tracks:
        return {}
    ends = extent((track for several in tracks.values() for track in several), freed=True)
    return {
        result.configurations[name]: turning_tracks(
            several, f"Tracks of turning circles, {result.configurations[name]}", ends, freed=True
        )
        for name, several in tracks.items()
    }


def _by_configuration(result: Result) -> dict[str, list[TurnTrack]]:
    """Tracks of the tries that count in the table, as it stands today."""
    if result.tries_provenance is None:
        return {}
    used = {
        (row["session"], row["manoeuvre"], row["direction"], row["try"]): row["configuration"]
        for row in result.records("tries")
        if not row["set_aside"]
    }
    found: dict[str, list[TurnTrack]] = {name: [] for name in result.configurations}
    for session, one in result.tries_provenance.tries:
        name = used.get((session, one.manoeuvre, one.direction, one.number))
        if one.track is not None and name in found:
            found[name].append(one.track)
    return {name: several for name, several in found.items() if several}
