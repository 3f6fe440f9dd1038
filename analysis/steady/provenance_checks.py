"""Whether a run table is still what was cut from its logs: the rows, the logs, and what they were cut by."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slackwater.analysis.intake.files import provenance_beside
from slackwater.analysis.intake.grid import Row
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.provenance import (
    CutLog,
    Provenance,
    Unreadable,
    read_provenance,
)
from slackwater.analysis.intake.tables import read_runs
from slackwater.protocol.files.reading import TooLong, is_file, is_there, pieces
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.units.quantity import show_number

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.trial import Trial

_PIECE, _MOST = 1 << 20, 1 << 34  # [bytes]
_SAME = 1e-9  # of a value: what a spreadsheet may change without anybody's hand
_FREE = {"row", "note", "configuration"}  # a hand may write a note, and rows may be sorted
_CUT_ANEW = "cut the runs anew with 'slackwater logs LOG… --trial TRIAL --output {} --replace'"


def looked_over(trial: Trial, table: RunTable) -> tuple[Provenance | None, list[Finding]]:
    """The provenance beside a run table, and everything in which the two, or its logs, do not agree.

    Parameters
    ----------
    trial : Trial
    table : RunTable
        As read from the file that the trial names.
    """
    path = provenance_beside(trial.folder / trial.runs)
    if not is_there(path):
        return None, []
    try:
        found = read_provenance(path)
    except Unreadable as reason:
        return None, [_unreadable(path, str(reason))]
    if found.trial != trial.trial:
        return None, [_of_another(path, found, trial)]
    return found, [
        *log_findings(path, found.logs),
        *_parameters(path, found, trial),
        *_rows(path, found, trial, table),
    ]


def _unreadable(path: Path, reason: str) -> Finding:
    return Finding(
        "provenance-unreadable",
        Severity.WARNING,
        f"this does not tell where the runs of '{path.name.partition('.')[0]}' come from: {reason}",
        "take the file away, or have 'slackwater logs … --trial' write it and the table anew",
        Place(str(path)),
    )


def _of_another(path: Path, found: Provenance, trial: Trial) -> Finding:
    return Finding(
        "provenance-foreign",
        Severity.WARNING,
        f"tells of runs of the trial '{found.trial}', and this is '{trial.trial}'; it was not used",
        "put the file that was written with this table beside it, or take this one away",
        Place(str(path)),
    )


def log_findings(
    path: Path, logs: Iterable[CutLog], what: str = "runs", again: str = _CUT_ANEW
) -> Iterator[Finding]:
    """Logs that are not there, and those that are no longer what runs (or tries) were cut from."""
    told: set[tuple[str, str]] = set()
    for log in logs:
        places = list(_places(log.file, path.parent))
        name = places[0].name if places else log.file
        if (name, log.sha256) in told:  # several in one archive
            continue
        told.add((name, log.sha256))
        if not places:
            yield Finding(
                "log-missing",
                Severity.ADVICE,
                f"the log '{log.file}' that {what} were cut from is not there, so nobody can cut them again",
                "keep the logs with the trial; the table is used as it stands",
                Place(str(path)),
            )
        elif all(_sha256(place) != log.sha256 for place in places):
            yield Finding(
                "log-changed",
                Severity.WARNING,
                f"the log '{log.file}' is no longer the one that {what} were cut from: its bytes have "
                f"changed (SHA-256 {log.sha256[:12]}… then)",
                "put the log back as the instrument wrote it, or "
                + again.format(path.name.replace(".provenance.json", ".csv")),
                Place(str(path)),
            )


def _places(named: str, folder: Path) -> Iterator[Path]:
    """Files that a log's name may stand for: from the folder, from here, and beside the table."""
    path = Path(named)
    seen: set[Path] = set()
    for part in (path, *path.parents):  # of a log in an archive, the archive
        for place in (folder / part, part, folder / part.name):
            if part.name and is_file(place) and place not in seen:
                seen.add(place)
                yield place


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    try:
        for piece in pieces(path, _PIECE, _MOST):
            digest.update(piece)
    except (OSError, TooLong, ValueError):
        return ""
    return digest.hexdigest()


def _parameters(path: Path, found: Provenance, trial: Trial) -> Iterator[Finding]:
    from slackwater.analysis.steady.terms import CutTerms

    today = CutTerms.of(trial.protocol).parameters()
    then = found.parameters.model_dump()
    changed = [name for name, value in today.items() if not _alike(value, then[name])]
    if changed:
        yield Finding(
            "cut-otherwise",
            Severity.WARNING,
            "the runs were cut by other terms than the protocol has today: "
            + "; ".join(_differ(name, then[name], today[name]) for name in changed),
            _CUT_ANEW.format(path.name.replace(".provenance.json", ".csv")),
            Place(str(path)),
        )


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, dict):
        return all(_alike(value, other[key]) for key, value in one.items())
    if isinstance(one, list | tuple):
        return len(one) == len(other) and all(map(_alike, one, other))
    if isinstance(one, float):
        same = math.isclose(one, other, rel_tol=_SAME, abs_tol=_SAME)
        return same or (math.isnan(one) and math.isnan(other))
    return bool(one == other)


def _differ(name: str, then: Any, today: Any) -> str:
    words = name.replace("_", " ")
    if isinstance(then, list | tuple):
        return f"{words} or how closely they are held"
    shown = (show_number(each) if isinstance(each, float) else str(each) for each in (then, today))
    return "{} {} then, {} today".format(words, *shown)


def _rows(path: Path, found: Provenance, trial: Trial, table: RunTable) -> list[Finding]:
    """Rows that are not as they were cut; matched by session and start."""
    if found.table.sha256 == table.sha256:
        return []
    from slackwater.analysis.steady.run_rows import written
    from slackwater.analysis.wording.characters import utf_8

    cut = utf_8(written(found.table.headings, found.table.rows))
    if hashlib.sha256(cut).hexdigest() != found.table.sha256:
        return [_unreadable(path, "its table is not the one that it gives the SHA-256 of")]
    try:
        then = read_runs(trial, path, cut) if found.table.rows else None
    except InputError as error:
        return [_not_read(path, error)]
    problems = Problems(table.file)
    _compare(_by_start(then) if then else {}, _by_start(table), problems)
    return list(problems.findings())


def _not_read(path: Path, error: InputError) -> Finding:
    return Finding(
        "provenance-unreadable",
        Severity.WARNING,
        "the rows that were cut cannot be read by the trial as it stands today, so they were not compared "
        f"with the table: {error.findings[0].message}",
        _CUT_ANEW.format(path.name.replace(".provenance.json", ".csv")),
        Place(str(path)),
    )


_Rows = dict[tuple[Any, Any, int], dict[str, Any]]


def _by_start(table: RunTable) -> _Rows:
    """The rows by session and start; rows with both alike are counted."""
    found: _Rows = {}
    for index in range(len(table)):
        row = {name: values[index] for name, values in table.columns.items()}
        count = 0
        while (key := (row["session"], row["start"], count)) in found:
            count += 1
        found[key] = row
    return found


def _compare(then: _Rows, now: _Rows, problems: Problems) -> None:
    for key, row in now.items():
        at = Row(row["row"], (), "")
        if key not in then:
            problems.warning(
                "row-not-cut",
                f"row {row['row']} is no run that was cut from the logs",
                "say in its note where it comes from, or take it out",
                row=at,
                session=row["session"],
            )
            continue
        _compare_row(then[key], row, at, problems)
    for key, row in then.items():
        if key not in now:
            problems.warning(
                "row-taken-out",
                f"a run that was cut is not in the table: session {row['session']}, "
                f"{_moment(row['start'])}, {row['set_point']:g} {row['direction']}".rstrip(),
                "put it back, and give the reason in set_aside if it cannot be used",
                session=row["session"],
            )


def _compare_row(then: dict[str, Any], now: dict[str, Any], at: Row, problems: Problems) -> None:
    if now["set_aside"] and not then["set_aside"]:
        problems.advice(
            "row-set-aside-by-hand",
            f"row {now['row']} was set aside after it was cut: {now['set_aside']}",
            row=at,
            session=now["session"],
        )
    by_hand = {"set_aside"} if now["set_aside"] else set()
    changed = [
        f"{name} {_text(now[name])}, cut was {_text(was)}"
        for name, was in then.items()
        if name not in _FREE | by_hand and not _alike(was, now.get(name))
    ]
    if changed:
        problems.warning(
            "row-edited",
            f"row {now['row']} is not what was cut from the logs: {'; '.join(changed)}",
            "put it back, or give the reason in set_aside",
            row=at,
            session=now["session"],
        )


def _moment(start: Any) -> str:
    return start.isoformat(sep=" ") if start is not None else "no start"


def _text(value: Any) -> str:
    if isinstance(value, float):
        return show_number(float(f"{value:.6g}")) if math.isfinite(value) else "nothing"
    return str(value) or "nothing"
