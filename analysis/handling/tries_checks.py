"""Whether a table of tries is still what was found in its logs: the rows, and the logs."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.intake.provenance import Unreadable
from slackwater.analysis.intake.tries import Try, TryTable
from slackwater.analysis.intake.try_provenance import TryProvenance, read_try_provenance
from slackwater.analysis.intake.try_table import asked_of, read_try_table
from slackwater.analysis.steady.provenance_checks import log_findings
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.units.quantity import show_number

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Trial

_SAME = 1e-9  # of a value: what a spreadsheet may change without anybody's hand
_MOST_TOLD = 6
_ANEW = (
    "find the tries anew with 'slackwater logs LOG… --trial TRIAL --tries --output {} --replace'"
)

_Key = tuple[str, str, str, int]


def looked_over(
    trial: Trial, table: TryTable, path: Path
) -> tuple[TryProvenance | None, list[Finding]]:
    """The provenance, and everything in which it and the table, or its logs, do not agree."""
    try:
        found = read_try_provenance(path)
    except Unreadable as reason:
        return None, [_unfit(path, f"this does not tell where the tries of the table come from: {reason}")]  # fmt: skip
    if found.trial != trial.trial:
        other = f"tells of tries of the trial '{found.trial}', and this is '{trial.trial}'; it was not used"
        return None, [replace(_unfit(path, other), rule="provenance-foreign")]
    again = _ANEW.format(path.name.replace(".provenance.json", ".csv"))
    logs = list(log_findings(path, found.logs, "tries", again))
    return found, [
        *logs,
        *_read_otherwise(path, found, trial, again),
        *_rows(path, found, trial, table),
    ]


def _unfit(path: Path, message: str) -> Finding:
    fix = "take the file away, or have 'slackwater logs … --trial … --tries' write it and the table anew"
    return Finding("provenance-unreadable", Severity.WARNING, message, fix, Place(str(path)))


def _read_otherwise(
    path: Path, found: TryProvenance, trial: Trial, again: str
) -> Iterator[Finding]:
    """Values that the protocol today says to read in another way than they were."""
    from slackwater.analysis.handling.wanted import wanted_of

    manoeuvres = trial.protocol.manoeuvres.items()
    today = {k: v for name, each in manoeuvres for k, v in wanted_of(name, each).read_by.items()}
    told = [
        f"{name.replace('_', ' ')} by '{found.read_by.get(name, 'hand')}' then, by '{today.get(name, 'hand')}' today"
        for name in sorted({*today, *found.read_by})
        if today.get(name) != found.read_by.get(name)
    ]
    if told:
        message = f"values were read by other terms than the protocol has today: {'; '.join(told)}"
        yield Finding("cut-otherwise", Severity.WARNING, message, again, Place(str(path)))


def _rows(path: Path, found: TryProvenance, trial: Trial, table: TryTable) -> list[Finding]:
    """Rows that are not as they were written; matched by session, manoeuvre, direction and number."""
    if found.table.sha256 == table.sha256:
        return []
    from slackwater.analysis.steady.run_rows import written
    from slackwater.analysis.wording.characters import utf_8

    text = utf_8(written(found.table.headings, found.table.rows))
    if hashlib.sha256(text).hexdigest() != found.table.sha256:
        return [_unfit(path, "its table is not the one that it gives the SHA-256 of")]
    try:
        then = read_try_table(path, asked_of(trial), text)
    except InputError as error:
        why = f"the rows that were found cannot be read as the trial stands, so they were not compared: {error.findings[0].message}"
        return [_unfit(path, why)]
    return list(_compared(_by_key(then), _by_key(table), Place(table.file)))


def _by_key(table: TryTable) -> dict[_Key, Try]:
    return {(one.session, one.manoeuvre, one.direction, one.number): one for one in table.tries}


def _compared(then: dict[_Key, Try], now: dict[_Key, Try], place: Place) -> Iterator[Finding]:
    edited = [_edited(then[key], now[key]) for key in then.keys() & now.keys()]
    aside = [_named(k) for k in sorted(then.keys() & now.keys()) if now[k].set_aside and not then[k].set_aside]  # fmt: skip
    gone = [_named(key) for key in sorted(then.keys() - now.keys())]
    new = [_named(key) for key in sorted(now.keys() - then.keys())]
    changed = sorted(told for told in edited if told)
    if changed:
        yield _told("row-edited", Severity.WARNING, "not what the logs gave", changed, "say in the note who read it off what, or put the figure of the logs back", place)  # fmt: skip
    if gone:
        yield _told("row-taken-out", Severity.WARNING, "found in the logs and not in the table", gone, "put them back, with the reason in set_aside", place)  # fmt: skip
    if new:
        yield _told("row-not-cut", Severity.ADVICE, "in the table and not found in the logs", new, "say in their notes where they come from", place)  # fmt: skip
    if aside:
        yield _told("row-set-aside-by-hand", Severity.ADVICE, "set aside after they were found", aside, "nothing; it is told so that nobody has to look for it", place)  # fmt: skip


def _told(
    rule: str, severity: Severity, what: str, which: list[str], fix: str, place: Place
) -> Finding:
    more = f"; and {len(which) - _MOST_TOLD} more" if len(which) > _MOST_TOLD else ""
    return Finding(
        rule, severity, f"tries {what}: {'; '.join(which[:_MOST_TOLD])}{more}", fix, place
    )


def _named(key: _Key) -> str:
    session, manoeuvre, direction, number = key
    way = f" {direction}" if direction else ""
    return f"{session} {manoeuvre}{way} {number}"


def _edited(then: Try, now: Try) -> str:
    """Which values of a try were changed; empty where none was, or where it is set aside."""
    if now.set_aside:
        return ""
    named = _named((now.session, now.manoeuvre, now.direction, now.number))
    told = [
        f"{name} {_shown(now.values.get(name))}, was {_shown(then.values.get(name))}"
        for name in sorted({*then.values, *now.values})
        if not _alike(then.values.get(name), now.values.get(name))
    ]
    return f"{named} ({', '.join(told)})" if told else ""


def _shown(value: float | None) -> str:
    return "none" if value is None else show_number(float(f"{value:.6g}"))


def _alike(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return math.isclose(one, other, rel_tol=_SAME, abs_tol=_SAME)
