"""Where runs come from, in sentences and tables: for the report of a trial whose runs were cut from logs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import PurePath

from slackwater.analysis.intake.provenance import CutLog, CutSession, Provenance, Run
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.steady.not_found import missing_words
from slackwater.analysis.steady.other_water import told_in
from slackwater.analysis.wording.numbers import MISSING, fixed
from slackwater.analysis.wording.words import count_of, listed, quantity_title
from slackwater.protocol.units.quantity import show_number

TITLE = "Runs cut from logs"
ALL_FOUND = "Every planned run was found."
_MOST_NAMED = 6


def sentences(provenance: Provenance) -> list[str]:
    """In short: how many runs from which logs, what was planned and not found, what was no run."""
    parts = [
        _found(provenance),
        *_missing(provenance),
        *_by_order(provenance),
        *_left_out(provenance),
        _sources(provenance),
    ]
    return [sentence for sentence in parts if sentence]


def _found(provenance: Provenance) -> str:
    runs = provenance.runs
    names = [PurePath(log.file).name for log in provenance.logs]
    named = listed(names) if len(names) <= _MOST_NAMED else count_of(len(names), "log")
    aside = sum(run.set_aside is not None for _, run in runs)
    told = f"; {aside} of them set aside" if aside else ""
    verb = "was" if len(runs) == 1 else "were"
    return f"{count_of(len(runs), 'run')} {verb} cut from {named}{told}."


def _missing(provenance: Provenance) -> Iterator[str]:
    """Planned and not found: how many, and each session's with its reason."""
    count = sum(max(one.runs, 1) for each in provenance.sessions for one in each.missing)
    if not count:
        yield ALL_FOUND
        return
    told = [
        f"{each.session}: {text}"
        for each in provenance.sessions
        for text in _of_session(each, provenance)
    ]
    more = f" … and {len(told) - _MOST_NAMED} more." if len(told) > _MOST_NAMED else ""
    yield f"Planned and not found: {count_of(count, 'run')}. {' '.join(told[:_MOST_NAMED])}{more}"


def _of_session(each: CutSession, provenance: Provenance) -> Iterator[str]:
    """A session's missing runs, those of one reason together."""
    by_reason: dict[str, list[str]] = {}
    for one in each.missing:
        what = missing_words(one, provenance.parameters.unit)
        by_reason.setdefault(one.reason, []).append(what)
    for reason, runs in by_reason.items():
        yield f"{listed(runs)} ({reason})."


def _by_order(provenance: Provenance) -> Iterator[str]:
    """Double runs over other water, session by session."""
    told = [
        f"{each.session}: {text}"
        for each in provenance.sessions
        for text in told_in(each, provenance.parameters.unit)
    ]
    more = f"; and {len(told) - _MOST_NAMED} more" if len(told) > _MOST_NAMED else ""
    if told:
        yield f"Paired by the order made in, over other water: {'; '.join(told[:_MOST_NAMED])}{more}."


def _left_out(provenance: Provenance) -> Iterator[str]:
    """Steady stretches that are no runs, counted by what their reason begins with."""
    counts = Counter(
        left.reason.partition(":")[0] for each in provenance.sessions for left in each.left_out
    )
    if counts:
        told = ", ".join(f"{count} {reason}" for reason, count in counts.most_common())
        yield f"Steady and no run, by reason: {told}."


def _sources(provenance: Provenance) -> str:
    told = [
        f"{quantity_title(each.quantity)} from {each.source}{' as asked for' if each.by_user else ''}"
        for each in provenance.sources
        if each.quantity in _read(provenance)
    ]
    return f"Sources, the same in all sessions: {'; '.join(told)}." if told else ""


def _read(provenance: Provenance) -> set[str]:
    """The quantities that runs have means of."""
    return {name for _, run in provenance.runs for name in run.readings}


def run_sheet(provenance: Provenance) -> Sheet:
    """Every run with the lines that it comes from and the samples in its means."""
    unit = provenance.parameters.unit
    headings = ("row", "session", f"held [{unit}]", "double run", "direction", "start",
                "samples used", "samples missing", "lines of the logs")  # fmt: skip
    rows = tuple(_run_row(session, run) for session, run in provenance.runs)
    return Sheet("runs and where they come from", headings, rows, frozenset({0, 2, 3, 6, 7}))


def _run_row(session: str, run: Run) -> tuple[str, ...]:
    lines: dict[str, tuple[int, int]] = {}
    for reading in run.readings.values():
        for each in reading.lines:
            name = PurePath(each.file).name
            low, high = lines.get(name, (each.first, each.last))
            lines[name] = (min(low, each.first), max(high, each.last))
    return (
        str(run.row),
        session,
        show_number(run.set_point),
        _pair(run),
        run.direction or MISSING,
        run.start[11:],
        str(sum(each.used for each in run.readings.values())),
        str(sum(each.missing for each in run.readings.values())),
        "; ".join(f"{name} {low} to {high}" for name, (low, high) in lines.items()) or MISSING,
    )


def _pair(run: Run) -> str:
    if not run.double_run:
        return "set aside"
    return f"{run.double_run}, by order" if run.paired_by == "order" else str(run.double_run)


def left_out_sheet(provenance: Provenance) -> Sheet | None:
    """Every steady stretch that is no run, and why."""
    rows = tuple(
        (
            each.session,
            left.start.replace("T", " "),
            left.end[11:],
            fixed(left.speed_over_ground, 2),
            left.reason,
        )
        for each in provenance.sessions
        for left in each.left_out
    )
    headings = ("session", "from", "to", "speed over ground [kn]", "why it is no run")
    return Sheet("steady and no run", headings, rows, frozenset({3})) if rows else None


def log_sheet(provenance: Provenance) -> Sheet:
    """The logs: what they are, and what of them gave no value."""
    rows = tuple(
        (PurePath(log.file).name, log.form, str(log.lines), _faults(log)) for log in provenance.logs
    )
    return Sheet("logs", ("log", "form", "lines", "without a value"), rows, frozenset({2}))


def _faults(log: CutLog) -> str:
    told = [f"{each.reason}: {each.count}" for each in log.faults]
    return "; ".join([*told, *log.notes]) or MISSING


def remarks(provenance: Provenance) -> list[str]:
    """What was found out while cutting, session by session, and on the whole."""
    own = [f"{each.session}: {note}." for each in provenance.sessions for note in each.notes]
    whole = [f"{note[:1].upper()}{note[1:]}." for note in provenance.notes]
    return [*own, *whole]
