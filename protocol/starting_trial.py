"""A trial to start from, to a protocol, with its comments; with a table of runs, what can be seen in it."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from slackwater.protocol.catalogue.measures import CONDITIONS, LOADING
from slackwater.protocol.declared.limits import Limit
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.trial import Session, Trial, build_trial
from slackwater.protocol.declared.trial_agreement import TABLE_COLUMNS
from slackwater.protocol.files.yaml_edit import quoted, scalar
from slackwater.protocol.findings import InputError
from slackwater.protocol.library import shipped
from slackwater.protocol.schedule.session_order import LETTERS
from slackwater.protocol.starting import Wanted, document_from, refusal


@dataclass(frozen=True, slots=True)
class SeenSession:
    """A session as a table of runs shows it; what it does not show is empty.

    Attributes
    ----------
    id, configuration, date : str
        The date as year-month-day.
    """

    id: str
    configuration: str = ""
    date: str = ""


@dataclass(frozen=True, slots=True)
class Seen:
    """What could be seen in a table of runs.

    Attributes
    ----------
    columns : mapping
        The table's own headings by the columns of a run table, for those that differ.
    units : mapping
        Units of columns whose heading names one without brackets.
    bare : tuple of str
        Columns that need a unit, and whose unit cannot be seen.
    directions : mapping
        The table's words for `out` and `back`.
    dates : str
        How the starts are written; empty for ISO 8601.
    dates_doubtful : bool
        The day and the month could stand in either order.
    sessions : tuple of SeenSession
        In the order of the table.
    """

    columns: Mapping[str, Sequence[str]] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    bare: tuple[str, ...] = ()
    directions: Mapping[str, str] = field(default_factory=dict)
    dates: str = ""
    dates_doubtful: bool = False
    sessions: tuple[SeenSession, ...] = ()

    @property
    def configurations(self) -> tuple[str, ...]:
        """Those that the sessions name, in the order in which they are met."""
        return tuple(dict.fromkeys(s.configuration for s in self.sessions if s.configuration))


def new_trial(protocol: Protocol, wanted: Wanted, path: Path, seen: Seen | None = None) -> Trial:
    """A trial to a protocol: with nothing run yet, its sessions stand in it as comments.

    Parameters
    ----------
    protocol : Protocol
        A shipped one, or one read from a file.
    wanted : Wanted
    path : Path
        Where it will stand.
    seen : Seen, optional
        What a table of runs that is there already shows.

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
    names = wanted.configurations or _names(protocol, letters)
    if seen is not None and len(seen.configurations) > 1:
        names = _baseline_first(seen.configurations, wanted.configurations)
    elif len(names) != len(letters):
        raise refusal(
            f"{len(names)} configurations are named; the order {protocol.sessions.order} of the protocol "
            f"has {len(letters)}",
            f"name {len(letters)}, the baseline first, or make a protocol for {len(names)}",
        )
    lines = _trial_lines(protocol, wanted, names, _reference(protocol, path), seen)
    text = "\n".join(lines) + "\n"
    trial, findings = build_trial(document_from(text, path))
    if trial is None:
        raise InputError(findings)
    return trial


def _names(protocol: Protocol, letters: Sequence[str]) -> tuple[str, ...]:
    """The names that the protocol gives to the letters of its order, else plain ones."""
    plain = ("baseline", "modified", *LETTERS[2:])
    fitted = protocol.sessions.fitted
    return tuple(fitted.get(letter, plain[LETTERS.index(letter)]) for letter in letters)


def _baseline_first(seen: tuple[str, ...], wanted: tuple[str, ...]) -> tuple[str, ...]:
    """The configurations of a table, in the order asked for."""
    strange = [name for name in wanted if name not in seen]
    if strange:
        raise refusal(
            f"--configurations: the table has no '{strange[0]}'",
            f"its configurations are {', '.join(seen)}; name the baseline first",
        )
    return tuple(dict.fromkeys((*wanted, *seen)))


def _reference(protocol: Protocol, path: Path) -> str:
    """How the trial names the protocol: by its id where it is shipped, else by the way to it."""
    source = protocol.document.path
    if shipped().get(protocol.protocol) == source:
        return protocol.protocol

    return Path(os.path.relpath(source, path.parent)).as_posix()


def _trial_lines(
    protocol: Protocol, wanted: Wanted, names: Sequence[str], reference: str, seen: Seen | None
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
    if seen is not None and len(seen.configurations) > 1 and not wanted.configurations:
        yield "# Taken for the baseline is the one met first in the table: see that it is."
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
    yield from _session_lines(protocol, names, seen)
    yield ""
    if seen is None:
        yield "# The table of runs, one row a run; CSV, XLSX or Parquet. The unit stands in brackets in the heading:"
        yield from _wrapped(headings(protocol), "#   ", "")
    yield f"runs: {scalar(wanted.runs)}"
    if seen is not None:
        yield from _seen_lines(protocol, seen)
    yield from _beside_lines(protocol, begun=seen is not None)


def _beside_lines(protocol: Protocol, *, begun: bool) -> Iterator[str]:
    """The tables of what is scored and tried beside the runs; as comments where runs are there already."""
    mark = "# " if begun else ""
    if protocol.ratings is not None:
        yield "# What people score: a row for each session, item and rater. Headings:"
        yield f"#   session, item, rater, score{', guess' * protocol.ratings.guess}, set_aside, note"
        yield f"{mark}ratings: ratings.csv"
    if protocol.manoeuvres:
        yield "# Manoeuvres: a row for each try; 'slackwater sheet' writes it (--rows tries --format csv). Headings:"
        values = [f"{name} [{one.unit}]" for name, one in protocol.tried.items()]
        yield from _wrapped(
            ["session", "manoeuvre", "direction", "try", *values, "helmsman", "set_aside", "note"],
            "#   ",
            "",
        )
        yield f"{mark}manoeuvres: tries.csv"


def _seen_lines(protocol: Protocol, seen: Seen) -> Iterator[str]:
    """How the table is to be read, as far as it shows."""
    if seen.columns:
        yield "# The table's own headings, as they look: what does not hold what it says has to be corrected."
        yield "columns:"
        for name, texts in seen.columns.items():
            own = [quoted(text) for text in texts]
            yield f"  {name}: {own[0] if len(own) == 1 else '[' + ', '.join(own) + ']'}"
    if seen.units or seen.bare:
        yield "# Units of columns that have none in brackets:"
        yield "units:" if seen.units else "# units:"
        yield from (f"  {name}: {unit}" for name, unit in seen.units.items())
        for name in seen.bare:
            unit = protocol.set_point_unit if name == "set_point" else TABLE_COLUMNS.get(name, "")
            unit = unit or (protocol.measure(name).unit if name in protocol.measures else "")
            yield f"  # {name}: {unit}   # the table does not say; take the # away if it is so"
    if seen.directions:
        yield "# Which of the two is out does not matter, as long as it is the same throughout."
        pairs = ", ".join(f"{scalar(word)}: {way}" for word, way in seen.directions.items())
        yield f"directions: {{{pairs}}}"
    if seen.dates_doubtful:
        yield "# The day or the month may stand first; the table does not tell. Take one # away:"
        yield "# dates: day first"
        yield "# dates: month first"
    elif seen.dates:
        yield f"dates: {seen.dates}"


def _session_lines(protocol: Protocol, names: Sequence[str], seen: Seen | None) -> Iterator[str]:
    limits = {**protocol.loading, **protocol.conditions}
    if seen is None:
        yield "# The sessions, in the order that the protocol declares. Write each down on the day it is run, with"
        yield "# what the protocol puts limits on:"
    else:
        yield "# The sessions, as the table has them. Add to each what the protocol puts limits on:"
    for name, limit in limits.items():
        between = ", between the configurations" if limit.compares else ""
        yield f"#   {name}: {limit}{between}"
    if protocol.sessions.block == "day":
        yield "# Sessions of one day are compared with each other, so the date counts."
    if seen is not None:
        yield from _sessions_seen(seen)
        return
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


def _sessions_seen(seen: Seen) -> Iterator[str]:
    """The sessions of a table; as comments where it does not say what was fitted."""
    told = bool(seen.sessions) and all(session.configuration for session in seen.sessions)
    mark = "" if told else "# "
    if not told:
        yield "# Nothing in the table says what was fitted: write the configuration of each, and take the # away."
    yield f"{mark}sessions:"
    for session in seen.sessions:
        fitted = scalar(session.configuration) if session.configuration else "..."
        on = f", date: {session.date}" if session.date else ""
        yield f"{mark}  - {{id: {scalar(session.id)}, configuration: {fitted}{on}}}"


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
    units.pop("configuration")  # the session says it
    last = {name: units.pop(name) for name in ("set_aside", "note")}
    measures = {name: protocol.measure(name).unit for name in protocol.measures}
    return [
        f"{name} [{unit}]" if unit not in ("", "1") else name
        for name, unit in {**units, **measures, **last}.items()
    ]
