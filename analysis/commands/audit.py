"""Audit published claims: against themselves, against noise, and against the trial behind them."""

from __future__ import annotations

import argparse

from slackwater.analysis.commands import letters
from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)

FORMATS = ("text", "json", "html", "csv", "docx")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument(
        "claims",
        metavar="CLAIMS",
        nargs="?",
        help="the claims' YAML file, or a published table as CSV",
    )
    parser.add_argument(
        "--list", action="store_true", help="the quantities, units and wordings that are read"
    )
    noise = parser.add_argument_group("noise, where the runs are not at hand")
    noise.add_argument("--noise", metavar="FILE", help="as 'slackwater noise' writes it")
    noise.add_argument(
        "--between", metavar="SD", help="between sessions, as '0.6 %%' or '0.4 to 1 %%'"
    )
    parser.add_argument(
        "--pool", metavar="FILE", help="a pool file: hold the claims against several boats together"
    )
    table = parser.add_argument_group("a published table")
    table.add_argument("--to-claims", metavar="FILE", help="write the claims of a table as YAML")
    table.add_argument("--quantity", default="", help="what the table is of, such as speed")
    table.add_argument("--baseline", default="", metavar="NAME", help="the configuration before")
    table.add_argument("--modified", default="", metavar="NAME", help="the one with the change")
    letters.add_arguments(parser)
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Audit and write; 0 when every claim is upheld, 1 when any is not; a letter is done when written.

    Raises
    ------
    InputError
        When the claims or what they name cannot be used, or the output cannot be written.
    """
    if args.list or args.claims is None:
        return _list(args)
    letters.refuse_unfit(args)
    inputs = [name for name in (args.claims, args.noise, args.reply, args.pool) if name is not None]
    check_output(args.reply_form, inputs, replace=args.replace)
    check_output(args.output, inputs, replace=args.replace)
    check_output(args.to_claims, inputs, replace=args.replace)
    from slackwater.analysis.api import audit
    from slackwater.analysis.intake.readers import by_suffix
    from slackwater.protocol.claims.claims_file import read_claims

    if by_suffix(args.claims) is not None:
        from slackwater.analysis.intake.claims_table import claims_yaml, read_claims_table

        claims = read_claims_table(
            args.claims, quantity=args.quantity, baseline=args.baseline, modified=args.modified
        )
        if args.to_claims is not None:
            write(claims_yaml(claims), args.to_claims, replace=args.replace)
            return 0
    else:
        _refuse_table_options(args)
        claims = read_claims(args.claims)
    result = audit(claims, noise=args.noise, between=args.between, reply=args.reply, pool=args.pool)
    if args.letter:
        letters.write_letter(result, args)
        return 0
    chosen = chosen_format(args, FORMATS)
    if chosen == "json":
        text = result.to_json()
    elif chosen == "html":
        text = result.to_html()
    elif chosen == "csv":
        text = result.to_csv()
    else:
        text = str(result)
    write(text, args.output, form=chosen, replace=args.replace)
    if args.output is not None:
        from slackwater.analysis.report.audit.words import seals, summary

        write("\n".join([*seals(result), summary(result)]) + "\n", None)
    return 0 if result.upheld else 1


def _list(args: argparse.Namespace) -> int:
    """Write what may be written in claims; 0 when done."""
    from slackwater.protocol.findings import Finding, InputError, Severity

    if not args.list:
        message, fix = "no claims are named", "name a file of claims, or a published table as CSV"
        fix += "; 'slackwater new claims' starts one, and --list shows what may stand in it"
        raise InputError([Finding("unfit-option", Severity.ERROR, message, fix)])
    from slackwater.analysis.audit.readable import as_data, as_text
    from slackwater.analysis.wording.json_text import to_json

    check_output(args.output, replace=args.replace)
    chosen = "json" if chosen_format(args, FORMATS) == "json" else "text"
    text = to_json(as_data()) if chosen == "json" else as_text()
    write(text, args.output, form=chosen, replace=args.replace)
    return 0


def _refuse_table_options(args: argparse.Namespace) -> None:
    named = [
        option
        for option, value in (
            ("--to-claims", args.to_claims),
            ("--quantity", args.quantity),
            ("--baseline", args.baseline),
            ("--modified", args.modified),
        )
        if value
    ]
    if named:
        from slackwater.protocol.findings import Finding, InputError, Place, Severity

        message = f"{named[0]} goes with a published table, and this is not one"
        fix = "give a table ending in .csv or .tsv, or leave the option away"
        raise InputError(
            [Finding("unfit-option", Severity.ERROR, message, fix, Place(str(args.claims)))]
        )
