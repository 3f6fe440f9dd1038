"""Where output goes: to standard output or to a file, never over an input."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from slackwater.analysis.wording.characters import encodable, printable
from slackwater.protocol.findings import Finding, InputError, Place, Severity

_SUFFIXES = {
    ".html": "html",
    ".htm": "html",
    ".json": "json",
    ".csv": "csv",
    ".xlsx": "xlsx",
    ".txt": "text",
    ".yaml": "yaml",
    ".yml": "yaml",
}


def add_output_arguments(parser: argparse.ArgumentParser, formats: Sequence[str]) -> None:
    """Add `--format` and `--output`; the first format is the one without either."""
    parser.add_argument(
        "--format",
        choices=formats,
        help=f"{', '.join(formats)}; else the ending of FILE decides, else {formats[0]}",
    )
    parser.add_argument("--output", metavar="FILE", help="write to FILE instead of standard output")


def chosen_format(args: argparse.Namespace, formats: Sequence[str]) -> str:
    """The format asked for, or the one that the ending of the output file stands for."""
    if args.format:
        return str(args.format)
    by_ending = _SUFFIXES.get(Path(args.output or "").suffix.lower(), formats[0])
    return by_ending if by_ending in formats else formats[0]


def _refusal(rule: str, output: Path, message: str, fix: str) -> InputError:
    return InputError([Finding(rule, Severity.ERROR, message, fix, Place(str(output)))])


def _holds(output: Path, hashes: Iterable[str]) -> bool:
    known = set(hashes)
    if not known:
        return False
    import hashlib

    return hashlib.sha256(output.read_bytes()).hexdigest() in known


def check_output(
    output: str | None, inputs: Iterable[str | Path] = (), hashes: Iterable[str] = ()
) -> None:
    """Refuse a file that cannot be written, or that is an input.

    Parameters
    ----------
    output : str or None
        As given to `--output`.
    inputs : iterable of paths
        Files that are read.
    hashes : iterable of str
        SHA-256 of what was read: a file with these bytes is an input under whatever name.

    Raises
    ------
    InputError
    """
    if output is None:
        return
    path = Path(output)
    if not path.parent.is_dir():
        raise _refusal(
            "output-folder-missing",
            path,
            f"the folder {path.parent} does not exist, so nothing can be written there",
            "make the folder first, or give another file",
        )
    if path.is_dir():
        raise _refusal(
            "output-is-a-folder", path, "the output is a folder", "give the name of a file in it"
        )
    same = any(Path(each).exists() and path.exists() and path.samefile(each) for each in inputs)
    if same or (path.is_file() and _holds(path, hashes)):
        raise _refusal(
            "output-is-an-input",
            path,
            "the output would overwrite a file that is read",
            "give another file to --output",
        )


def write(text: str, output: str | None) -> None:
    """Write to the file, as UTF-8, and say so on standard error; or to standard output.

    Raises
    ------
    InputError
        When the file cannot be written.
    """
    if output is None:
        sys.stdout.write(encodable(text, sys.stdout.encoding))
        return
    write_bytes(text.encode("utf-8"), output)


def write_bytes(data: bytes, output: str) -> None:
    """Write to the file as it is, and say so on standard error.

    Raises
    ------
    InputError
        When the file cannot be written.
    """
    try:
        Path(output).write_bytes(data)
    except OSError as error:
        raise _refusal(
            "output-not-writable",
            Path(output),
            f"cannot be written: {error.strerror or error}",
            "check the permissions and the space left, or give another file",
        ) from error
    complain(f"wrote {output}")


def complain(text: str) -> None:
    """Say something on standard error; a reader that has left is no matter."""
    import contextlib

    with contextlib.suppress(BrokenPipeError):
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
