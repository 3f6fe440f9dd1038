"""Start a protocol or a trial: commented YAML that passes its own check as it stands."""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    complain,
    write,
)
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial
    from slackwater.protocol.starting import Wanted

FORMATS = ("yaml", "json")
_ID = re.compile("[a-z0-9]+(-[a-z0-9]+)*")
#: What only one of the two kinds takes.
ONLY = {"sessions": "protocol", "set_points": "protocol", "worthwhile": "protocol", "runs": "trial"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("kind", choices=("protocol", "trial"), help="what to start")
    parser.add_argument(
        "--from",
        dest="base",
        metavar="ID",
        default="two-way-sweep",
        help="protocol to start from or to run to, by id or file; else two-way-sweep",
    )
    parser.add_argument("--id", metavar="NAME", help="small letters, digits and hyphens")
    parser.add_argument("--title", metavar="TEXT", help="what it is for, in a sentence")
    parser.add_argument(
        "--configurations", metavar="A,B", help="names, the baseline first, such as bare,fitted"
    )
    parser.add_argument(
        "--sessions", metavar="N", help="protocol: sessions with each configuration"
    )
    parser.add_argument(
        "--set-points", metavar="LIST", help="protocol: such as '1000 rpm, 1500 rpm, 2000 rpm'"
    )
    parser.add_argument(
        "--worthwhile", metavar="LIST", help="protocol: such as 'speed=1 %%, economy=3 %%'"
    )
    parser.add_argument(
        "--runs",
        metavar="FILE",
        nargs="?",
        const="runs.csv",
        help="trial: write an empty table of runs too, beside the trial; else runs.csv",
    )
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Make the file and write it; 0 when done.

    Raises
    ------
    InputError
        When something asked for does not fit, or a file would be overwritten.
    """
    from slackwater.protocol.declared.protocol import load_protocol
    from slackwater.protocol.starting import headings, new_protocol, new_trial

    wanted = _wanted(args)
    path = Path(args.output or f"{args.kind}.yaml")
    check_output(args.output, replace=args.replace)
    table = path.parent / wanted.runs if args.runs else None
    check_output(str(table) if table else None, replace=args.replace)
    base = load_protocol(args.base)
    if args.kind == "protocol":
        made: Protocol | Trial = new_protocol(base, wanted, path)
    else:
        made = new_trial(base, wanted, path)
    text = made.document.text
    chosen = chosen_format(args, FORMATS)
    if chosen == "json":
        from slackwater.analysis.wording.json_text import to_json

        text = to_json(made.document.data)
    write(text, args.output, form=chosen, replace=args.replace)
    if table is not None:
        write(",".join(headings(base)) + "\n", str(table), replace=args.replace)
    _advise(made)
    return 0


def _wanted(args: argparse.Namespace) -> Wanted:
    from slackwater.protocol.starting import Wanted

    for name, kind in ONLY.items():
        if getattr(args, name) is not None and args.kind != kind:
            option = f"--{name.replace('_', '-')}"
            raise _refuse(
                f"{option} belongs to a {kind}",
                f"write 'slackwater new {kind} {option} ...', then start the {args.kind} from it"
                if kind == "protocol"
                else "leave it out",
            )
    names = tuple(part.strip() for part in (args.configurations or "").split(",") if part.strip())
    if args.configurations is not None and (len(names) < 2 or len(set(names)) < len(names)):
        raise _refuse(
            f"--configurations: '{args.configurations}' does not name two or more",
            "write them with commas, the baseline first: bare,fitted",
        )
    if args.runs is not None and not args.runs.lower().endswith(".csv"):
        raise _refuse(f"--runs: '{args.runs}' is no name of a CSV file", "end it in .csv")
    sessions = None
    if args.sessions is not None:
        if not str(args.sessions).strip().isdecimal():
            raise _refuse(f"--sessions: '{args.sessions}' is no count", "give a whole number")
        sessions = int(str(args.sessions).strip()[:6])
    stem = Path(args.output or "").stem
    return Wanted(
        id=args.id if args.id is not None else stem if _ID.fullmatch(stem) else f"my-{args.kind}",
        title=args.title or "",
        configurations=names,
        sessions=sessions,
        set_points=args.set_points or "",
        worthwhile=args.worthwhile or "",
        runs=args.runs or "runs.csv",
    )


def _refuse(message: str, fix: str) -> InputError:
    return InputError([Finding("option-unfit", Severity.ERROR, message, fix)])


def _advise(made: Protocol | Trial) -> None:
    """What the check will say of it, when what was asked for does not go together."""
    from slackwater.analysis.checking.applying import check_method, check_protocol, deviations
    from slackwater.protocol.declared.protocol import Protocol

    checked = (
        check_protocol(made)
        if isinstance(made, Protocol)
        else check_method(made) + deviations(made)
    )
    for finding in checked.findings:
        complain(finding.render())
