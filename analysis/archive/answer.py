"""What an archive comes to, as an answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.archive.method import Method
from slackwater.analysis.archive.store import asked
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.analysis.wording.words import count_of

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class PassCount:
    """What a pass did: how many trials were new, changed, unchanged, or gone from the folder.

    `passed` tells when it began, UTC, ISO 8601.
    """

    passed: str
    new: int
    changed: int
    unchanged: int
    gone: int


@dataclass(frozen=True, slots=True)
class Broken:
    """A trial that cannot be analysed, and why."""

    path: str
    message: str


@dataclass(frozen=True, slots=True)
class Entered:
    """The same runs under several names; the first is the one that counts."""

    paths: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Differing:
    """A verdict that is not what it was; see `columns.DIFFERING`."""

    path: str
    trial: str
    baseline: str
    modified: str
    quantity: str
    at: str
    old_verdict: str | None
    new_verdict: str | None
    old_change: float | None
    new_change: float | None
    old_noise_floor: float | None
    new_noise_floor: float | None
    old_p_value: float | None
    new_p_value: float | None
    old_confidence: float | None
    new_confidence: float | None
    old_worthwhile: float | None
    new_worthwhile: float | None
    old_tool: str
    new_tool: str
    why: str
    reason: str


@dataclass(frozen=True, slots=True)
class Ruled:
    """A rule, and in how many trials it was broken."""

    rule: str
    severity: str
    trials: int
    message: str


@dataclass(frozen=True, slots=True)
class OneTrial:
    """A trial in a line."""

    path: str
    state: str
    trial: str | None
    title: str | None
    boat: str | None
    protocol: str | None
    version: str | None
    first_day: str | None
    last_day: str | None
    runs_used: int | None
    seal: str | None
    verdicts: Mapping[str, int]


@dataclass(frozen=True, slots=True, repr=False)
class ArchiveResult(Answer):
    """What an archive comes to.

    Attributes
    ----------
    folder : str
        Name of the folder.
    store : Path
        Where everything is kept.
    setting : str
        Keys of the protocol set otherwise; empty for trials as declared.
    counts : PassCount
    trials : tuple of OneTrial
        Those that are there, sorted by path.
    verdicts : dict of dict of int
        How many of each verdict, by quantity; "deciding figure" for that of every trial that
        declares one.
    broken : tuple of Broken
    entered_twice : tuple of Entered
    differing : tuple of Differing
        Verdicts that this pass found to differ.
    rules : tuple of Ruled
        What was found in the trials, the most frequent first.
    closed : dict of str
        What could not be looked into, with the reason.
    links : tuple of str
        Links to folders, which were not followed.
    method : Method
        What all of them tell of the method: its noise, and the reference boat's charts.
    """

    kind: ClassVar[str] = "archive"
    folder: str
    store: Path
    setting: str
    counts: PassCount
    trials: tuple[OneTrial, ...]
    verdicts: Mapping[str, Mapping[str, int]]
    broken: tuple[Broken, ...]
    entered_twice: tuple[Entered, ...]
    differing: tuple[Differing, ...]
    rules: tuple[Ruled, ...]
    closed: Mapping[str, str]
    links: tuple[str, ...]
    method: Method

    @property
    def table(self) -> pd.DataFrame:
        """The trials, a row each, a column for each verdict."""
        import pandas as pd

        rows = [asdict(each) for each in self.trials]
        return pd.DataFrame([{**row, **row.pop("verdicts")} for row in rows])

    @property
    def summary(self) -> str:
        """How many trials, and what came of the pass."""
        counts = self.counts
        told = [f"{counts.new} new", f"{counts.changed} changed", f"{len(self.broken)} broken"]
        return f"{count_of(len(self.trials), 'trial')}, {', '.join(told)}"

    def sql(self, query: str) -> pd.DataFrame:
        """What a query on the store gives; it can read and nothing else.

        Raises
        ------
        InputError
            When the query is none that reads.
        """
        return asked(self.store, query)

    def to_dict(self) -> dict[str, Any]:
        """The answer as JSON carries it; no clock in it, so that the same folder gives the same."""
        counts = asdict(self.counts)
        counts.pop("passed")
        return {
            **head(),
            "folder": self.folder,
            "store": self.store.name,
            "setting": self.setting,
            "counts": {"trials": len(self.trials), **counts, "broken": len(self.broken)},
            "verdicts": {name: dict(found) for name, found in self.verdicts.items()},
            "broken": [asdict(each) for each in self.broken],
            "entered_twice": [list(each.paths) for each in self.entered_twice],
            "differing": [asdict(each) for each in self.differing],
            "rules": [asdict(each) for each in self.rules],
            "closed": dict(self.closed),
            "links": list(self.links),
            "method": self.method.to_dict(),
            "trials": [asdict(each) for each in self.trials],
        }
