"""What a store is asked for the summary of an archive."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields
from sys import intern
from typing import Any, TypeVar

from slackwater.analysis.archive.answer import (
    ArchiveResult,
    Broken,
    Differing,
    Entered,
    OneTrial,
    PassCount,
    Ruled,
)
from slackwater.analysis.archive.looking import Looked
from slackwater.analysis.archive.method import method_of
from slackwater.analysis.archive.store import Store
from slackwater.analysis.result.fields import VERDICTS

DECIDING = "deciding figure"
_HERE = "setting = $setting AND present"

# Of runs under several names the first by name counts: each says the same, and not twice.
_TRIALS = f"""
WITH here AS (SELECT * FROM trials WHERE {_HERE})
SELECT path, state, trial, title, boat, protocol, version, first_day, last_day, runs_used, seal
FROM here ORDER BY path
"""
_TWICE = f"""
SELECT list(path ORDER BY path) AS paths FROM trials
WHERE {_HERE} AND state = 'analysed' AND content <> ''
GROUP BY content HAVING count(*) > 1 ORDER BY 1
"""
_VERDICTS = f"""
WITH counting AS (
    SELECT min(path) AS path FROM trials WHERE {_HERE} AND state = 'analysed' GROUP BY content
), judged AS (
    SELECT quantity, verdict, deciding FROM comparisons JOIN counting USING (path)
    WHERE setting = $setting
)
SELECT quantity, verdict, count(*) AS number, 1 AS place FROM judged GROUP BY ALL
UNION ALL
SELECT '{DECIDING}', verdict, count(*), 0 FROM judged WHERE deciding GROUP BY verdict
ORDER BY place, quantity
"""
_OF_EACH = f"""
SELECT path, verdict, count(*) AS number
FROM comparisons JOIN trials USING (path, setting)
WHERE {_HERE} AND (deciding OR deciding IS NULL) GROUP BY ALL
"""
_BROKEN = f"SELECT path, message FROM trials WHERE {_HERE} AND state = 'broken' ORDER BY path"
_DIFFERING = """
SELECT * EXCLUDE (setting, passed) FROM differing
WHERE setting = $setting AND (passed = $passed OR setting <> '')
ORDER BY path, quantity, baseline, modified, "at"
"""
_RULES = f"""
SELECT rule, severity, count(DISTINCT path) AS trials, arg_min(findings.message, path) AS message
FROM findings JOIN trials USING (path, setting)
WHERE {_HERE} AND state = 'analysed' AND severity <> 'advice'
GROUP BY rule, severity ORDER BY trials DESC, rule
"""

Made = TypeVar("Made")


def answer_of(
    store: Store, folder: str, looked: Looked, setting: str, counts: PassCount, boat: str
) -> ArchiveResult:
    """The summary of what a store holds of a folder."""

    def ask(query: str, **more: str) -> Iterator[dict[str, Any]]:
        return store.rows(query, {"setting": setting, **more})

    of_each: dict[str, dict[str, int]] = {}
    for row in ask(_OF_EACH):
        of_each.setdefault(row["path"], {})[row["verdict"]] = row["number"]
    verdicts: dict[str, dict[str, int]] = {}
    for row in ask(_VERDICTS):
        verdicts.setdefault(row["quantity"], {})[row["verdict"]] = row["number"]
    return ArchiveResult(
        folder=folder,
        store=store.path,
        setting=setting,
        counts=counts,
        trials=tuple(
            _made(OneTrial, {**row, "verdicts": _ordered(of_each.get(row["path"], {}))})
            for row in ask(_TRIALS)
        ),
        verdicts={name: _ordered(found) for name, found in verdicts.items()},
        broken=tuple(_made(Broken, row) for row in ask(_BROKEN)),
        entered_twice=tuple(Entered(tuple(row["paths"])) for row in ask(_TWICE)),
        differing=tuple(_made(Differing, row) for row in ask(_DIFFERING, passed=counts.passed)),
        rules=tuple(_made(Ruled, row) for row in ask(_RULES)),
        closed=dict(sorted(looked.closed.items())),
        links=tuple(sorted(looked.links)),
        method=method_of(store, setting, boat),
    )


def _ordered(found: Mapping[str, int]) -> dict[str, int]:
    """Counts in the order that verdicts are told in everywhere."""
    return {word: found[word] for word in VERDICTS if word in found}


def _made(kind: type[Made], row: Mapping[str, Any]) -> Made:
    # Thousands of trials have the same few boats, protocols and states: one text each is kept.
    told = {name: intern(value) if type(value) is str else value for name, value in row.items()}
    return kind(**{each.name: told[each.name] for each in fields(kind)})  # type: ignore[arg-type]
