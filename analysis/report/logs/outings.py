"""What of logs is drawn: outings, each with one channel of a quantity and the runs that were cut from it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import pairwise

import numpy as np

from slackwater.analysis.handling.circles_found import QUANTITIES
from slackwater.analysis.handling.tries_result import TriesResult
from slackwater.analysis.logs.channels import Channel, Log
from slackwater.analysis.logs.joining import joined, within
from slackwater.analysis.logs.sources import choose
from slackwater.analysis.steady.cut_result import CutResult
from slackwater.analysis.steady.cutting import CutRun
from slackwater.analysis.steady.session_spans import SessionSpan

HELD = ("engine_speed", "propeller_speed", "throttle", "shaft_power")
_DRAWN = ("speed_over_ground", *HELD, "latitude", "longitude")
_TAKEN = tuple(dict.fromkeys((*_DRAWN, *QUANTITIES)))
APART = 1800.0  # [s] of silence that part two outings


@dataclass(frozen=True, slots=True)
class Outing:
    """One outing as it is drawn.

    Parameters
    ----------
    title : str
    span : (float, float)
        On the clock of the log. [s]
    offset : float
        What is added to it for the clock that is shown. [s]
    channels : mapping
        By quantity.
    held : str
        The quantity that is held at set points; empty where none was recorded.
    runs : tuple of CutRun
    """

    title: str
    span: tuple[float, float]
    offset: float
    channels: dict[str, Channel]
    held: str = ""
    runs: tuple[CutRun, ...] = field(default=())


def of_cut(result: CutResult) -> list[Outing]:
    """The sessions of a trial that any log has something of."""
    runs = {each.span.session: each.cut.runs for each in result.sessions}
    return _of_sessions(result, [each.span for each in result.sessions], result.terms.held, runs)


def of_tries(result: TriesResult) -> list[Outing]:
    """The same of a trial whose tries were found."""
    there = {each.quantity for each in result.choices}
    held = next((each for each in HELD if each in there), "")
    return _of_sessions(result, [each.span for each in result.sessions], held, {})


def _of_sessions(
    result: CutResult | TriesResult,
    spans: Iterable[SessionSpan],
    held: str,
    runs: Mapping[str, tuple[CutRun, ...]],
) -> list[Outing]:
    taken = {(each.quantity, each.source) for each in result.choices}
    channels = [c for c in joined(result.logs) if (c.quantity, c.source) in taken]
    offset = result.offset.total_seconds()
    found = []
    for each in spans:
        own = _by_quantity(within(channel, each) for channel in channels)
        span = _span(own.values())
        if span is not None:
            title = f"{each.session}, {result.clock(span[0])[:10]}"
            shown = held if held in own else ""
            found.append(Outing(title, span, offset, own, shown, runs.get(each.session, ())))
    return found


def of_logs(logs: Sequence[Log]) -> list[Outing]:
    """What dated logs have together, parted where they are silent; then each that has no date by itself."""
    dated = joined([log for log in logs if log.clock == "utc"])
    found = [
        _outing(_day(begin), dated, (begin, end)) for begin, end in _parts(dated)
    ]  # fmt: skip
    for log in logs:
        if log.clock in ("time of day", "since start") and log.span is not None:
            found.append(_outing(log.path.name, log.channels, log.span))
    return found


def _day(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).date().isoformat()


def _parts(channels: Sequence[Channel]) -> list[tuple[float, float]]:
    """From where to where there are values without a long silence."""
    seen = [channel.seconds for channel in channels if channel.quantity in _DRAWN]
    if not any(each.size for each in seen):
        return []
    times = np.unique(np.floor(np.concatenate(seen)))
    cuts = (np.flatnonzero(np.diff(times) > APART) + 1).tolist()
    ends = pairwise([0, *cuts, times.size])
    return [(float(times[a]), float(times[b - 1]) + 1.0) for a, b in ends]


def _outing(title: str, channels: Sequence[Channel], span: tuple[float, float]) -> Outing:
    whole = SessionSpan("", "", span[0], span[1] + 1e-3)
    choices = choose(channels, _TAKEN, [whole], {})
    taken = {(each.quantity, each.source) for each in choices}
    own = _by_quantity(within(c, whole) for c in channels if (c.quantity, c.source) in taken)
    return Outing(title, span, 0.0, own, next((each for each in HELD if each in own), ""))


def _by_quantity(channels: Iterable[Channel]) -> dict[str, Channel]:
    """The first channel of each quantity that has samples."""
    found: dict[str, Channel] = {}
    for channel in channels:
        if channel.seconds.size:
            found.setdefault(channel.quantity, channel)
    return found


def _span(channels: Iterable[Channel]) -> tuple[float, float] | None:
    spans = [channel.span for channel in channels if channel.span is not None]
    return (min(a for a, _ in spans), max(b for _, b in spans)) if spans else None
