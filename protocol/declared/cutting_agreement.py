"""Runs stand in a table or are cut from logs; of a trial that names both nobody knows which is meant."""

from __future__ import annotations

from collections.abc import Iterator

from slackwater.protocol.files.model_faults import at
from slackwater.protocol.files.source import Document
from slackwater.protocol.findings import Finding


def runs_findings(document: Document) -> Iterator[Finding]:
    """That a trial takes its runs from two places, and that it names a log twice."""
    if "runs" in document.data and "logs" in document.data:
        yield at(
            document,
            ("logs",),
            "the trial names a table of runs and logs to cut runs from",
            "take one of the two away: 'runs:' for a table, 'logs:' for what the instruments wrote",
            key=True,
        )
    named: list[str] = []
    logs = document.data.get("logs")
    for index, log in enumerate(logs if isinstance(logs, list | tuple) else ()):
        if str(log).strip() in named:
            yield at(document, ("logs", index), f"'{log}' is named twice", "name each log once")
        named.append(str(log).strip())
