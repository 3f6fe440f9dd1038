"""The noise of past trials: what it is made of, and the block that a protocol takes in."""

from __future__ import annotations

import argparse

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)
from slackwater.protocol.findings import Finding, InputError, Place, Severity

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
    check_output(args.output, args.trials)
    from slackwater.analysis.pipeline import compute
    from slackwater.analysis.planning.noise_budget import budgets
    from slackwater.protocol.declared.trial import load_trial

    wrong: list[Finding] = []
    trials = []
    for file in args.trials:
        try:
            trials.append(compute(load_trial(file)))
        except InputError as error:
            wrong += error.findings
    if wrong:
        raise InputError(wrong)
    found = budgets(trials, args.quantity)
    if not found:
        known = [budget.quantity for budget in budgets(trials)]
        raise InputError(
            [
                Finding(
                    "unknown-quantity",
                    Severity.ERROR,
                    f"the trials give nothing of {args.quantity or 'any quantity'}",
                    f"they give {', '.join(known)}" if known else "see what the runs measure",
                    Place("--quantity" if args.quantity else args.trials[0]),
                )
            ]
        )
    names = [each.trial.trial for each in trials]
    chosen = chosen_format(args, FORMATS)
    if chosen == "json":
        from slackwater.analysis.report.noise.data import noise_dict
        from slackwater.analysis.result.json_text import to_json

        text = to_json(noise_dict(found, names))
    elif chosen == "yaml":
        from slackwater.analysis.report.noise.yaml_block import block

        text = block(found, names)
    else:
        from slackwater.analysis.report.noise.text import render

        text = render(found, names)
    write(text, args.output)
    return 0
