"""`slackwater sheet --merge FILE… --trial TRIAL`: what tablets handed back, put into the trial's tables."""

from __future__ import annotations

import argparse
import csv
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import check_output, complain, write, write_added
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    from slackwater.analysis.sheet.aboard import Aboard
    from slackwater.analysis.sheet.merging import Merged, Table
    from slackwater.analysis.sheet.table_kinds import TableKind
    from slackwater.protocol.declared.trial import Trial


def run(args: argparse.Namespace) -> int:
    """Merge and write; 0 when done. With a conflict in any table nothing is written.

    Raises
    ------
    InputError
        When a file cannot be used, or two say different things of one run, try or rating.
    """
    from slackwater.analysis.sheet.aboard import read_aboard
    from slackwater.protocol.declared.trial import load_trial

    if args.format not in (None, "text", "json"):
        raise _unfit("option-unfit", f"--format {args.format} goes with no merge", "text or json")
    check_output(args.output, [*args.merge, args.trial], replace=args.replace)
    trial = load_trial(args.trial)
    handed = [read_aboard(path) for path in args.merge]
    for aboard, path in zip(handed, args.merge, strict=True):
        _check_fits(aboard, path, trial)
    done = [_merged(kind, handed, trial) for kind in _kinds(handed, args)]
    _stop_on_conflicts(done)
    for each in done:
        _write(each, args)
    _tell([each.merged for each in done], handed, args)
    return 0


@dataclass(frozen=True, slots=True)
class _Done:
    """A table with what was put into it, not written yet."""

    merged: Merged
    target: Path
    before: bytes | None  # its bytes as it was read


def _kinds(handed: Sequence[Aboard], args: argparse.Namespace) -> list[TableKind]:
    """The tables that rows were handed back of, or the one asked for."""
    from slackwater.analysis.sheet.table_kinds import KINDS

    if args.rows:
        return [kind for kind in KINDS if kind.name == args.rows]
    there = [(kind, own) for kind in KINDS for a in handed if (own := a.table(kind.name))]
    filled = list(dict.fromkeys(kind for kind, own in there if own.rows))
    if args.output is not None and len(filled) > 1:
        names = " and ".join(kind.name for kind in filled)
        raise _unfit(
            "option-unfit",
            f"there are {names} in it, and --output takes one table",
            f"say which with --rows {filled[0].name} or --rows {filled[1].name}",
        )
    return filled or [kind for kind, _ in there][:1]


def _merged(kind: TableKind, handed: Sequence[Aboard], trial: Trial) -> _Done:
    """The trial's table of a kind with the rows of every device."""
    from slackwater.analysis.sheet.merging import TableError, latest, merge

    named = kind.file(trial)
    if named is None:
        message = f"the trial names no {kind.title}, and {kind.name} were handed back"
        raise _unfit("aboard-unfit", message, kind.fix)
    target = trial.folder / named
    before, table = _table(target, handed, kind)
    sessions = [session.id for session in trial.sessions]
    try:
        return _Done(merge(table, latest(handed), sessions, kind), target, before)
    except TableError as error:
        raise _unfit("aboard-unfit", error.message, error.fix) from error


def _write(done: _Done, args: argparse.Namespace) -> None:
    from slackwater.analysis.sheet.merging import table_text

    text = table_text(done.merged.table)
    if args.output is not None:
        write(text, args.output, form="csv", replace=args.replace)
    else:
        write_added(text, done.target, done.before)


def _unfit(rule: str, message: str, fix: str, path: str | Path = "") -> InputError:
    place = Place(str(path)) if path else None
    return InputError([Finding(rule, Severity.ERROR, message, fix, place)])


def _check_fits(aboard: Aboard, path: str, trial: Trial) -> None:
    """Refuse what was entered for another trial, or was invented where the trial is not."""
    from slackwater.analysis.sheet.table_kinds import KINDS

    if aboard.trial and aboard.trial != trial.trial:
        raise _unfit(
            "aboard-unfit",
            f"this was noted for the trial '{aboard.trial}', not for '{trial.trial}'",
            "give the trial that the sheet was made from",
            path,
        )
    if aboard.rehearsal and not trial.invented:
        raise _unfit(
            "row-invented",
            "this is a rehearsal: every reading in it is invented, and the trial does not say so",
            "hand back what was measured; for practice, write 'invented: true' into the trial",
            path,
        )
    known = {session.id for session in trial.sessions}
    tables = [table for kind in KINDS if (table := aboard.table(kind.name))]
    strange = sorted({row.get("session", "") for table in tables for row in table.rows} - known)
    if strange:
        raise _unfit(
            "session-unknown",
            f"{', '.join(repr(each) for each in strange[:5])} is no session of the trial",
            "write the session into the trial, under 'sessions:', with its id and configuration",
            path,
        )
    own = (trial.protocol.protocol, trial.protocol.version)
    if (aboard.protocol.id, aboard.protocol.version) != own:
        complain(
            f"{path}: the sheet was made from protocol {aboard.protocol.id} "
            f"{aboard.protocol.version}; the trial has {own[0]} {own[1]}"
        )


def _table(target: Path, handed: Sequence[Aboard], kind: TableKind) -> tuple[bytes | None, Table]:
    """A table as it stands, and its bytes; None where there is none yet."""
    from slackwater.analysis.intake.table_limits import SIZE_LIMIT
    from slackwater.analysis.sheet.merging import Table, TableError, read_prepared
    from slackwater.protocol.files.reading import is_there, read_bytes

    tables = [own for aboard in handed if (own := aboard.table(kind.name))]
    head = {key: text for own in reversed(tables) for key, text in own.head.items()}
    if target.suffix.lower() != ".csv":
        message = f"rows are put into a {kind.title} in CSV alone"
        fix = f"name a CSV in the trial ('{kind.name}.csv'), or merge by hand"
        raise _unfit("table-not-prepared", message, fix, target)
    if not is_there(target):
        used = {name for own in tables for row in own.rows for name in row if row[name]}
        kept = {key: text for key, text in head.items() if key != "heading" or key in used}
        return None, Table(kept, [])
    before = read_bytes(target, SIZE_LIMIT)
    try:
        return before, read_prepared(before.decode("utf-8"), head, kind)
    except UnicodeDecodeError as error:
        message = f"byte {error.start} is no text in UTF-8"
        raise _unfit("table-not-prepared", message, "save it as CSV in UTF-8", target) from error
    except csv.Error as error:
        message = f"it cannot be read as CSV: {error}"
        raise _unfit("table-not-prepared", message, "mend it, or save it anew", target) from error
    except TableError as error:
        raise _unfit("table-not-prepared", error.message, error.fix, target) from error


def _stop_on_conflicts(done: Sequence[_Done]) -> None:
    """Refuse to write anything where a cell would have two values."""
    found = [
        Finding(
            "rows-differ",
            Severity.ERROR,
            f"{each.session}, {each.of}: {each.column} is {each.kept!r} in {each.kept_from} and "
            f"{each.offered!r} from {each.offered_from}{each.hint}; nothing was written",
            "find out which holds; write it into the table, or leave one file out, and merge again",
            Place(str(one.target)),
            session=each.session,
        )
        for one in done
        for each in one.merged.conflicts
    ]
    if found:
        raise InputError(found)


def _tell(merged: Sequence[Merged], handed: Sequence[Aboard], args: argparse.Namespace) -> None:
    from slackwater.analysis.sheet.merged_words import to_data, to_text

    if args.format == "json":
        from slackwater.analysis.wording.json_text import to_json

        write(to_json(to_data(merged, handed)), None, form="json")
    else:
        write(to_text(merged, handed), None)
