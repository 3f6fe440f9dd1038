"""What was noted of each session: the weather, the water and the loading."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slackwater.protocol.catalogue.measures import CONDITIONS, LOADING

if TYPE_CHECKING:
    from slackwater.analysis.result.analysed import Analysed


def condition_rows(analysed: Analysed) -> list[dict[str, Any]]:
    """Rows of the table of conditions, in the units in which they were noted."""
    return [
        {
            "session": session.id,
            "configuration": session.configuration,
            "date": session.day or None,
            "condition": name,
            "value": noted.value,
            "unit": noted.unit,
        }
        for session in analysed.trial.sessions
        for name in dict.fromkeys((*CONDITIONS, *LOADING, *session.further))
        if (noted := session.value(name)) is not None
    ]
