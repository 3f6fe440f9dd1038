"""Analyse a trial: its runs, corrected for current, compared session by session, with a verdict."""

from __future__ import annotations

import argparse
import sys

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)

FORMATS = ("text", "json", "html")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("trial", metavar="TRIAL", help="the trial's YAML file")
    parser.add_argument(
        "--cross-check",
        action="store_true",
        help="also put the session values through statsmodels' mixed model and pingouin's t-test",
    )
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Analyse and write; 0 when done.

    Raises
    ------
    InputError
        When the trial cannot be used or the output cannot be written.
    """
    check_output(args.output, [args.trial], replace=args.replace)
    from slackwater.analysis.api import analyse

    result = analyse(args.trial, cross_check=args.cross_check)
    chosen = chosen_format(args, FORMATS)
    if chosen == "json":
        text = result.to_json()
    elif chosen == "html":
        text = result.to_html()
    elif args.output is None:
        from slackwater.analysis.report.trial.terminal import render_for

        text = render_for(result, sys.stdout)
    else:
        text = str(result)
    write(text, args.output, form=chosen, replace=args.replace)
    if args.output is not None:
        # The report is in the file; the answer is what whoever typed the command waits for.
        from slackwater.analysis.report.trial.terminal import render_answer

        write(render_answer(result), None)
    return 0
