"""Write what the crew takes aboard, to print, to fill in or for a tablet; take in what tablets hand back."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    complain,
    seed,
    write,
    write_bytes,
)
from slackwater.analysis.commands.sheet_layout import lay_out, refuse
from slackwater.protocol.files.reading import is_there

if TYPE_CHECKING:
    from slackwater.analysis.planning.order_comparison import Row
    from slackwater.analysis.sheet.contents import SheetContents
    from slackwater.analysis.sheet.prepared import Prepared
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial

FORMATS = ("text", "html", "csv", "xlsx", "json")
BROWSED = ("tablet", "raters")
ORDERS = ("declared", "abba", "shuffled")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument(
        "source",
        metavar="PROTOCOL|TRIAL",
        nargs="?",
        help="id or file of a protocol, or a trial; with --merge none",
    )
    parser.add_argument(
        "--for",
        dest="medium",
        choices=("paper", "tablet", "raters"),
        help="paper, or one page for a tablet's browser, which keeps what is noted and hands it back: of runs and "
        "tries (tablet), or of what people score, without what is fitted on it (raters)",
    )
    parser.add_argument(
        "--serve",
        action="store_true",
        help="hand the tablet's page out from this machine, and take in what is handed back; FILE is "
        "then the folder for that, else 'handed-in'",
    )
    parser.add_argument(
        "--on",
        metavar="ADDRESS:PORT",
        help="where to serve; else 127.0.0.1:8765, which this machine alone can reach",
    )
    parser.add_argument(
        "--merge",
        metavar="FILE",
        nargs="+",
        help="put what tablets handed back into the tables of --trial, or of one (--rows) into a copy (--output)",
    )
    parser.add_argument("--trial", metavar="TRIAL", help="whose tables --merge adds to")
    parser.add_argument(
        "--seed", type=seed, metavar="N", help="of what is left to chance; else made from the id"
    )
    parser.add_argument(
        "--first-day", metavar="DATE", help="such as 2026-05-04; else days are numbered"
    )
    parser.add_argument(
        "--daylight", metavar="FROM-TO", help="such as 06:30-20:00; else 08:00-18:00 is assumed"
    )
    parser.add_argument(
        "--change-time",
        "--change",
        metavar="TIME",
        help="to change the configuration; else what the protocol says, or 1 h",
    )
    parser.add_argument(
        "--turn-time",
        "--turn",
        metavar="TIME",
        help="from one run to the next; else 60 s are assumed",
    )
    parser.add_argument("--course", metavar="DEG", help="heading of the runs out, such as 045")
    parser.add_argument(
        "--order",
        choices=ORDERS,
        default="declared",
        help="of the sessions: as declared, ABBA and its extensions, or shuffled in blocks",
    )
    parser.add_argument(
        "--rows",
        choices=("runs", "tries", "ratings"),
        help="with csv or xlsx: the table of runs to fill in, or that of tries of manoeuvres; with --merge, "
        "the one table that is to be added to",
    )
    parser.add_argument(
        "--fuel-flow",
        metavar="FLOW",
        help="such as '40 L/h', or one for each set point, with commas; plans stops to fill up",
    )
    parser.add_argument(
        "--displacement", metavar="MASS", help="of the boat, for the stops to fill up"
    )
    add_output_arguments(parser, FORMATS)


@dataclass(frozen=True, slots=True)
class _Source:
    """The protocol asked for, and the trial when it was one."""

    protocol: Protocol
    trial: Trial | None

    @property
    def id(self) -> str:
        return self.trial.trial if self.trial else self.protocol.protocol


def run(args: argparse.Namespace) -> int:
    """Lay the trial out and write it; 0 when done.

    Raises
    ------
    InputError
        When protocol, trial or options cannot be used, or the output cannot be written.
    """
    _check_options(args)
    if args.merge:
        from slackwater.analysis.commands.sheet_merge import run as merge

        return merge(args)
    if args.medium in BROWSED:
        from slackwater.analysis.commands.sheet_tablet import run as for_tablet

        source = _read(args.source)
        return for_tablet(args, source.protocol, source.trial)
    chosen = chosen_format(args, FORMATS)
    check_output(args.output, [args.source], replace=args.replace)
    source = _read(args.source)
    contents = lay_out(source.protocol, source.trial, args)
    if chosen == "xlsx" and args.output is None:
        raise refuse(
            "a workbook cannot go to the terminal", f"add --output {args.rows or 'runs'}.xlsx"
        )
    if args.rows == "ratings":
        raise refuse("--rows ratings goes with --merge", "people score on slips, or --for raters")
    if args.rows == "tries" or chosen in ("csv", "xlsx"):
        _write_table(contents, source.trial, chosen, args)
    else:
        text = _text(contents, source.trial, chosen)
        write(text, args.output, form=chosen, replace=args.replace)
    if source.trial and not source.trial.sessions and chosen != "text":
        complain("the trial lists no sessions yet; --format text gives them as its file takes them")
    return 0


def _check_options(args: argparse.Namespace) -> None:
    """Refuse options that do not go together."""
    if bool(args.merge) != bool(args.trial):
        raise refuse("--merge and --trial go together", "give both, or a PROTOCOL or TRIAL alone")
    if args.merge and (args.source or args.serve or args.medium):
        raise refuse(
            "--merge takes files and --trial, and nothing to lay out", "leave the rest out"
        )
    if not args.merge and not args.source:
        raise refuse("no protocol and no trial was given", "such as: slackwater sheet trial.yaml")
    if args.serve and args.medium not in BROWSED:
        raise refuse("--serve hands out a page for a tablet", "add --for tablet, or --for raters")
    if args.on and not args.serve:
        raise refuse("--on says where to serve", "add --serve, or leave it out")


def _text(contents: SheetContents, trial: Trial | None, chosen: str) -> str:
    if chosen == "html":
        from slackwater.analysis.report.sheet.page import render

        return render(contents)
    from slackwater.analysis.planning.order_comparison import compare_orders

    compared: tuple[Row, ...] = ()
    if any(reading.name == "speed_over_ground" for reading in contents.readings):
        compared = compare_orders(contents.schedule, contents.current)
    if chosen == "json":
        from slackwater.analysis.report.sheet.data import to_data
        from slackwater.analysis.wording.json_text import to_json

        return to_json(to_data(contents, compared))
    from slackwater.analysis.report.sheet.text import to_text

    return to_text(contents, compared, give_sessions=trial is None or not trial.sessions)


def _write_table(
    contents: SheetContents, trial: Trial | None, chosen: str, args: argparse.Namespace
) -> None:
    """The table of runs, or of tries, with the rows that are planned."""
    made = _prepared(contents, trial, args.rows)
    if chosen == "xlsx":
        write_bytes(made.xlsx(), args.output, replace=args.replace)
    elif chosen == "csv":
        write(made.csv(), args.output, form=chosen, replace=args.replace)
    else:
        raise refuse(
            f"the table of tries comes as CSV or as a workbook, not as {chosen}",
            "add --format csv; on paper it stands behind the runs of each session",
        )


def _prepared(contents: SheetContents, trial: Trial | None, which: str | None) -> Prepared:
    own = (trial.columns, trial.units) if trial else (None, None)
    if which == "tries":
        from slackwater.analysis.sheet import try_rows

        if not contents.manoeuvres:
            raise refuse(
                "the protocol has no manoeuvres, so there are no tries", "leave --rows tries out"
            )
        return try_rows.prepared(contents, *own)
    from slackwater.analysis.sheet import run_table

    return run_table.prepared(contents, run_table.headings(contents, *own))


def _read(reference: str) -> _Source:
    from slackwater.protocol.declared.protocol import load_protocol
    from slackwater.protocol.declared.trial import load_trial
    from slackwater.protocol.files.source import read_document
    from slackwater.protocol.library import shipped

    if reference in shipped() or not is_there(reference):
        return _Source(load_protocol(reference), None)
    data = read_document(reference).data
    if isinstance(data, dict) and "trial" in data:
        trial = load_trial(reference)
        return _Source(trial.protocol, trial)
    return _Source(load_protocol(Path(reference)), None)
