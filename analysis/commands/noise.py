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
    parser.add_argument(
        "--by", metavar="KIND", help="also group by group: 'boat' (class), 'sea', 'season', 'crew'"
    )
    parser.add_argument(
        "--reference", metavar="BOAT", help="a boat left as she is: her control chart and precision"
    )
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Estimate and write; 0 when done.

    Raises
    ------
    InputError
        When a trial cannot be used, or gives nothing of the quantity.
    """
    check_output(args.output, args.trials, replace=args.replace)
    if args.by is not None or args.reference is not None:
        return _of_the_method(args)
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


def _of_the_method(args: argparse.Namespace) -> int:
    """Noise by groups, and the reference boat; 0 when done."""
    from slackwater.analysis.api import method

    more = {} if args.quantity is None else {"quantity": args.quantity}
    result = method(*args.trials, by=args.by, reference=args.reference, **more)
    chosen = chosen_format(args, FORMATS)
    if chosen == "yaml":
        from slackwater.analysis.report.noise.yaml_block import block

        text = block(result.plans.noise)
    else:
        text = result.to_json() if chosen == "json" else str(result)
    write(text, args.output, form=chosen, replace=args.replace)
    return 0
