"""What a merge did, as text and as data."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from slackwater.analysis.sheet.aboard import Aboard
from slackwater.analysis.sheet.merging import Merged, latest
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.json_text import head


def to_data(merged: Merged, handed: Sequence[Aboard]) -> dict[str, Any]:
    """Runs by session, and what was noted of the sessions, ready for JSON."""
    return {
        **head(),
        "devices": sorted({each.device for each in handed}),
        "rehearsal": any(each.rehearsal for each in handed),
        "added": dict(sorted(merged.added.items())),
        "completed": dict(sorted(merged.completed.items())),
        "known": dict(sorted(merged.known.items())),
        "noted": _noted(handed),
    }


def to_text(merged: Merged, handed: Sequence[Aboard]) -> str:
    """The same for people, with what was noted as the trial's file takes it."""
    lines = []
    if any(each.rehearsal for each in handed):
        lines.append("INVENTED: these are the readings of a rehearsal; nothing was measured.")
    for session in sorted({*merged.added, *merged.completed, *merged.known}):
        parts = [
            f"{count[session]} {word}"
            for word, count in (
                ("runs added", merged.added),
                ("runs completed", merged.completed),
                ("runs there already", merged.known),
            )
            if session in count
        ]
        lines.append(f"{printable(session)}: {', '.join(parts)}")
    if not lines:
        lines.append("No run was made: nothing was added.")
    noted = _noted(handed)
    if noted:
        lines += [
            "",
            "Noted of the sessions; what the trial's file lacks of it goes there by hand:",
        ]
    for session, found in noted.items():
        cells = ", ".join(f"{name}: {_scalar(text)}" for name, text in found.items())
        lines.append(f"  {printable(session)}: {{{cells}}}")
    return "\n".join(lines) + "\n"


def _noted(handed: Sequence[Aboard]) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for each in latest(handed):
        for session in each.sessions:
            own = found.setdefault(session.id, {})
            for name, text in session.noted.items():
                own[name] = text if own.get(name, text) == text else f"{own[name]} or {text}"
            if session.remark:
                own["note"] = session.remark
    return dict(sorted(found.items()))


def _scalar(text: str) -> str:
    plain = (
        text.replace(" ", "").replace(".", "").replace("%", "").replace("/", "").replace("-", "")
    )
    return text if plain.isascii() and plain.isalnum() else json.dumps(text, ensure_ascii=False)
