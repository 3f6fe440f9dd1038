"""Look over protocols and trials: faults, methods that cannot work, trials not run as declared."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    complain,
    shown,
    write,
)
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.analysis.checking.check_result import CheckResult

FORMATS = ("text", "json", "html", "sarif")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("files", metavar="FILE", nargs="+", help="protocols and trials, YAML")
    parser.add_argument(
        "--since",
        metavar="OLD",
        help="FILE is the newer version of this protocol: what changed, which way, and whether the "
        "trials named after it satisfy it",
    )
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Check and write; 0 clean or with advice only, 1 with errors or warnings, 2 unreadable.

    Raises
    ------
    InputError
        When the output cannot be written.
    """
    since = [args.since] if args.since else []
    check_output(args.output, [*args.files, *since], replace=args.replace)
    if since:
        return _since(args)
    from slackwater.analysis.api import check

    result = check(*args.files)
    chosen = "sarif" if _is_sarif(args) else chosen_format(args, FORMATS)
    if chosen == "text":
        write(shown(str(result)), args.output, replace=args.replace)
        if args.output is not None:
            from slackwater.analysis.report.check import count

            complain(count(result))
    elif chosen == "sarif":
        write(_sarif(result), args.output, form=chosen, replace=args.replace)
    elif chosen == "html":
        write(result.to_html(), args.output, form=chosen, replace=args.replace)
    else:
        write(result.to_json(), args.output, form=chosen, replace=args.replace)
    if not result.usable:
        return 2
    return int(not result.clean)


def _since(args: argparse.Namespace) -> int:
    """Hold two versions against each other; 0, or 1 when a trial does not satisfy the newer."""
    from slackwater.analysis.api import since

    chosen = chosen_format(args, ("text", "json"))
    if chosen not in ("text", "json") or _is_sarif(args):
        message = "two versions held against each other are written as text or JSON"
        fix = "leave --format out, or write --format json"
        raise InputError([Finding("option-unfit", Severity.ERROR, message, fix)])
    result = since(args.files[0], args.since, *args.files[1:])
    text = result.to_json() if chosen == "json" else shown(str(result))
    write(text, args.output, form=chosen, replace=args.replace)
    return int(not all(each.satisfies for each in result.trials))


def _is_sarif(args: argparse.Namespace) -> bool:
    return not args.format and str(args.output or "").lower().endswith(".sarif")


def _sarif(result: CheckResult) -> str:
    from slackwater.analysis.checking.fault_words import ALL_FAULTS
    from slackwater.analysis.checking.registry import all_rules
    from slackwater.analysis.checking.sarif import sarif_log
    from slackwater.analysis.wording.json_text import to_json

    return to_json(sarif_log(result.checked, all_rules(), ALL_FAULTS))
