"""Tries of manoeuvres, as everything after the reading has them, and what they are read against."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from slackwater.analysis.intake.try_provenance import TryProvenance
    from slackwater.protocol.declared.manoeuvres import Manoeuvre
    from slackwater.protocol.findings import Finding


@dataclass(frozen=True, slots=True)
class Try:
    """One try of a manoeuvre.

    Attributes
    ----------
    row : int
        As a person counts rows of the file.
    session, configuration, manoeuvre : str
    direction : str
        One of the manoeuvre's ways; empty where it goes one way.
    number : int
        From 1 within session, manoeuvre and direction.
    values : mapping
        What was read, in the working unit of each; what was not is absent.
    helmsman, set_aside, note : str
        `set_aside` is why it is left out; empty for one that counts.
    """

    row: int
    session: str
    configuration: str
    manoeuvre: str
    direction: str
    number: int
    values: Mapping[str, float]
    helmsman: str = ""
    set_aside: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class TryTable:
    """All tries of a table, used and set aside, in the order of the file; and the logs they come from, where known.

    `in_file` is false for one that stands in no file, since a trial names logs and no table of tries.
    """

    tries: tuple[Try, ...]
    file: str
    sha256: str
    findings: tuple[Finding, ...] = ()
    provenance: TryProvenance | None = None
    in_file: bool = True

    @property
    def inputs(self) -> list[tuple[Literal["manoeuvres", "log"], str, str]]:
        """The files that the tries come from: what each is, its name without folder, its SHA-256."""
        if self.in_file or self.provenance is None:
            return [("manoeuvres", PurePath(self.file.replace("\\", "/")).name, self.sha256)]
        return [("log", PurePath(log.file).name, log.sha256) for log in self.provenance.logs]

    @property
    def used(self) -> tuple[Try, ...]:
        """Those that count."""
        return tuple(each for each in self.tries if not each.set_aside)

    def of(self, value: str) -> tuple[Try, ...]:
        """Those that count and in which a value was read."""
        return tuple(each for each in self.used if value in each.values)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a table of tries is read against.

    Attributes
    ----------
    manoeuvres : mapping
        As the protocol declares them.
    sessions : mapping
        Configuration of each session.
    ways : mapping
        The file's own words for out and back.
    units, columns : mapping
        The trial's own, of values.
    invented : bool
        Whether the trial says that its figures are made up; else rows that say so are refused.
    """

    manoeuvres: Mapping[str, Manoeuvre]
    sessions: Mapping[str, str]
    ways: Mapping[str, str]
    units: Mapping[str, str]
    columns: Mapping[str, str]
    invented: bool = False

    @property
    def values(self) -> dict[str, str]:
        """Working unit of every value."""
        return {
            name: one.unit
            for each in self.manoeuvres.values()
            for name, one in each.measures.items()
        }
