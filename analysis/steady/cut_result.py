"""What was cut from the logs of a trial, as an answer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.sources import CRITERIA, Choice
from slackwater.analysis.logs.traces import choice_data, lines_of, log_data
from slackwater.analysis.steady.cutting import Cut, CutRun
from slackwater.analysis.steady.not_found import why_missing
from slackwater.analysis.steady.run_rows import headings, rows, table_dict
from slackwater.analysis.steady.session_spans import SessionSpan
from slackwater.analysis.steady.terms import CutTerms
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.analysis.wording.words import count_of

if TYPE_CHECKING:
    import pandas as pd

    from slackwater.protocol.declared.trial import Trial


@dataclass(frozen=True, slots=True)
class SessionCut:
    """One session with what was cut from it."""

    span: SessionSpan
    cut: Cut


@dataclass(frozen=True, slots=True, repr=False)
class CutResult(Answer):
    """The runs of a trial as cut from its logs, and everything that is no run, with its reason.

    Attributes
    ----------
    trial : Trial
    terms : CutTerms
    logs : tuple of Log
    choices : tuple of Choice
        The source of each quantity, the same for all sessions.
    sessions : tuple of SessionCut
        In the trial's order.
    offset : timedelta
        By which the times of the table are ahead of UTC.
    notes : tuple of str
    """

    kind: ClassVar[str] = "cut"
    trial: Trial
    terms: CutTerms
    logs: tuple[Log, ...]
    choices: tuple[Choice, ...]
    sessions: tuple[SessionCut, ...]
    offset: timedelta = timedelta(0)
    notes: tuple[str, ...] = field(default=())

    @property
    def runs(self) -> list[tuple[str, CutRun]]:
        """Every run with the id of its session, in order."""
        return [(each.span.session, run) for each in self.sessions for run in each.cut.runs]

    @property
    def table(self) -> pd.DataFrame:
        """A row for each run, as the run table has it."""
        import pandas as pd

        return pd.DataFrame(rows(self), columns=headings(self))

    @property
    def summary(self) -> str:
        """How many runs, in a line."""
        aside = sum(bool(run.set_aside) for _, run in self.runs)
        told = f", {aside} of them set aside" if aside else ""
        return (
            f"{count_of(len(self.runs), 'run')} in {count_of(len(self.sessions), 'session')}{told}"
        )

    def clock(self, seconds: float) -> str:
        """A moment of the logs in local time, ISO 8601, to the second."""
        stamp = datetime.fromtimestamp(round(seconds), UTC) + self.offset
        return stamp.replace(tzinfo=None).isoformat()

    def to_dict(self) -> dict[str, Any]:
        """Where every run comes from, and what is no run."""
        return {
            **head(),
            "trial": self.trial.trial,
            "protocol": self.trial.protocol.protocol,
            "logs": [log_data(log) for log in self.logs],
            "sources": [choice_data(each) for each in self.choices],
            "criteria": CRITERIA,
            "parameters": {
                **self.terms.parameters(),
                "ahead_of_utc": self.offset.total_seconds(),
            },
            "sessions": [self._session(each) for each in self.sessions],
            "notes": list(self.notes),
            "table": table_dict(self),
        }

    def _session(self, each: SessionCut) -> dict[str, Any]:
        cut = each.cut
        return {
            "session": each.span.session,
            "placed_by": cut.placed_by,
            "why_none": cut.why_none or None,
            "runs": [self._run(run, row) for row, run in self._rows_of(each)],
            "left_out": [
                {
                    "from": self.clock(left.start),
                    "to": self.clock(left.end),
                    "speed_over_ground": round(left.speed, 3),
                    "near": left.near,
                    "reason": left.reason,
                }
                for left in cut.left_out
            ],
            "missing": [
                {
                    "set_point": leg.set_point,
                    "direction": leg.direction,
                    "runs": leg.double_run,
                    "reason": why_missing(cut, leg),
                }
                for leg in cut.missing
            ],
            "lags": [
                {
                    "of": list(lag.second),
                    "after": list(lag.first),
                    "seconds": round(lag.seconds, 2),
                    "likeness": round(lag.likeness, 3),
                    "common": round(lag.common, 1),
                }
                for lag in cut.lags
            ],
            "notes": list(cut.notes),
        }

    def _rows_of(self, each: SessionCut) -> Iterator[tuple[int, CutRun]]:
        """The runs of a session, each with its row of the table; the headings are row 1."""
        before = self.sessions[: self.sessions.index(each)]
        first = 2 + sum(len(other.cut.runs) for other in before)
        yield from enumerate(each.cut.runs, first)

    def _run(self, run: CutRun, row: int) -> dict[str, Any]:
        return {
            "row": row,
            "set_point": run.set_point,
            "double_run": run.double_run or None,
            "direction": run.direction,
            "course": round(run.course, 2),
            "start": self.clock(run.start),
            "seconds": [round(run.start, 3), round(run.start + run.duration, 3)],
            "water_shared": round(run.overlap, 3),
            "paired_by": run.paired_by,
            "set_aside": run.set_aside or None,
            "readings": {
                name: {
                    "unit": each.unit,
                    "sources": list(each.sources),
                    "used": each.used,
                    "missing": each.missing,
                    "lines": [
                        place
                        for log in self.logs
                        for source in each.sources
                        if (
                            place := lines_of(
                                log, name, source, run.start, run.start + run.duration
                            )
                        )
                    ],
                }
                for name, each in run.readings.items()
            },
        }
