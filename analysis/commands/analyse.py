"""Analyse a trial: its runs, corrected for current, compared session by session, with a verdict."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
    write_bytes,
)
from slackwater.analysis.commands.writing import refusal

if TYPE_CHECKING:
    from slackwater.analysis.result.result import Result

FORMATS = ("text", "json", "html", "pdf")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("trial", metavar="TRIAL", help="the trial's YAML file")
    parser.add_argument(
        "--full",
        action="store_true",
        help="tell every figure, the noise, the current, the runs and the method (a text in a file does)",
    )
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
    chosen = chosen_format(args, FORMATS)
    if chosen == "pdf":
        _check_pdf(args.output)
    from slackwater.analysis.api import analyse

    result = analyse(args.trial, cross_check=args.cross_check)
    if chosen == "pdf":
        _write_pdf(result, args.output, args.replace)
    else:
        write(_text(result, chosen, args), args.output, form=chosen, replace=args.replace)
    if args.output is not None:
        # The report is in the file; the answer is what whoever typed the command waits for.
        from slackwater.analysis.report.trial.terminal import render_answer

        write(render_answer(result), None)
    return 0


def _text(result: Result, chosen: str, args: argparse.Namespace) -> str:
    if chosen == "json":
        return result.to_json()
    if chosen == "html":
        return result.to_html()
    from slackwater.analysis.report.trial.terminal import render, render_for

    # A file is what is kept, so that the text in it is whole; the cross-check is asked for to be seen.
    full = args.full or args.cross_check
    return (
        render_for(result, sys.stdout, full=full)
        if args.output is None
        else render(result, full=True)
    )


def _check_pdf(output: str | None) -> None:
    """Refuse a PDF before the work is done for which there is no file, or no browser."""
    from slackwater.analysis.report.pdf import browser

    if output is None:
        raise refusal(
            "output-not-a-file",
            Path("standard output"),
            "a PDF is written to a file",
            "add --output report.pdf",
        )
    if browser() is None:
        raise _no_pdf(output, "a PDF is printed by Chromium, and there is none on this machine")


def _no_pdf(output: str, why: str) -> Exception:
    return refusal(
        "pdf-needs-a-browser",
        Path(output),
        why,
        "install Chromium (on Debian: apt install chromium), or write report.html and print that "
        "page from any browser",
    )


def _write_pdf(result: Result, output: str, replace: bool) -> None:
    from slackwater.analysis.report.pdf import NoPdf, printed

    try:
        data = printed(result.to_html())
    except NoPdf as error:
        raise _no_pdf(output, str(error)) from error
    write_bytes(data, output, replace=replace)
