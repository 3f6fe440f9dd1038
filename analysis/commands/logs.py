"""What instruments wrote: sources, spans, rates, gaps, and what could not be read."""

from __future__ import annotations

import argparse

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)
from slackwater.protocol.findings import Finding, InputError, Severity

FORMATS = ("text", "json", "html")
CUT_FORMATS = ("text", "json", "csv", "html")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument(
        "logs",
        metavar="LOG",
        nargs="*",
        help="a log as the instrument or logger wrote it; with --trial by default those that it names",
    )
    parser.add_argument(
        "--trial",
        metavar="TRIAL",
        help="cut this trial's runs; FILE ending in .csv is its run table",
    )
    parser.add_argument(
        "--tries",
        action="store_true",
        help="with --trial, find the tries of its manoeuvres in place of its runs; FILE ending in .csv is "
        "their table",
    )
    parser.add_argument(
        "--plan",
        metavar="FILE",
        help="the prepared table (slackwater sheet), for the order of runs that no engine speed tells",
    )
    parser.add_argument(
        "--source",
        metavar="QUANTITY=SOURCE",
        action="append",
        default=[],
        help="take a quantity from this source; once for each of several engines",
    )
    parser.add_argument(
        "--ahead-of-utc",
        metavar="HH:MM",
        help="by which the trial's clock is ahead (-HH:MM behind)",
    )
    add_output_arguments(parser, CUT_FORMATS)


def run(args: argparse.Namespace) -> int:
    """Read and tell; 0 when done.

    Raises
    ------
    InputError
        When a log cannot be used.
    """
    check_output(args.output, args.logs, replace=args.replace)
    if args.trial and args.tries:
        from slackwater.analysis.commands.logs_tries import run as find

        return find(args)
    if args.trial:
        from slackwater.analysis.commands.logs_cut import run as cut

        return cut(args)
    _stop_without_trial(args)
    if not args.logs:
        message = "no log is given, and no trial that names any"
        fix = "give the logs, or --trial TRIAL with 'logs:' in it"
        raise InputError([Finding("option-unfit", Severity.ERROR, message, fix)])
    from slackwater.analysis.api import logs

    result = logs(*args.logs)
    chosen = chosen_format(args, FORMATS)
    forms = {"json": result.to_json, "html": result.to_html, "text": result.__str__}
    text = forms[chosen]()
    write(text, args.output, form=chosen, replace=args.replace)
    return 0


def _stop_without_trial(args: argparse.Namespace) -> None:
    """Refuse what says how runs are cut where none are."""
    given = {
        "--tries": args.tries,
        "--plan": args.plan,
        "--source": args.source,
        "--ahead-of-utc": args.ahead_of_utc,
        "--format csv": args.format == "csv",
    }
    for option, there in given.items():
        if there:
            message = f"{option} goes with --trial: without a trial nothing is cut"
            fix = "add --trial TRIAL, or leave it out"
            raise InputError([Finding("option-unfit", Severity.ERROR, message, fix)])
