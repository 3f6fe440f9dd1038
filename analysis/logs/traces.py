"""Where figures made of logs come from, as data: the logs, the sources taken of them, and lines."""

from __future__ import annotations

from typing import Any

import numpy as np

from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.sources import Choice, judged_data


def log_data(log: Log) -> dict[str, Any]:
    """A log with the hash of its bytes and what of it gave no value."""
    return {
        "file": str(log.path),
        "sha256": log.sha256,
        "form": log.form,
        "lines": log.lines,
        "faults": [{"reason": reason, "count": n} for reason, n in log.faults.items()],
        "notes": list(log.notes),
    }


def choice_data(each: Choice) -> dict[str, Any]:
    """The source that a quantity was taken from, with those that were not."""
    return {
        "quantity": each.quantity,
        "source": each.source,
        "others": list(each.others),
        "sessions": each.sessions,
        "seconds": each.seconds,
        "repeats": round(each.repeats, 4),
        "by_user": each.by_user,
        "why": each.why,
        "offered": [judged_data(other) for other in each.offered],
    }


def lines_of(
    log: Log, quantity: str, source: str, start: float, end: float
) -> dict[str, Any] | None:
    """Which lines of a log a quantity stands in from `start` to before `end`; None where it has none of it. [s]"""
    for channel in log.of(quantity):
        a, b = np.searchsorted(channel.seconds, [start, end])
        if channel.source == source and b > a and channel.lines.size:
            lines = channel.lines[a:b]
            return {"file": str(log.path), "from": int(lines.min()), "to": int(lines.max())}
    return None
