"""Start a protocol, a trial or claims: commented YAML that passes its own check as it stands."""

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
from slackwater.protocol.files.reading import is_file
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial
    from slackwater.protocol.starting import Wanted

FORMATS = ("yaml", "json")
_ID = re.compile("[a-z0-9]+(-[a-z0-9]+)*")
#: What only one of the two kinds takes.
ONLY = {
    name: "protocol" for name in ("sessions", "set_points", "worthwhile", "speeds", "fuel_flows")
}
ONLY |= {"runs": "trial", "list": "protocol"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("kind", choices=("protocol", "trial", "claims"), help="what to start")
    parser.add_argument(
        "--from",
        dest="base",
        metavar="ID",
        help="protocol to start from or to run to, by id or file, else two-way-sweep; claims: the "
        "trial they are about, or a published table as CSV",
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
        "--speeds",
        metavar="LIST",
        help="protocol: expected at the set points, '8 kn, 14 kn, 19 kn'",
    )
    parser.add_argument(
        "--fuel-flows", metavar="LIST", help="protocol: expected there, as '12 L/h, 30 L/h, 55 L/h'"
    )
    parser.add_argument(
        "--list", action="store_true", default=None, help="protocol: the shipped ones to start from"
    )
    parser.add_argument(
        "--runs",
        metavar="FILE",
        nargs="?",
        const="runs.csv",
        help="trial: a table that is there, to propose the trial from; or the name of an empty one "
        "to be written beside it, else runs.csv",
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
    from slackwater.protocol.starting import new_protocol
    from slackwater.protocol.starting_trial import headings, new_trial

    if args.kind == "claims":
        return _claims(args)
    wanted = _wanted(args)
    if args.list:
        chosen = chosen_format(args, FORMATS)
        text = _listed(chosen == "json")
        write(text, args.output, form=chosen, replace=args.replace)
        return 0
    path = Path(args.output or f"{args.kind}.yaml")
    check_output(args.output, replace=args.replace)
    there = _there(args, path)
    table = path.parent / wanted.runs if args.runs and there is None else None
    check_output(str(table) if table else None, replace=args.replace)
    base = load_protocol(args.base or "two-way-sweep")
    notes: tuple[str, ...] = ()
    if args.kind == "protocol":
        made: Protocol | Trial = new_protocol(base, wanted, path)
    elif there is not None:
        from slackwater.analysis.intake.proposing import propose

        seen, notes = propose(there, base)
        made = new_trial(base, _beside(wanted, there, path), path, seen)
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
    for note in notes:
        complain(f"{there}: {note}")
    _advise(made)
    return 0


#: What a file of claims takes besides what it starts from.
OF_CLAIMS = ("kind", "base", "output", "format", "replace", "trace")


def _claims(args: argparse.Namespace) -> int:
    """Start a file of claims; 0 when done."""
    for name, value in vars(args).items():
        if name not in OF_CLAIMS and isinstance(value, (str, bool)) and value and name != "command":
            raise _refuse(
                f"--{name.replace('_', '-')} does not belong to claims", "leave it out; see --from"
            )
    from slackwater.analysis.commands.new_claims import started
    from slackwater.protocol.claims.claims_file import build_claims
    from slackwater.protocol.starting import document_from

    check_output(args.output, [args.base] if args.base else [], replace=args.replace)
    path = Path(args.output or "claims.yaml")
    text = started(args.base, path)
    chosen = chosen_format(args, FORMATS)
    document = document_from(text, path)
    _, findings = build_claims(document)
    for finding in findings:
        complain(finding.render())
    if chosen == "json":
        from slackwater.analysis.wording.json_text import to_json

        text = to_json(document.data)
    write(text, args.output, form=chosen, replace=args.replace)
    return 0


def _listed(as_json: bool) -> str:
    """The protocols shipped, each with what it is for."""
    from slackwater.protocol.declared.protocol import load_protocol
    from slackwater.protocol.library import shipped

    titles = {name: load_protocol(name).title for name in shipped()}
    if as_json:
        from slackwater.analysis.wording.json_text import to_json

        return to_json({"protocols": [{"id": n, "title": title} for n, title in titles.items()]})
    width = max(map(len, titles))
    lines = [f"{name:<{width}}  {title}" for name, title in titles.items()]
    return "\n".join([*lines, "", "slackwater new protocol --from ID starts from one of them", ""])


def _there(args: argparse.Namespace, path: Path) -> Path | None:
    """The table of runs that is there already; None where an empty one is to be written, or none."""
    named = [Path(args.runs), path.parent / args.runs] if args.runs else []
    return next((each for each in named if is_file(each) and each.stat().st_size), None)


def _beside(wanted: Wanted, table: Path, path: Path) -> Wanted:
    """The same, with the table named from the folder of the trial."""
    import os
    from dataclasses import replace

    return replace(wanted, runs=Path(os.path.relpath(table, path.parent)).as_posix())


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
    path = Path(args.output or f"{args.kind}.yaml")
    if args.runs and _there(args, path) is None and not args.runs.lower().endswith(".csv"):
        raise _refuse(
            f"--runs: there is no table in '{args.runs}', and it is no name of a CSV file to be written",
            "name a table that is there, or one to be written that ends in .csv",
        )
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
        speeds=args.speeds or "",
        flows=args.fuel_flows or "",
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
