"""Files to start from: a protocol made from another, and a trial to a protocol, with their comments."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from slackwater.protocol.catalogue.measures import CONDITIONS, LOADING
from slackwater.protocol.declared.limits import Limit
from slackwater.protocol.declared.protocol import Protocol, build_protocol
from slackwater.protocol.declared.trial import Session, Trial, build_trial
from slackwater.protocol.declared.trial_agreement import TABLE_COLUMNS
from slackwater.protocol.files.source import Document
from slackwater.protocol.files.yaml_edit import Edit, EditError, edited, scalar
from slackwater.protocol.files.yaml_tree import read_tree
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.library import shipped
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
    runs : str
        The name of the run table, from the trial's folder; for a trial.
    """

    id: str = ""
    title: str = ""
    configurations: tuple[str, ...] = ()
    sessions: int | None = None
    set_points: str = ""
    worthwhile: str = ""
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


def _refuse(message: str, fix: str) -> InputError:
    return InputError([Finding("option-unfit", Severity.ERROR, message, fix)])


# --- a protocol -----------------------------------------------------------------------------------


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
        raise _refuse(str(error), "start from a shipped protocol, or change it by hand") from error
    text = _SCHEMA_LINE.sub("", text, count=1)
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
            raise _refuse(
                f"--sessions: {count} sessions with each configuration",
                "give a whole number from 1 to 200",
            )
        order = extended_abba(count, len(names))
        if in_one_block(base.sessions.order):
            order = "".join(sorted(order))  # the change cannot be undone, so neither here
    key = ", ".join(f"{letter} {name}" for letter, name in zip(LETTERS, names, strict=False))
    yield Edit(("sessions", "per_configuration"), str(count), "sessions with each configuration")
    yield Edit(("sessions", "order"), order, key)


def _entries(text: str) -> Iterator[str]:
    for part in text.split(","):
        name, mark, value = part.partition("=")
        if not mark:
            raise _refuse(
                f"--worthwhile: '{part.strip()}' has no '='", "write it as 'speed=1 %, economy=3 %'"
            )
        yield f"{name.strip()}: {value.strip()}"


# --- a trial --------------------------------------------------------------------------------------


def new_trial(protocol: Protocol, wanted: Wanted, path: Path) -> Trial:
    """A trial to a protocol, with nothing run yet: its sessions stand in it as comments.

    Parameters
    ----------
    protocol : Protocol
        A shipped one, or one read from a file.
    wanted : Wanted
    path : Path
        Where it will stand.

    Returns
    -------
    Trial
        Its `document.text` is the text of the file.

    Raises
    ------
    InputError
        When something asked for does not fit.
    """
    letters = sorted(set(protocol.sessions.order))
    names = wanted.configurations or ("baseline", "modified", *LETTERS[2:])[: len(letters)]
    if len(names) != len(letters):
        raise _refuse(
            f"{len(names)} configurations are named; the order {protocol.sessions.order} of the protocol "
            f"has {len(letters)}",
            f"name {len(letters)}, the baseline first, or make a protocol for {len(names)}",
        )
    text = "\n".join(_trial_lines(protocol, wanted, names, _reference(protocol, path))) + "\n"
    trial, findings = build_trial(document_from(text, path))
    if trial is None:
        raise InputError(findings)
    return trial


def _reference(protocol: Protocol, path: Path) -> str:
    """How the trial names the protocol: by its id where it is shipped, else by the way to it."""
    source = protocol.document.path
    if shipped().get(protocol.protocol) == source:
        return protocol.protocol
    import os

    return Path(os.path.relpath(source, path.parent)).as_posix()


def _trial_lines(
    protocol: Protocol, wanted: Wanted, names: Sequence[str], reference: str
) -> Iterator[str]:
    yield f"# A trial to the protocol {protocol.protocol} {protocol.version}."
    if protocol.title:
        yield f"# {protocol.title}."
    yield "#"
    yield "# CAUTIONS, before anything else. Local rules and the skipper come before this file and the protocol;"
    yield "# work on engine, fuel and propeller is for those licensed to do it. The protocol has the rest."
    yield "#"
    yield "# Take the # away from lines that apply and put your own figures in, each with its unit. 'slackwater"
    yield "# check FILE' looks the file over at any time, 'slackwater sheet FILE' makes the sheet to take aboard."
    yield f"trial: {scalar(wanted.id)}"
    yield (
        f"title: {scalar(wanted.title)}"
        if wanted.title
        else "# title: what was tried, in a sentence"
    )
    yield f"protocol: {scalar(reference)}   # an id of the library, or a path from this file's folder"
    yield ""
    yield "# What is known of the boat. Capacity and reserve give the range; a length the Froude number."
    yield "boat:"
    yield "  title: Boat under trial"
    for line in ("waterline_length: 9.1 m", "displacement: 6200 kg", "fuel_capacity: 700 L"):
        yield f"  # {line}"
    yield "  # fuel_reserve: 10 %                # kept back when a range is reckoned"
    yield ""
    yield "# The boat as fitted, the baseline first. Pitch and gear ratio give advance and slip."
    yield "configurations:"
    for name in names:
        yield f"  {scalar(name)}:"
        yield f"    title: {scalar(name)}"
        yield "    # propeller_pitch: 24 in"
        yield "    # gear_ratio: 1.75               # turns of the engine for one of the propeller"
    yield ""
    yield "comparisons:"
    for name in names[1:]:
        yield f"  - {{baseline: {scalar(names[0])}, modified: {scalar(name)}}}"
    yield ""
    yield from _session_lines(protocol, names)
    yield ""
    yield "# The table of runs, one row a run; CSV, XLSX or Parquet. The unit stands in brackets in the heading:"
    yield from _wrapped(headings(protocol), "#   ", "")
    yield f"runs: {scalar(wanted.runs)}"


def _session_lines(protocol: Protocol, names: Sequence[str]) -> Iterator[str]:
    limits = {**protocol.loading, **protocol.conditions}
    yield "# The sessions, in the order that the protocol declares. Write each down on the day it is run, with"
    yield "# what the protocol puts limits on:"
    for name, limit in limits.items():
        between = ", between the configurations" if limit.compares else ""
        yield f"#   {name}: {limit}{between}"
    if protocol.sessions.block == "day":
        yield "# Sessions of one day are compared with each other, so the date counts."
    yield "# sessions:"
    keys = ["date: year-month-day", *(_blank(name, limits[name]) for name in limits)]
    own = [key for key in keys if key.split(":")[0] in Session.model_fields]
    further = [key for key in keys if key not in own]
    if further:
        own.append(f"further: {{{', '.join(further)}}}")
    for number, letter in enumerate(protocol.sessions.order, start=1):
        fitted = scalar(names[LETTERS.index(letter)])
        yield f"#   - {{id: S{number}, configuration: {fitted}, {own[0]},"
        yield from _wrapped([*own[1:], "note: ''"], "#      ", "}")


def _wrapped(parts: Sequence[str], lead: str, end: str, width: int = 100) -> Iterator[str]:
    """The parts with commas, on as many lines as it takes."""
    line = lead
    for index, part in enumerate(parts):
        piece = part + (end if index == len(parts) - 1 else ",")
        if len(line) + len(piece) > width and line != lead:
            yield line.rstrip()
            line = lead
        line += f"{piece} "
    yield line.rstrip()


def _blank(name: str, limit: Limit) -> str:
    """A key of a session with its unit, waiting for its figure."""
    bounds = (limit.at_most, limit.at_least, *(limit.between or ()))
    unit = next((bound.unit for bound in bounds if bound is not None), "")
    if not unit:
        unit = ({**LOADING, **CONDITIONS}.get(name) or ("",))[0]
    return f"{name}: ..." if unit in ("", "1", "count") else f"{name}: ... {unit}"


def headings(protocol: Protocol) -> list[str]:
    """The headings of the run table of a protocol, each with its unit in brackets."""
    units = dict(TABLE_COLUMNS) | {"set_point": protocol.set_point_unit}
    units.pop("heading")  # `direction` says the same in a word
    last = {name: units.pop(name) for name in ("set_aside", "note")}
    measures = {name: protocol.measure(name).unit for name in protocol.measures}
    return [
        f"{name} [{unit}]" if unit not in ("", "1") else name
        for name, unit in {**units, **measures, **last}.items()
    ]
