"""What is in the logs, as an answer."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.joining import joined
from slackwater.analysis.logs.lags import Lag, NoLag, answers_of, compared, pairs_of
from slackwater.analysis.logs.sources import CRITERIA, Choice, choose, judged_data
from slackwater.analysis.logs.survey import Surveyed, survey
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.analysis.wording.words import count_of

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, repr=False)
class LogsResult(Answer):
    """What instruments wrote: files, sources, rates, gaps, and what was not read.

    Attributes
    ----------
    logs : tuple of Log
        In the order given, with all their values.
    """

    kind: ClassVar[str] = "logs"
    logs: tuple[Log, ...]

    def surveyed(self, log: Log) -> list[Surveyed]:
        """Each channel of a log in figures."""
        return [survey(channel, log.clock) for channel in log.channels]

    @property
    def choices(self) -> list[Choice]:
        """The source that a trial would take of each quantity, were all of these logs one session."""
        channels = joined(log for log in self.logs if log.clock == "utc" or len(self.logs) == 1)
        quantities = {channel.quantity: None for channel in channels}
        return choose(channels, quantities, [_Whole()], {})

    @property
    def latencies(self) -> list[Lag | NoLag]:
        """By how much channels come after those that a trial would take, and where that cannot be told, why."""
        channels = joined(log for log in self.logs if log.clock == "utc" or len(self.logs) == 1)
        timed = channels if all(log.clock != "none" for log in self.logs) else []
        taken = {(each.quantity, each.source) for each in self.choices}
        chosen = [c for c in timed if (c.quantity, c.source) in taken]
        pairs = [
            pair for pair in pairs_of(timed) if any((c.quantity, c.source) in taken for c in pair)
        ]
        return [*(compared(*pair) for pair in pairs), *answers_of(chosen)]

    @property
    def table(self) -> pd.DataFrame:
        """A row for each channel of each log."""
        import pandas as pd

        rows = [
            {"file": str(log.path), **asdict(each)}
            for log in self.logs
            for each in self.surveyed(log)
        ]
        return pd.DataFrame(rows)

    @property
    def summary(self) -> str:
        """How much there is, in a line."""
        channels = sum(len(log.channels) for log in self.logs)
        return f"{count_of(channels, 'channel')} in {count_of(len(self.logs), 'log')}"

    def to_dict(self) -> dict[str, Any]:
        """Every log and channel; moments in ISO 8601 where the clock is known."""
        return {
            **head(),
            "logs": [self._log(log) for log in self.logs],
            "sources": [
                {
                    "quantity": each.quantity,
                    "source": each.source,
                    "why": each.why,
                    "offered": [judged_data(other) for other in each.offered],
                }
                for each in self.choices
            ],
            "criteria": CRITERIA,
            "latencies": [_latency(each) for each in self.latencies],
        }

    def _log(self, log: Log) -> dict[str, Any]:
        span = log.span if log.clock != "none" else None
        return {
            "file": str(log.path),
            "sha256": log.sha256,
            "form": log.form,
            "clock": log.clock,
            "first": moment(span[0], log) if span else None,
            "last": moment(span[1], log) if span else None,
            "seconds": span[1] - span[0] if span else None,
            "lines": log.lines,
            "faults": [{"reason": reason, "count": n} for reason, n in log.faults.items()],
            "notes": list(log.notes),
            "channels": [self._channel(each, log) for each in self.surveyed(log)],
        }

    @staticmethod
    def _channel(each: Surveyed, log: Log) -> dict[str, Any]:
        ends = {"first": moment(each.first, log), "last": moment(each.last, log)}
        return {**asdict(each), **ends}


@dataclass(frozen=True, slots=True)
class _Whole:
    """All the time that there is."""

    start: float = -math.inf
    end: float = math.inf


def _latency(each: Lag | NoLag) -> dict[str, Any]:
    return {
        "of": list(each.second),
        "after": list(each.first),
        "seconds": round(each.seconds, 2) if isinstance(each, Lag) else None,
        "likeness": round(each.likeness, 3) if isinstance(each, Lag) else None,
        "common": round(each.common, 1) if isinstance(each, Lag) else None,
        "answer": isinstance(each, Lag) and each.answer,
        "why_not": each.why if isinstance(each, NoLag) else None,
    }


def moment(seconds: float | None, log: Log) -> str | None:
    """A second of a log in words: date and time, time of day, or seconds since the start."""
    if seconds is None:
        return None
    if log.clock == "since start":
        return f"{seconds:.3f} s"
    if log.clock == "time of day":
        days, rest = divmod(round(seconds, 3), 86400)
        clock = f"{int(rest // 3600):02d}:{int(rest % 3600 // 60):02d}:{rest % 60:06.3f}"
        return clock if not days else f"{clock} (day {int(days) + 1})"
    try:
        stamp = datetime.fromtimestamp(round(seconds, 3), UTC)
    except (OverflowError, OSError, ValueError):
        return f"{seconds:.3f} s"
    return stamp.isoformat(timespec="milliseconds").replace("+00:00", "Z")
