"""The same change on several boats, put together: the mean over boats like these, and the next one."""

from __future__ import annotations

import argparse

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)

FORMATS = ("text", "json", "html")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument(
        "trials",
        metavar="TRIAL",
        nargs="+",
        help="trials of the same change, or one pool file; YAML",
    )
    parser.add_argument(
        "--align",
        metavar="BY",
        help="what makes places on different boats the same: 'set points' (default), 'froude', "
        "'top speed'",
    )
    parser.add_argument(
        "--at", metavar="VALUES", help="Froude numbers, or parts of the top speed, as '0.4, 0.6'"
    )
    parser.add_argument("--heterogeneity", metavar="BY", help="'paule-mandel' (default) or 'reml'")
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Pool and write; 0 when done.

    Raises
    ------
    InputError
        When the pool cannot be read, no trial is left, or the output cannot be written.
    """
    check_output(args.output, args.trials, replace=args.replace)
    from slackwater.analysis.many.pooled_trials import pool_trials

    at = None if args.at is None else [each.strip() for each in args.at.split(",") if each.strip()]
    result = pool_trials(args.trials, align=args.align, at=at, heterogeneity=args.heterogeneity)
    chosen = chosen_format(args, FORMATS)
    if chosen == "json":
        text = result.to_json()
    else:
        text = result.to_html() if chosen == "html" else str(result)
    write(text, args.output, form=chosen, replace=args.replace)
    if args.output is not None:
        from slackwater.analysis.report.pool.text import answer

        write(answer(result), None)
    return 0
