"""What an analysis gives: a frozen result that prints itself and turns into the JSON contract."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, partial
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from slackwater.analysis.result.deciding import Deciding
from slackwater.analysis.result.fields import SCHEMA_VERSION, TABLES
from slackwater.analysis.result.mean import Mean
from slackwater.analysis.verdict.compared import Compared, compared_from
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.protocol.findings import Finding

if TYPE_CHECKING:
    import pandas as pd

    from slackwater.analysis.intake.provenance import Provenance
    from slackwater.analysis.intake.try_provenance import TryProvenance


class ResultError(ValueError):
    """A table of a result that lacks a column, or a word that is none of its choices."""


@dataclass(frozen=True, slots=True)
class InputFile:
    """A file that went into the result; `name` without its folder, so that reports can be shared."""

    name: str
    sha256: str
    role: Literal["trial", "protocol", "runs", "log", "ratings", "manoeuvres"]


@dataclass(frozen=True, slots=True)
class ProtocolStamp:
    """Which protocol was followed, down to its bytes."""

    id: str
    version: str
    sha256: str
    title: str = ""


@dataclass(frozen=True, slots=True)
class SealStamp:
    """Whether the protocol was sealed before the trial, and is what was sealed.

    Attributes
    ----------
    state : str
        "none", "kept", "late" (not shown to be made before the first run), "changed" or "unreadable".
    message : str
        The same in a sentence.
    made, file : str or None
        When the seal was made, ISO 8601, by its maker's own clock; the name of its file.
    claims : str or None
        Whether the claims sealed along with it are "kept" or "changed".
    """

    state: Literal["none", "kept", "late", "changed", "unreadable"] = "none"
    message: str = "not sealed"
    made: str | None = None
    file: str | None = None
    claims: Literal["kept", "changed"] | None = None


@dataclass(frozen=True, slots=True)
class RunCount:
    """How many runs were read, used and set aside."""

    read: int
    used: int
    set_aside: int


def plain(value: Any) -> Any:
    """The value as JSON knows it: Python scalars, text for times, None for what is missing.

    Anything not finite becomes None.
    """
    if value is None or isinstance(value, (bool, str, int)):
        return value
    if hasattr(value, "item"):  # numpy scalars
        return plain(value.item())
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if str(value) in ("NaT", "<NA>"):  # what pandas has for a missing time and a missing value
        return None
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


def _whole(value: Any) -> Any:
    # A column of counts with a gap is a column of floats to pandas.
    return int(value) if isinstance(value, float) and value.is_integer() else value


def table(name: str, rows: Iterable[Mapping[str, Any]] = ()) -> pd.DataFrame:
    """A table of the result, made from rows; see `result_fields.TABLES` for its columns.

    Parameters
    ----------
    name : str
        One of `result_fields.TABLES`.
    rows : iterable of mappings
        A row each. Optional columns may be left out.

    Raises
    ------
    ResultError
        When a row lacks a required column.
    """
    import pandas as pd

    rows = [dict(row) for row in rows]
    if not rows:
        return _empty(name).copy()
    required = [column.name for column in TABLES[name] if column.required]
    for number, row in enumerate(rows):
        lacking = [column for column in required if column not in row]
        if lacking:
            raise ResultError(f"row {number} of {name} lacks {', '.join(lacking)}")
    columns = dict.fromkeys([column.name for column in TABLES[name]])
    columns.update(dict.fromkeys(key for row in rows for key in row))
    return conform(name, pd.DataFrame(rows, columns=list(columns)))


@cache
def _empty(name: str) -> pd.DataFrame:
    """A table without rows; most tables of most trials are."""
    import pandas as pd

    return pd.DataFrame([], columns=[column.name for column in TABLES[name]])


def conform(name: str, frame: pd.DataFrame) -> pd.DataFrame:
    """The frame with every described column in its order, further columns after them.

    Raises
    ------
    ResultError
        When a required column is missing, or a word is none of its column's choices.
    """
    fields = TABLES[name]
    lacking = [each.name for each in fields if each.required and each.name not in frame.columns]
    if lacking and len(frame):
        raise ResultError(f"the table {name} lacks the columns {', '.join(lacking)}")
    known = [each.name for each in fields]
    further = [column for column in frame.columns if column not in known]
    if list(frame.columns) != [*known, *further]:
        frame = frame.reindex(columns=[*known, *further])
    whole = frame.reset_index(drop=True)
    for each in fields if len(whole) else ():
        if not each.choices:
            continue
        found = {plain(value) for value in whole[each.name]} - {*each.choices, None}
        if found:
            words = ", ".join(repr(word) for word in sorted(found, key=str))
            raise ResultError(
                f"{words} in the column {each.name} of {name}; it takes {', '.join(each.choices)}"
            )
    return whole


@dataclass(frozen=True, eq=False, repr=False)
class Result(Answer):
    """What came out of a trial.

    Attributes
    ----------
    trial, title, boat : str
        Id of the trial, its title, the boat's title.
    protocol : ProtocolStamp
    configurations : dict
        Id to title, in the order declared.
    inputs : tuple of InputFile
    runs : RunCount
    set_points, comparisons, leanings, stretches, figures, corrections, cross_check : DataFrame
    current, current_runs, noise, session_values, conditions, set_aside : DataFrame
    ratings, rating_scores, rating_ranks, blinding, manoeuvres, tries : DataFrame
        Their columns, with units, are described in `result_fields.TABLES`. A table may be empty.
    deviations : tuple of Finding
        Where the trial, as run, departs from its protocol.
    findings : tuple of Finding
        What else was found in the files.
    remarks : tuple of str
        Sentences on the sweep as a whole.
    method, sources, waivers : tuple of str
        How the figures were got, a paragraph each; on what texts; which rules were waived and why.

    seal : SealStamp
        What was declared beforehand is in the column `declared` of the comparisons.
    doubts : tuple of str
        Runs in doubt, and what the verdicts would be without them: read before the verdicts.
    deciding : Deciding or None
        The figure declared to decide; its rows are marked in the column of that name.
    provenance : Provenance or None
        The logs that the runs were cut from, run by run, where that is known.
    tries_provenance : TryProvenance or None
        The logs that the tries of manoeuvres were found in, try by try, where that is known.

    Raises
    ------
    ResultError
        When a table lacks a required column or holds a word that is none of its choices.
    """

    kind: ClassVar[str] = "analysis"
    trial: str
    title: str
    boat: str
    protocol: ProtocolStamp
    configurations: dict[str, str]
    inputs: tuple[InputFile, ...]
    runs: RunCount
    set_points: pd.DataFrame = field(default_factory=partial(table, "set_points"))
    comparisons: pd.DataFrame = field(default_factory=partial(table, "comparisons"))
    leanings: pd.DataFrame = field(default_factory=partial(table, "leanings"))
    stretches: pd.DataFrame = field(default_factory=partial(table, "stretches"))
    cross_check: pd.DataFrame = field(default_factory=partial(table, "cross_check"))
    figures: pd.DataFrame = field(default_factory=partial(table, "figures"))
    corrections: pd.DataFrame = field(default_factory=partial(table, "corrections"))
    current: pd.DataFrame = field(default_factory=partial(table, "current"))
    current_runs: pd.DataFrame = field(default_factory=partial(table, "current_runs"))
    noise: pd.DataFrame = field(default_factory=partial(table, "noise"))
    session_values: pd.DataFrame = field(default_factory=partial(table, "session_values"))
    ratings: pd.DataFrame = field(default_factory=partial(table, "ratings"))
    rating_scores: pd.DataFrame = field(default_factory=partial(table, "rating_scores"))
    rating_ranks: pd.DataFrame = field(default_factory=partial(table, "rating_ranks"))
    blinding: pd.DataFrame = field(default_factory=partial(table, "blinding"))
    manoeuvres: pd.DataFrame = field(default_factory=partial(table, "manoeuvres"))
    tries: pd.DataFrame = field(default_factory=partial(table, "tries"))
    conditions: pd.DataFrame = field(default_factory=partial(table, "conditions"))
    set_aside: pd.DataFrame = field(default_factory=partial(table, "set_aside"))
    deviations: tuple[Finding, ...] = ()
    findings: tuple[Finding, ...] = ()
    remarks: tuple[str, ...] = ()
    method: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    waivers: tuple[str, ...] = ()
    seal: SealStamp = SealStamp()
    deciding: Deciding | None = None
    doubts: tuple[str, ...] = ()
    provenance: Provenance | None = None
    tries_provenance: TryProvenance | None = None

    def __post_init__(self) -> None:
        for name in TABLES:
            object.__setattr__(self, name, conform(name, getattr(self, name)))

    @property
    def table(self) -> pd.DataFrame:
        """The comparisons, a row each."""
        return self.comparisons

    @property
    def summary(self) -> str:
        """How many comparisons have which verdict."""
        counts = self.comparisons["verdict"].value_counts()
        told = ", ".join(f"{count} {word}" for word, count in counts.items())
        return f"{self.trial}, {told or 'nothing compared'}"

    @property
    def compared(self) -> tuple[Compared, ...]:
        """The comparisons, each with its verdict, in the order of their table."""
        return tuple(compared_from(row) for row in self.records("comparisons"))

    @property
    def means(self) -> tuple[Mean, ...]:
        """The means of the configurations, in the order of their table."""
        return tuple(Mean(**row) for row in self.records("set_points"))

    def records(self, name: str) -> list[dict[str, Any]]:
        """The rows of one table as plain dicts, None for what is missing."""
        frame: pd.DataFrame = getattr(self, name)
        counts = {each.name for each in TABLES[name] if each.kind == "integer"}
        columns = {
            str(column): [
                _whole(plain(value)) if column in counts else plain(value)
                for value in frame[column].tolist()
            ]
            for column in frame.columns
        }
        return [
            {column: values[row] for column, values in columns.items()} for row in range(len(frame))
        ]

    def to_dict(self) -> dict[str, Any]:
        """The result as JSON carries it; described by the schema that the package ships."""
        stamp = self.protocol
        return {
            **head(SCHEMA_VERSION),
            "trial": self.trial,
            "title": self.title,
            "boat": self.boat,
            "protocol": {
                "id": stamp.id,
                "version": stamp.version,
                "sha256": stamp.sha256,
                "title": stamp.title,
            },
            "seal": {
                "state": self.seal.state,
                "message": self.seal.message,
                "made": self.seal.made,
                "file": self.seal.file,
                "claims": self.seal.claims,
            },
            "deciding": None if self.deciding is None else self.deciding.to_dict(),
            "doubts": list(self.doubts),
            "configurations": dict(self.configurations),
            "inputs": [
                {"name": each.name, "sha256": each.sha256, "role": each.role}
                for each in self.inputs
            ],
            "runs": {
                "read": self.runs.read,
                "used": self.runs.used,
                "set_aside": self.runs.set_aside,
            },
            "provenance": None if self.provenance is None else self.provenance.to_dict(),
            "tries_provenance": None
            if self.tries_provenance is None
            else self.tries_provenance.to_dict(),
            **{name: self.records(name) for name in TABLES},
            "deviations": [finding.to_dict() for finding in self.deviations],
            "findings": [finding.to_dict() for finding in self.findings],
            "remarks": list(self.remarks),
            "method": list(self.method),
            "sources": list(self.sources),
            "waivers": list(self.waivers),
        }
