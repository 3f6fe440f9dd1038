"""`slackwater sheet --merge FILE… --trial TRIAL`: what tablets handed back, put into the run table."""

from __future__ import annotations

import argparse
import csv
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import check_output, complain, write, write_added
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    from slackwater.analysis.sheet.aboard import Aboard
    from slackwater.analysis.sheet.merging import Merged, Table
    from slackwater.protocol.declared.trial import Trial


def run(args: argparse.Namespace) -> int:
    """Merge and write; 0 when done. With a conflict nothing is written.

    Raises
    ------
    InputError
        When a file cannot be used, or two say different things of one run.
    """
    from slackwater.analysis.sheet.aboard import read_aboard
    from slackwater.analysis.sheet.merging import TableError, latest, merge, table_text
    from slackwater.protocol.declared.trial import load_trial

    if args.format not in (None, "text", "json"):
        raise _unfit("option-unfit", f"--format {args.format} goes with no merge", "text or json")
    check_output(args.output, [*args.merge, args.trial], replace=args.replace)
    trial = load_trial(args.trial)
    handed = [read_aboard(path) for path in args.merge]
    for aboard, path in zip(handed, args.merge, strict=True):
        _check_fits(aboard, path, trial)
    target = trial.folder / trial.runs
    before, table = _table(target, handed)
    try:
        merged = merge(table, latest(handed), [session.id for session in trial.sessions])
    except TableError as error:
        raise _unfit("aboard-unfit", error.message, error.fix) from error
    _stop_on_conflicts(merged, target)
    text = table_text(merged.table)
    if args.output is not None:
        write(text, args.output, form="csv", replace=args.replace)
    else:
        write_added(text, target, before)
    _tell(merged, handed, args)
    return 0


def _unfit(rule: str, message: str, fix: str, path: str | Path = "") -> InputError:
    place = Place(str(path)) if path else None
    return InputError([Finding(rule, Severity.ERROR, message, fix, place)])


def _check_fits(aboard: Aboard, path: str, trial: Trial) -> None:
    """Refuse what was entered for another trial, or was invented where the trial is not."""
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
    strange = sorted({row.get("session", "") for row in aboard.rows} - known)
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


def _table(target: Path, handed: Sequence[Aboard]) -> tuple[bytes | None, Table]:
    """The run table as it stands, and its bytes; None where there is none yet."""
    from slackwater.analysis.intake.table_limits import SIZE_LIMIT
    from slackwater.analysis.sheet.merging import Table, TableError, read_prepared
    from slackwater.protocol.files.reading import is_there, read_bytes

    head = {key: text for aboard in reversed(handed) for key, text in aboard.head.items()}
    elsewhere = "name a CSV in the trial ('runs: runs.csv'), or merge by hand"
    if target.suffix.lower() != ".csv":
        message = "rows are put into a run table in CSV alone"
        raise _unfit("table-not-prepared", message, elsewhere, target)
    if not is_there(target):
        used = {name for aboard in handed for row in aboard.rows for name in row if row[name]}
        kept = {key: text for key, text in head.items() if key != "heading" or key in used}
        return None, Table(kept, [])
    before = read_bytes(target, SIZE_LIMIT)
    try:
        return before, read_prepared(before.decode("utf-8"), head)
    except UnicodeDecodeError as error:
        message = f"byte {error.start} is no text in UTF-8"
        raise _unfit("table-not-prepared", message, "save it as CSV in UTF-8", target) from error
    except csv.Error as error:
        message = f"it cannot be read as CSV: {error}"
        raise _unfit("table-not-prepared", message, "mend it, or save it anew", target) from error
    except TableError as error:
        raise _unfit("table-not-prepared", error.message, error.fix, target) from error


def _stop_on_conflicts(merged: Merged, target: Path) -> None:
    """Refuse to write anything where a cell would have two values."""
    if not merged.conflicts:
        return
    raise InputError(
        [
            Finding(
                "rows-differ",
                Severity.ERROR,
                f"{each.session}, {each.run}: {each.column} is {each.kept!r} in {each.kept_from} and "
                f"{each.offered!r} from {each.offered_from}{each.hint}; nothing was written",
                "find out which holds; write it into the table, or leave one file out, and merge again",
                Place(str(target)),
                session=each.session,
            )
            for each in merged.conflicts
        ]
    )


def _tell(merged: Merged, handed: Sequence[Aboard], args: argparse.Namespace) -> None:
    from slackwater.analysis.sheet.merged_words import to_data, to_text

    if args.format == "json":
        from slackwater.analysis.wording.json_text import to_json

        write(to_json(to_data(merged, handed)), None, form="json")
    else:
        write(to_text(merged, handed), None)
