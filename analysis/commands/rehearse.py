"""Rehearse a protocol: a whole invented trial in a folder, marked as invented in every file."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import check_output, complain, seed, write
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("protocol", metavar="PROTOCOL", help="a protocol's id or its YAML file")
    parser.add_argument("--seed", metavar="N", type=seed, default=1, help="of everything invented")
    parser.add_argument(
        "--output", metavar="FOLDER", help="folder to be made; else rehearsal-ID beside you"
    )
    parser.add_argument(
        "--replace", action="store_true", help="write over files of an earlier rehearsal"
    )


def run(args: argparse.Namespace) -> int:
    """Invent a trial and write it; 0 when done.

    Raises
    ------
    InputError
        When the protocol cannot be used, or a file would be overwritten.
    """
    from slackwater.analysis.rehearsal.rehearsing import rehearse
    from slackwater.protocol.declared.protocol import load_protocol

    protocol = load_protocol(args.protocol)
    folder = Path(args.output or f"rehearsal-{protocol.protocol}")
    _make(folder)
    texts = rehearse(protocol, args.seed)
    texts["sheet.html"] = _sheet_page(protocol, args.seed)
    for name in texts:
        check_output(str(folder / name), [args.protocol], replace=args.replace)
    for name, text in texts.items():
        form = Path(name).suffix.lstrip(".")
        write(text, str(folder / name), form=form, replace=args.replace)
    complain(f"{folder}: INVENTED, for practice; begin with {folder / 'read-me-first.txt'}")
    return 0


def _make(folder: Path) -> None:
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        message = f"the folder '{folder}' cannot be made: {error.strerror or error}"
        fix = "give another one to --output; the folder it lies in has to be there"
        raise InputError([Finding("output-unwritable", Severity.ERROR, message, fix)]) from error


def _sheet_page(protocol: Protocol, seed: int) -> str:
    from slackwater.analysis.rehearsal.rehearsing import contents_of
    from slackwater.analysis.report.sheet.page import render

    return render(contents_of(protocol, seed))
