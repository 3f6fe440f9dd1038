"""A trial taken apart for the faults: its sessions, and the rows of its runs with their columns."""

from __future__ import annotations

from mutant import Data, Mutant, Subject

SESSION, POINT, NUMBER, WAY, START, DURATION, SOG, RPM, FLOW, ASIDE, NOTE = range(11)


def of_trial(
    fault: str, about: str, subject: Subject, rows: list[list[str]], *expected: str
) -> Mutant:
    """A trial with its rows changed, and the rules that should speak."""
    lines = (subject.rows[0], *(",".join(row) for row in rows))
    broken = Subject(subject.name, subject.kind, subject.protocol, subject.trial, lines)
    return Mutant(fault, about, frozenset(expected), broken)


def rows_of(subject: Subject) -> list[list[str]]:
    """The cells of the run table, without its headings."""
    return [line.split(",") for line in subject.rows[1:]]


def sessions_of(subject: Subject) -> list[Data]:
    """The sessions of the trial, to be changed in place."""
    found: list[Data] = subject.trial["sessions"]
    return found
