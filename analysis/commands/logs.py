"""What instruments wrote: sources, spans, rates, gaps, and what could not be read."""

from __future__ import annotations

import argparse

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)

FORMATS = ("text", "json")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument(
        "logs",
        metavar="LOG",
        nargs="+",
        help="a log as the instrument or logger wrote it; its form is seen from its content",
    )
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Read and tell; 0 when done.

    Raises
    ------
    InputError
        When a log cannot be used.
    """
    check_output(args.output, args.logs, replace=args.replace)
    from slackwater.analysis.api import logs

    result = logs(*args.logs)
    chosen = chosen_format(args, FORMATS)
    text = result.to_json() if chosen == "json" else str(result)
    write(text, args.output, form=chosen, replace=args.replace)
    return 0
