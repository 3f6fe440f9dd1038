"""Findings that are one fact, told once: the same in one session after another is one slip, not many."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from slackwater.protocol.findings import Finding

#: Figures in a message, which may differ from one session to the next.
_FIGURE = re.compile(r"[-−+]?\d[\d.,]*")
_LISTED = re.compile(r"(row )?#( \((out|back)\))?(, (row )?#( \((out|back)\))?)*( and # more)?")
_NAMED = re.compile(r"\b[Ss]essions? [^\s:;,]+")
NAMED = 12  # sessions that are listed


def gathered(findings: Iterable[Finding]) -> list[Finding]:
    """The findings, with those that differ in their session and its figures alone put together.

    The first of them speaks, and says in which sessions it is alike. Each stays a finding of its own
    in what programs read.
    """
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        key: tuple[object, ...] = (id(finding),)
        if finding.session is not None:
            file = finding.place.file if finding.place else ""
            key = (finding.rule, finding.severity, file, _shape(finding))
        groups.setdefault(key, []).append(finding)
    return [_as_one(group) for group in groups.values()]


def _shape(finding: Finding) -> str:
    """A message with nothing in it that belongs to one session."""
    text = finding.message.replace(f"session {finding.session}", "session")
    text = _FIGURE.sub("#", text)
    return _LISTED.sub("#", text)


def _as_one(group: list[Finding]) -> Finding:
    first = group[0]
    others = list(dict.fromkeys(f.session for f in group[1:] if f.session != first.session))
    if not others:
        if len(group) == 1:
            return first
        return replace(first, message=f"{first.message}; and {len(group) - 1} more like it")
    listed = ", ".join(str(session) for session in others[:NAMED])
    more = f" and {len(others) - NAMED} more" if len(others) > NAMED else ""
    noun = "session" if len(others) == 1 else "sessions"
    named = "" if _NAMED.search(first.message) else f"session {first.session}: "
    return replace(
        first, message=f"{named}{first.message}; alike in {noun} {listed}{more}", session=None
    )
