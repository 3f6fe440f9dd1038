"""One source of each quantity for a whole trial, by criteria that are told."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from slackwater.analysis.logs.channels import Channel, Log
from slackwater.analysis.steady.session_spans import SessionSpan
from slackwater.protocol.findings import Finding, InputError, Severity

DEAD_BAND = 0.9  # of the values that repeat the one before; more tells next to nothing
CRITERIA = (
    "the more sessions it was recorded in; then no dead band; then the seconds in which it has a value, "
    "counted by doublings; then its name"
)


@dataclass(frozen=True, slots=True)
class Choice:
    """The source that a quantity is taken from, in all sessions alike.

    Parameters
    ----------
    quantity, source : str
    others : tuple of str
        Sources that were not taken.
    sessions : int
        In which it has values.
    seconds : int
        In which it has a value, in all sessions.
    repeats : float
        Values that repeat the one before. [1]
    by_user : bool
        Whether it was asked for.
    """

    quantity: str
    source: str
    others: tuple[str, ...]
    sessions: int
    seconds: int
    repeats: float
    by_user: bool = False


def joined(logs: Iterable[Log]) -> list[Channel]:
    """Channels of one quantity and source in several logs as one, in order of time."""
    parts: dict[tuple[str, str], list[Channel]] = {}
    for log in logs:
        for channel in log.channels:
            parts.setdefault((channel.quantity, channel.source), []).append(channel)
    return [_joined(several) for several in parts.values()]


def _joined(parts: Sequence[Channel]) -> Channel:
    if len(parts) == 1:
        return parts[0]
    seconds = np.concatenate([part.seconds for part in parts])
    values = np.concatenate([part.values for part in parts])
    order = np.argsort(seconds, kind="stable")
    return Channel(
        parts[0].quantity, parts[0].source, parts[0].unit, seconds[order], values[order]
    )  # fmt: skip


def within(channel: Channel, span: SessionSpan) -> Channel:
    """The samples of one session."""
    a, b = np.searchsorted(channel.seconds, [span.start, span.end])
    lines = channel.lines[a:b] if channel.lines.size else channel.lines
    return replace(channel, seconds=channel.seconds[a:b], values=channel.values[a:b], lines=lines)


def choose(
    channels: Sequence[Channel],
    quantities: Iterable[str],
    spans: Sequence[SessionSpan],
    asked: Mapping[str, Sequence[str]],
) -> list[Choice]:
    """Choose a source of each quantity that was recorded; several where several engines are asked for.

    Raises
    ------
    InputError
        When a source is asked for that is not there, or of a quantity that is not taken.
    """
    quantities = tuple(dict.fromkeys(quantities))
    _stop_on_needless(asked, quantities)
    found = []
    for quantity in quantities:
        offered = [c for c in channels if c.quantity == quantity]
        judged = [_judged(channel, spans, offered) for channel in offered]
        judged = [each for each in judged if each.sessions]
        if quantity in asked:
            found += [_asked(quantity, source, judged) for source in asked[quantity]]
        elif judged:
            found.append(min(judged, key=_rank))
    return found


def _judged(channel: Channel, spans: Sequence[SessionSpan], offered: Sequence[Channel]) -> Choice:
    parts = [within(channel, span) for span in spans]
    seconds = sum(np.unique(np.floor(part.seconds)).size for part in parts)
    count = sum(int((np.diff(part.values) == 0).sum()) for part in parts)
    steps = sum(max(part.values.size - 1, 0) for part in parts)
    return Choice(
        channel.quantity,
        channel.source,
        tuple(sorted(each.source for each in offered if each.source != channel.source)),
        sum(part.seconds.size > 0 for part in parts),
        seconds,
        count / steps if steps else 0.0,
    )


def _rank(choice: Choice) -> tuple[int, bool, int, str]:
    """The lower the better; seconds count by doublings, so that few more do not change the source."""
    return (
        -choice.sessions,
        choice.repeats > DEAD_BAND,
        -round(math.log2(choice.seconds)),
        choice.source,
    )


def _stop_on_needless(asked: Iterable[str], quantities: Sequence[str]) -> None:
    for quantity in asked:
        if quantity not in quantities:
            message = f"no run is cut by '{quantity}', so there is no source of it to take"
            fix = f"quantities taken: {', '.join(quantities)}"
            raise InputError([Finding("source-unknown", Severity.ERROR, message, fix)])


def _asked(quantity: str, source: str, judged: Sequence[Choice]) -> Choice:
    for choice in judged:
        if choice.source == source:
            return replace(choice, by_user=True)
    there = ", ".join(f"'{each.source}'" for each in judged) or "none"
    raise InputError(
        [
            Finding(
                "source-unknown",
                Severity.ERROR,
                f"no source '{source}' has values of {quantity} in the sessions",
                f"sources that have: {there}; 'slackwater logs LOG' lists all",
            )
        ]
    )
