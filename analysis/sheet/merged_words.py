"""What a merge did, as text and as data."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from slackwater.analysis.sheet.aboard import Aboard
from slackwater.analysis.sheet.merging import Merged, latest
from slackwater.analysis.wording.characters import printable
from slackwater.analysis.wording.json_text import head


def to_data(merged: Sequence[Merged], handed: Sequence[Aboard]) -> dict[str, Any]:
    """Rows by session, those of runs above, and what was noted of the sessions, ready for JSON."""
    parts = {each.kind.name: _counts(each) for each in merged}
    runs = parts.pop("runs", {"added": {}, "completed": {}, "known": {}})
    return {
        **head(),
        "devices": sorted({each.device for each in handed}),
        "rehearsal": any(each.rehearsal for each in handed),
        **runs,
        **parts,
        "noted": _noted(handed),
    }


def _counts(merged: Merged) -> dict[str, dict[str, int]]:
    return {
        "added": dict(sorted(merged.added.items())),
        "completed": dict(sorted(merged.completed.items())),
        "known": dict(sorted(merged.known.items())),
    }


def to_text(merged: Sequence[Merged], handed: Sequence[Aboard]) -> str:
    """The same for people, with what was noted as the trial's file takes it."""
    lines = []
    if any(each.rehearsal for each in handed):
        lines.append("INVENTED: these are the readings of a rehearsal; nothing was measured.")
    for each in merged:
        for session in sorted({*each.added, *each.completed, *each.known}):
            parts = [
                f"{count[session]} {each.kind.name} {word}"
                for word, count in (
                    ("added", each.added),
                    ("completed", each.completed),
                    ("there already", each.known),
                )
                if session in count
            ]
            lines.append(f"{printable(session)}: {', '.join(parts)}")
    if not lines:
        nouns = " and no ".join(each.kind.name for each in merged)
        lines.append(f"There are no {nouns} in it: nothing was added.")
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
