"""Channels of several logs as one, parts of them, and their values smoothed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Protocol

import numpy as np

from slackwater.analysis.logs.channels import Channel, Log, Numbers


class Span(Protocol):
    """From when to before when. [s]"""

    @property
    def start(self) -> float:
        """On the clock of the logs. [s]"""

    @property
    def end(self) -> float:
        """On the clock of the logs. [s]"""


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


def within(channel: Channel, span: Span) -> Channel:
    """The samples of one span."""
    a, b = np.searchsorted(channel.seconds, [span.start, span.end])
    lines = channel.lines[a:b] if channel.lines.size else channel.lines
    return replace(channel, seconds=channel.seconds[a:b], values=channel.values[a:b], lines=lines)


def smoothed(values: Numbers, cells: int) -> Numbers:
    """Mean over so many cells around each one; fewer at the ends."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    at = np.arange(values.size)
    before = np.maximum(at - (cells - 1) // 2, 0)
    behind = np.minimum(at + cells // 2 + 1, values.size)
    return np.asarray((total[behind] - total[before]) / (behind - before))
