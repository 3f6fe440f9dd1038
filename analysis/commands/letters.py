"""`audit --letter`: the letter to the author and the form that goes with it."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import chosen_format, complain, write, write_bytes
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.analysis.audit.outcome import AuditResult

FORMATS = ("text", "html", "docx")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what a letter takes to the command that audits."""
    group = parser.add_argument_group("the letter to the author")
    group.add_argument(
        "--letter",
        action="store_true",
        help="write a letter that says what was found and asks for the rest: text, .html or .docx",
    )
    group.add_argument(
        "--reply-form", metavar="FILE", help="with --letter: the form alone, to go along with it"
    )
    group.add_argument("--reply", metavar="FILE", help="the form as the author sent it back")


def refuse_unfit(args: argparse.Namespace) -> None:
    """Refuse what does not go together, before any work is done.

    Raises
    ------
    InputError
    """
    if args.reply_form and not args.letter:
        raise _unfit("--reply-form goes with --letter", "add --letter")
    if args.letter and args.format not in (None, *FORMATS):
        raise _unfit(
            f"a letter is not written as {args.format}", f"take one of {', '.join(FORMATS)}"
        )
    if not args.letter and args.format == "docx":
        raise _unfit("only a letter is written as docx", "add --letter, or take html")
    if args.letter and _chosen(args) == "docx":
        _need_document(args)


def _chosen(args: argparse.Namespace) -> str:
    named = not args.format and str(args.output or "").lower().endswith(".docx")
    return "docx" if named else chosen_format(args, FORMATS)


def _need_document(args: argparse.Namespace) -> None:
    from importlib.util import find_spec

    if args.output is None:
        raise _unfit("a document goes into a file", "add --output FILE")
    if find_spec("docx") is None:
        raise _unfit(
            "documents cannot be written here: python-docx is not installed",
            "pip install 'slackwater[docx]', or take .html",
        )


def _unfit(message: str, fix: str) -> InputError:
    return InputError([Finding("option-unfit", Severity.ERROR, message, fix)])


def write_letter(result: AuditResult, args: argparse.Namespace) -> None:
    """Write the letter, and the form where it is asked for.

    Raises
    ------
    InputError
        When either cannot be written.
    """
    from slackwater.analysis.audit.letter import letter

    made = letter(result)
    chosen = _chosen(args)
    if chosen == "docx":
        from slackwater.analysis.report.letter.document import render as document

        write_bytes(document(made), args.output, replace=args.replace)
    elif chosen == "html":
        from slackwater.analysis.report.letter.html import render as page

        write(page(made), args.output, form=chosen, replace=args.replace)
    else:
        from slackwater.analysis.report.letter.text import render as text

        write(text(made), args.output, replace=args.replace)
    if not made.asked:
        complain("nothing is left to ask, so the letter has no form")
    elif args.reply_form:
        write(made.form, args.reply_form, form="yaml", replace=args.replace)
