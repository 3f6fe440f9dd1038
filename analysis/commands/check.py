"""Look over protocols and trials: every fault of a file at once, with its place and its mend."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    summary,
    write,
)
from slackwater.protocol.findings import Finding, InputError, Place, Severity

FORMATS = ("text", "json")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("files", metavar="FILE", nargs="+", help="protocols and trials, YAML")
    add_output_arguments(parser, FORMATS)


def examine(file: str) -> Iterator[Finding]:
    """What is wrong with a file; nothing when all is well.

    Raises
    ------
    InputError
        When the file cannot be read, or is neither a protocol nor a trial.
    """
    from slackwater.protocol.source import read_document

    document = read_document(file)
    keys = list(document.data) if isinstance(document.data, dict) else []
    try:
        # A trial names its protocol too, so the key `trial` decides.
        if "trial" in keys and "claims" not in keys:
            from slackwater.protocol.trial import load_trial

            load_trial(file)
        elif "protocol" in keys:
            from slackwater.protocol.model import load_protocol

            load_protocol(file)
        else:
            raise _neither(file)
    except InputError as error:
        if error.findings and error.findings[0].rule == "unknown-document":
            raise
        yield from error.findings


def _neither(file: str) -> InputError:
    return InputError(
        [
            Finding(
                "unknown-document",
                Severity.ERROR,
                "this is neither a protocol nor a trial: it has no key 'protocol' and no key "
                "'trial' at the top",
                "begin the file with 'protocol: NAME' or with 'trial: NAME'",
                Place(file, 1, 1),
            )
        ]
    )


def run(args: argparse.Namespace) -> int:
    """Check and write; 0 clean or with advice only, 1 with errors or warnings, 2 unreadable."""
    check_output(args.output, args.files)
    found: list[Finding] = []
    unusable = False
    for file in args.files:
        try:
            found += examine(file)
        except InputError as error:
            unusable = True
            found += error.findings
    if chosen_format(args, FORMATS) == "json":
        from slackwater.analysis.report.machine import to_json

        write(to_json({"schema": 1, "findings": [each.to_dict() for each in found]}), args.output)
    else:
        _write_text(found, args)
    if unusable:
        return 2
    return int(any(each.severity is not Severity.ADVICE for each in found))


def _write_text(found: list[Finding], args: argparse.Namespace) -> None:
    from slackwater.analysis.commands.output import shown

    files = len(args.files)
    counted = f"{summary(found)} in {files} file{'' if files == 1 else 's'}"
    text = "\n".join([*(each.render() for each in found), counted]) + "\n"
    write(shown(text), args.output)
    if args.output is not None and found:
        print(counted, file=sys.stderr)
