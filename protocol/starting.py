"""A protocol to start from, made from another with its comments."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from slackwater.protocol.declared.protocol import Protocol, build_protocol
from slackwater.protocol.files.source import Document
from slackwater.protocol.files.yaml_edit import Edit, EditError, edited, scalar
from slackwater.protocol.files.yaml_tree import read_tree
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.rules._orders import in_one_block
from slackwater.protocol.schedule.session_order import LETTERS, extended_abba

_SCHEMA_LINE = re.compile(r"# yaml-language-server:.*\n(#\s*\n)?")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a new file is asked to be; what is empty is left as the file started from has it.

    Attributes
    ----------
    id, title : str
    configurations : tuple of str
        The baseline first.
    sessions : int or None
        With each configuration; for a protocol.
    set_points : str
        With commas, each with its unit; for a protocol.
    worthwhile : str
        As `speed=1 %, economy=3 %`; for a protocol.
    speeds, flows : str
        Expected at the set points, with commas, each with its unit; for a protocol.
    runs : str
        The name of the run table, from the trial's folder; for a trial.
    """

    id: str = ""
    title: str = ""
    configurations: tuple[str, ...] = ()
    sessions: int | None = None
    set_points: str = ""
    worthwhile: str = ""
    speeds: str = ""
    flows: str = ""
    runs: str = "runs.csv"


def document_from(text: str, path: Path) -> Document:
    """A text as the document that it will be once it is written."""
    tree, faults = read_tree(text)
    document = Document(
        path, text, hashlib.sha256(text.encode()).hexdigest(), tree.plain() if tree else {}, tree
    )
    if faults:
        raise InputError(
            [
                Finding(
                    f.rule, Severity.ERROR, f.message, f.fix, document.place_at(f.line, f.column)
                )
                for f in faults
            ]
        )
    return document


def refusal(message: str, fix: str) -> InputError:
    """Something asked for that does not fit."""
    return InputError([Finding("option-unfit", Severity.ERROR, message, fix)])


def new_protocol(base: Protocol, wanted: Wanted, path: Path) -> Protocol:
    """A protocol made from another: its text with what was asked for put in.

    Parameters
    ----------
    base : Protocol
        Read from a file.
    wanted : Wanted
    path : Path
        Where it will stand.

    Returns
    -------
    Protocol
        Its `document.text` is the text of the file.

    Raises
    ------
    InputError
        When something asked for does not fit.
    """
    edits = [Edit(("protocol",), scalar(wanted.id))]
    if wanted.title:
        edits.append(Edit(("title",), scalar(wanted.title)))
    if wanted.set_points:
        values = ", ".join(part.strip() for part in wanted.set_points.split(","))
        edits.append(Edit(("runs", "set_points", "values"), f"[{values}]", "as asked for"))
    if wanted.sessions is not None or wanted.configurations:
        edits += _sessions(base, wanted)
    if wanted.worthwhile:
        entries = ", ".join(_entries(wanted.worthwhile))
        edits.append(
            Edit(
                ("analysis", "worthwhile"),
                f"{{{entries}}}",
                "the smallest differences that would matter to you",
            )
        )
    try:
        text = edited(base.document, edits)
    except EditError as error:
        raise refusal(str(error), "start from a shipped protocol, or change it by hand") from error
    text = _with_fitted(_with_expected(_SCHEMA_LINE.sub("", text, count=1), wanted), wanted, path)
    head = (
        f"# Started from the protocol {base.protocol} {base.version}. Go through it line by line and make it\n"
        "# yours; 'slackwater check FILE' says what does not hold together. Seal it before the first run.\n"
        "#\n"
    )
    protocol, findings = build_protocol(document_from(head + text, path))
    if protocol is None:
        raise InputError(findings)
    return protocol


def _sessions(base: Protocol, wanted: Wanted) -> Iterator[Edit]:
    count = base.sessions.per_configuration if wanted.sessions is None else wanted.sessions
    names = wanted.configurations or ("the baseline", "the modified")
    order = base.sessions.order
    if wanted.sessions is not None or len(names) != len(set(order)):
        if not 1 <= count <= 200:
            raise refusal(
                f"--sessions: {count} sessions with each configuration",
                "give a whole number from 1 to 200",
            )
        order = extended_abba(count, len(names))
        if in_one_block(base.sessions.order):
            order = "".join(sorted(order))  # the change cannot be undone, so neither here
    key = ", ".join(f"{letter} {name}" for letter, name in zip(LETTERS, names, strict=False))
    yield Edit(("sessions", "per_configuration"), str(count), "sessions with each configuration")
    yield Edit(("sessions", "order"), order, key)


def _with_expected(text: str, wanted: Wanted) -> str:
    """The text with what is expected at the set points; a hint of it where nothing was said."""
    if "\nexpected:" in text:
        return text
    told = {"speed": wanted.speeds, "fuel_flow": wanted.flows}
    given = {name: _listed(values) for name, values in told.items() if values}
    lines = [
        "",
        "# What the boat is expected to do at the set points, in their order; rough figures will do. Nothing",
        "# is judged by them: they let depth, fuel and the size of differences be checked beforehand.",
    ]
    if given:
        lines += ["expected:", *(f"  {name}: {values}" for name, values in given.items())]
    else:
        lines += [
            "# expected:",
            "#   speed: [8 kn, 12 kn, 16 kn]",
            "#   fuel_flow: [12 L/h, 25 L/h, 45 L/h]",
        ]
    return text.rstrip("\n") + "\n" + "\n".join(lines) + "\n"


def _listed(values: str) -> str:
    return f"[{', '.join(part.strip() for part in values.split(','))}]"


def _with_fitted(text: str, wanted: Wanted, path: Path) -> str:
    """The text with a name for each letter of the order."""
    if not wanted.configurations:
        return text
    line = document_from(text, path).place(("sessions", "order")).line
    if line is None:
        return text
    names = zip(LETTERS, wanted.configurations, strict=False)
    lines = text.split("\n")
    indent = lines[line - 1][: len(lines[line - 1]) - len(lines[line - 1].lstrip())]
    pairs = ", ".join(f"{letter}: {scalar(name)}" for letter, name in names)
    lines.insert(line, f"{indent}fitted: {{{pairs}}}")
    return "\n".join(lines)


def _entries(text: str) -> Iterator[str]:
    for part in text.split(","):
        name, mark, value = part.partition("=")
        if not mark:
            raise refusal(
                f"--worthwhile: '{part.strip()}' has no '='", "write it as 'speed=1 %, economy=3 %'"
            )
        yield f"{name.strip()}: {value.strip()}"
