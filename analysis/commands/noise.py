"""The noise of past trials: what it is made of, and the block that a protocol takes in."""

from __future__ import annotations

import argparse

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)

FORMATS = ("text", "json", "yaml")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("trials", metavar="TRIAL", nargs="+", help="past trials, YAML")
    parser.add_argument("--quantity", metavar="NAME", help="this one alone, as 'speed'")
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Estimate and write; 0 when done.

    Raises
    ------
    InputError
        When a trial cannot be used, or gives nothing of the quantity.
    """
    check_output(args.output, args.trials, replace=args.replace)
    from slackwater.analysis.api import noise

    result = noise(*args.trials, quantity=args.quantity)
    chosen = chosen_format(args, FORMATS)
    if chosen == "json":
        text = result.to_json()
    elif chosen == "yaml":
        from slackwater.analysis.report.noise.yaml_block import block

        text = block(result)
    else:
        text = str(result)
    write(text, args.output, form=chosen, replace=args.replace)
    return 0
