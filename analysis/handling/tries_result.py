"""The tries of a trial as found in its logs, as an answer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.handling.circles_found import LeftOut
from slackwater.analysis.handling.drift import Drift
from slackwater.analysis.handling.found_try import FoundTry
from slackwater.analysis.handling.tries_table import headings, rows, table_dict
from slackwater.analysis.handling.turn_track import track_of
from slackwater.analysis.handling.wanted import Wanted
from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.sources import CRITERIA, Choice
from slackwater.analysis.logs.traces import choice_data, lines_of, log_data
from slackwater.analysis.steady.session_spans import SessionSpan
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.analysis.wording.words import count_of

if TYPE_CHECKING:
    import pandas as pd

    from slackwater.protocol.declared.trial import Trial


@dataclass(frozen=True, slots=True)
class SessionTries:
    """One session with what was found of it; `counts` has found and planned by manoeuvre and direction."""

    span: SessionSpan
    tries: tuple[FoundTry, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[str, ...]
    counts: dict[tuple[str, str], tuple[int, int]]


@dataclass(frozen=True, slots=True, repr=False)
class TriesResult(Answer):
    """The tries of a trial as found in its logs, and what was left out, with the reason.

    Attributes
    ----------
    trial : Trial
    wanted : tuple of Wanted
        What was looked for.
    logs : tuple of Log
    choices : tuple of Choice
        The source of each quantity, the same for all sessions.
    sessions : tuple of SessionTries
        In the trial's order.
    offset : timedelta
        By which the times told are ahead of UTC.
    notes : tuple of str
    """

    kind: ClassVar[str] = "tries"
    trial: Trial
    wanted: tuple[Wanted, ...]
    logs: tuple[Log, ...]
    choices: tuple[Choice, ...]
    sessions: tuple[SessionTries, ...]
    offset: timedelta = timedelta(0)
    notes: tuple[str, ...] = ()

    @property
    def tries(self) -> list[tuple[str, FoundTry]]:
        """Every try with the id of its session, in order."""
        return [(each.span.session, one) for each in self.sessions for one in each.tries]

    @property
    def table(self) -> pd.DataFrame:
        """A row for each try, as the table of tries has it."""
        import pandas as pd

        return pd.DataFrame(rows(self), columns=list(headings(self).values()))

    @property
    def summary(self) -> str:
        """How many tries, in a line."""
        aside = sum(bool(one.aside) for _, one in self.tries)
        told = f", {aside} of them set aside" if aside else ""
        tries = "1 try" if len(self.tries) == 1 else f"{len(self.tries)} tries"
        return f"{tries} in {count_of(len(self.sessions), 'session')}{told}"

    @property
    def read_by(self) -> dict[str, str]:
        """How values are read that the protocol itself says how to read, in words."""
        return {name: words for each in self.wanted for name, words in each.read_by.items()}

    def clock(self, seconds: float) -> str:
        """A moment of the logs in local time, ISO 8601, to the second."""
        stamp = datetime.fromtimestamp(round(seconds), UTC) + self.offset
        return stamp.replace(tzinfo=None).isoformat()

    def unbalanced(self) -> Iterator[str]:
        """Where found tries are not as many as planned."""
        for each in self.sessions:
            for (name, way), (found, planned) in each.counts.items():
                if found != planned:
                    to = f" {way}" if way else ""
                    yield f"{each.span.session}, {name}{to}: {found} found, {planned} planned"

    def to_dict(self) -> dict[str, Any]:
        """Where every try comes from, and what is no try."""
        return {
            **head(),
            "trial": self.trial.trial,
            "protocol": self.trial.protocol.protocol,
            "logs": [log_data(log) for log in self.logs],
            "sources": [choice_data(each) for each in self.choices],
            "criteria": CRITERIA,
            "read_by": self.read_by,
            "ahead_of_utc": self.offset.total_seconds(),
            "sessions": [self._session(each) for each in self.sessions],
            "notes": list(self.notes),
            "table": table_dict(self),
        }

    def _session(self, each: SessionTries) -> dict[str, Any]:
        before = self.sessions[: self.sessions.index(each)]
        first = 2 + sum(len(other.tries) for other in before)
        return {
            "session": each.span.session,
            "tries": [self._try(one, row) for row, one in enumerate(each.tries, first)],
            "left_out": [
                {"from": self.clock(o.start), "to": self.clock(o.end), "reason": o.reason}
                for o in each.left_out
            ],
            "counts": [
                {"manoeuvre": name, "direction": way, "found": found, "planned": planned}
                for (name, way), (found, planned) in each.counts.items()
            ],
            "notes": list(each.notes),
        }

    def _try(self, one: FoundTry, row: int) -> dict[str, Any]:
        circle = one.circle
        return {
            "row": row,
            "manoeuvre": one.manoeuvre,
            "direction": one.direction,
            "try": one.number,
            "start": self.clock(one.start),
            "seconds": [round(one.start, 3), round(one.end, 3)],
            "course": None if one.course is None else round(one.course, 2),
            "turned": None if circle is None else round(circle.turned, 1),
            "drift": None if circle is None else _drift(circle.drift),
            "values": {
                name: {
                    "value": figure.value,
                    "unit": figure.unit,
                    "standard_uncertainty": figure.uncertainty,
                    "why_not": figure.why_not or None,
                }
                for name, figure in one.values.items()
            },
            "set_aside": one.aside or None,
            "notes": list(one.notes),
            "track": None if circle is None else track_of(circle).model_dump(mode="json"),
            "readings": [part for choice in self.choices for part in self._readings(choice, one)],
        }

    def _readings(self, choice: Choice, one: FoundTry) -> Iterator[dict[str, Any]]:
        """How many samples of a source lie in a try, and in which lines they stand."""
        parts = [log for log in self.logs if _samples(log, choice, one)]
        if parts:
            yield {
                "quantity": choice.quantity,
                "source": choice.source,
                "samples": sum(_samples(log, choice, one) for log in parts),
                "lines": [
                    place
                    for log in parts
                    if (place := lines_of(log, choice.quantity, choice.source, one.start, one.end))
                ],
            }


def _samples(log: Log, choice: Choice, one: FoundTry) -> int:
    import numpy as np

    for channel in log.of(choice.quantity):
        if channel.source == choice.source:
            a, b = np.searchsorted(channel.seconds, [one.start, one.end])
            return int(b - a)
    return 0


def _drift(drift: Drift | None) -> dict[str, Any] | None:
    if drift is None:
        return None
    return {
        "speed": round(drift.knots, 4),
        "unit": "kn",
        "towards": round(drift.towards, 1),
        "standard_uncertainty": drift.uncertainty and round(drift.uncertainty * 3600 / 1852, 4),
        "by": drift.by,
    }
