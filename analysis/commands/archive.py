"""Trials below a folder: what is new or changed is analysed and kept, and the whole summed up."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)
from slackwater.analysis.commands.workers import add_worker_arguments

if TYPE_CHECKING:
    import pandas as pd

    from slackwater.analysis.archive.archiving import Tell

FORMATS = ("text", "json", "html", "csv")
_MOST_ROWS = 1000  # of a query's answer as text


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("folder", metavar="FOLDER", help="where the trials are, at any depth")
    parser.add_argument(
        "--store", metavar="FILE", help="where results are kept; else beside the folder"
    )
    parser.add_argument(
        "--again", action="store_true", help="analyse every trial, and tell which verdicts differ"
    )
    parser.add_argument(
        "--set",
        metavar="KEY=VALUE",
        action="append",
        default=[],
        dest="settings",
        help="also judge with the protocol's KEY set otherwise (analysis.confidence=99%%), and tell "
        "which verdicts differ; repeatable",
    )
    parser.add_argument(
        "--reference",
        metavar="BOAT",
        default="",
        help="title of the boat that is left as she is: control charts and precision",
    )
    parser.add_argument(
        "--noise",
        metavar="FILE",
        help="write the noise of all trials, as plans and protocols take it",
    )
    parser.add_argument(
        "--sql", metavar="QUERY", help="ask the store instead; nothing is analysed or changed"
    )
    add_worker_arguments(parser, "one for each processor; a cluster has to see the same files")
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Bring the store up to date and write the summary; 0 when done, with broken trials too.

    Raises
    ------
    InputError
        When the folder or the store cannot be used, or the cluster cannot be reached.
    """
    from slackwater.analysis.archive.store import store_beside

    store = Path(args.store) if args.store else store_beside(Path(args.folder))
    for target in (args.output, args.noise):
        check_output(target, [store], replace=args.replace)
    chosen = chosen_format(args, FORMATS)
    if args.sql is not None:
        from slackwater.analysis.archive.store import asked

        text = _rows(asked(store, args.sql), chosen)
    else:
        text = _summary(args, store, chosen)
    write(text, args.output, form=chosen, replace=args.replace)
    return 0


def _summary(args: argparse.Namespace, store: Path, chosen: str) -> str:
    from slackwater.analysis.archive.archiving import Wanted, archive
    from slackwater.analysis.archive.setting import setting_of

    wanted = Wanted(
        store=store,
        again=args.again,
        setting=setting_of(args.settings),
        workers=args.workers,
        address=args.scheduler,
        reference=args.reference,
    )
    with _bar() as tell:
        result = archive(args.folder, wanted, tell)
    if args.noise is not None:
        from slackwater.analysis.report.archive.noise_file import noise_file

        write(noise_file(result), args.noise, form="yaml", replace=args.replace)
    if chosen == "json":
        return result.to_json()
    return {"html": result.to_html, "csv": result.to_csv}.get(chosen, result.__str__)()


@contextmanager
def _bar() -> Iterator[Tell]:
    """How far it is: a bar where somebody looks at a terminal, else a line now and then."""
    from slackwater.analysis.wording.progress import progress

    if sys.stderr is None or not sys.stderr.isatty():
        yield lambda done, total, path: progress(f"trial {done} of {total}, {path}")
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = ("trials", BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("trials", total=None)
        yield lambda done, total, path: bar.update(task, completed=done, total=total)


def _rows(frame: pd.DataFrame, chosen: str) -> str:
    """What a query gave, in the form asked for."""
    from slackwater.analysis.report.archive.rows import as_csv, as_json, as_text

    if chosen == "json":
        return as_json(frame)
    return as_csv(frame) if chosen in ("csv", "html") else as_text(frame, _MOST_ROWS)
