"""Where output goes: to standard output or to a file, never over an input."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from slackwater.analysis.commands.writing import (
    check_target,
    overwrites,
    refusal,
    write_added_to,
    write_whole,
)
from slackwater.analysis.wording.characters import encodable, printable, utf_8
from slackwater.protocol.findings import Finding, InputError

MOST_SEED = 2**32 - 1

_SUFFIXES = {
    ".html": "html",
    ".htm": "html",
    ".json": "json",
    ".csv": "csv",
    ".xlsx": "xlsx",
    ".txt": "text",
    ".md": "text",
    ".docx": "docx",
    ".yaml": "yaml",
    ".yml": "yaml",
    ".pdf": "pdf",
}
#: Endings that promise a kind of file: no text is written under them.
_PROMISING = {
    *(".html", ".htm", ".json", ".csv", ".xlsx", ".pdf", ".docx", ".doc", ".odt", ".rtf", ".xls"),
    *(".ods", ".parquet", ".png", ".svg", ".jpg", ".jpeg", ".tex", ".zip"),
}


_TABLES = (".csv", ".xlsx", ".parquet")


def add_output_arguments(parser: argparse.ArgumentParser, formats: Sequence[str]) -> None:
    """Add `--format` and `--output`; the first format is the one without either."""
    parser.add_argument(
        "--format",
        choices=formats,
        help=f"{', '.join(formats)}; else the ending of FILE decides, else {formats[0]}",
    )
    parser.add_argument("--output", metavar="FILE", help="write to FILE instead of standard output")
    parser.add_argument(
        "--replace", action="store_true", help="lose what FILE holds, whoever wrote it"
    )


def seed(text: str) -> int:
    """A seed as it is given to `--seed`."""
    if not text.isdecimal() or not text.isascii() or int(text[:10]) > MOST_SEED or len(text) > 10:
        raise argparse.ArgumentTypeError(
            f"{shown(text[:20])!r} is no seed; a whole number from 0 to {MOST_SEED}"
        )
    return int(text)


def chosen_format(args: argparse.Namespace, formats: Sequence[str]) -> str:
    """The format asked for, or the one that the ending of the output file stands for.

    Raises
    ------
    InputError
        Where the ending stands for a kind of file that the command does not write.
    """
    if args.format:
        return str(args.format)
    output = Path(args.output or "")
    ending = output.suffix.lower()
    by_ending = _SUFFIXES.get(ending, formats[0])
    if by_ending in formats and (ending in _SUFFIXES or ending not in _PROMISING):
        return by_ending
    # A table that is there already may be one that is read: that is found out, and said, later.
    if ending in _PROMISING and not (ending in _TABLES and output.exists()):
        raise refusal(
            "output-kind-not-written",
            output,
            f"this command writes no {ending} file; it writes {', '.join(formats)}",
            "give a file with another ending, or say with --format what is to stand in it",
        )
    return formats[0]


def check_output(
    output: str | None, inputs: Iterable[str | Path] = (), *, replace: bool = False
) -> None:
    """Refuse, before any work is done, a file that will not be written.

    What is read later, and what that names in turn, is kept off by `write` itself.

    Parameters
    ----------
    output : str or None
        As given to `--output`.
    inputs : iterable of paths
        Files that are about to be read.
    replace : bool
        As given by `--replace`: what somebody else wrote may be lost.

    Raises
    ------
    InputError
    """
    if output is None:
        return
    path = Path(output)
    if any(_same(path, Path(each)) for each in inputs):
        raise overwrites(path)
    check_target(path, replace)


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except (OSError, ValueError):
        return False


def write(text: str, output: str | None, *, form: str = "text", replace: bool = False) -> None:
    """Write to the file, as UTF-8, and say so on standard error; or to standard output.

    Parameters
    ----------
    output : str or None
        As given to `--output`; None for standard output.
    form : str
        As `chosen_format` gives it. Only text for people is put into the terminal's encoding;
        what programs read is UTF-8 everywhere.
    replace : bool
        As given by `--replace`.

    Raises
    ------
    InputError
        When it cannot be written.
    """
    if output is not None:
        write_bytes(utf_8(text), output, replace=replace)
    elif form == "text":
        _to_standard_output(text)
    else:
        _to_standard_output(utf_8(text))


def write_bytes(data: bytes, output: str, *, replace: bool = False) -> None:
    """Write to the file as it is, whole or not at all, and say so on standard error.

    Raises
    ------
    InputError
        When the file cannot be written.
    """
    write_whole(data, Path(output), replace)
    complain(f"wrote {output}")


def write_added(text: str, target: Path, before: bytes | None) -> None:
    """Write a file anew that was read and added to, and say so on standard error.

    Raises
    ------
    InputError
        When it has changed since it was read, or cannot be written.
    """
    write_added_to(utf_8(text), target, before)
    complain(f"wrote {target}")


def _to_standard_output(content: str | bytes) -> None:
    out = sys.stdout
    if out is None:
        raise _closed("it is closed")
    try:
        if isinstance(content, str):
            out.write(encodable(content, out.encoding))
        elif (raw := getattr(out, "buffer", None)) is not None:
            out.flush()
            raw.write(content)
        else:
            out.write(content.decode("utf-8"))
        out.flush()
    except BrokenPipeError:
        raise
    except (OSError, ValueError) as error:
        raise _closed(getattr(error, "strerror", None) or str(error)) from error


def _closed(why: str) -> InputError:
    return refusal(
        "output-not-writable",
        "standard output",
        f"cannot be written: {why}",
        "look at where it is sent to, or give a file to --output",
    )


def complain(text: str) -> None:
    """Say something on standard error; a reader that has left is no matter."""
    import contextlib

    with contextlib.suppress(OSError, ValueError):
        if sys.stderr is not None:
            print(encodable(shown(text), sys.stderr.encoding), file=sys.stderr)


def shown(text: str) -> str:
    """The text with control characters made visible, its lines and indents kept.

    Carets point at columns, so that tabs stay where they stand before one.
    """
    lines = []
    for line in text.split("\n"):
        bare = line.lstrip(" \t")
        lines.append(line[: len(line) - len(bare)] + printable(bare))
    return "\n".join(lines)


def summary(findings: Sequence[Finding]) -> str:
    """The line that counts: "2 errors, 1 warning"."""
    from slackwater.analysis.wording.words import severities

    return severities(findings) or "nothing found"
