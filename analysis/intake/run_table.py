"""The table of runs, as everything after the reading has it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Literal

from slackwater.protocol.findings import Finding

if TYPE_CHECKING:
    import pandas as pd

    from slackwater.analysis.intake.provenance import Provenance


@dataclass(frozen=True)
class RunTable:
    """All runs of a table, used and set aside, in the order of the file.

    Parameters
    ----------
    columns : dict of lists
        An entry a run: `row` (int, as a person counts rows of the file), `session` and
        `configuration` (str), `set_point` (float, in the protocol's unit), `double_run` (int
        from 1; 0 for a run set aside that has no number), `direction` ("out", "back" or ""),
        `heading` (float [deg], NaN when absent), `start` (datetime without zone, None when
        absent), `duration` (float [s], NaN when absent), floats for each declared measure
        in its working unit (NaN when blank), `set_aside` (str, "" for a run that is used) and
        `note` (str).
    units : dict
        Unit of each number column.
    file, sha256 : str
        The file's name as it was given, and the digest of its bytes.
    findings : tuple of Finding
        Warnings and advice; errors are raised instead.
    provenance : Provenance, optional
        Which logs the rows were cut from, where that is known.
    in_file : bool
        False for a table that stands in no file, since a trial names the logs in its place, or has no
        runs at all.
    """

    columns: dict[str, list[Any]]
    units: dict[str, str]
    file: str
    sha256: str
    findings: tuple[Finding, ...]
    provenance: Provenance | None = None
    in_file: bool = True

    def __len__(self) -> int:
        return len(self.columns["row"])

    @property
    def inputs(self) -> list[tuple[Literal["runs", "log"], str, str]]:
        """The files that the rows come from: what each is, its name without folder, its SHA-256."""
        if self.in_file:
            return [("runs", PurePath(self.file).name, self.sha256)]
        if self.provenance is None:
            return []
        return [("log", PurePath(log.file).name, log.sha256) for log in self.provenance.logs]

    @cached_property
    def frame(self) -> pd.DataFrame:
        """The same as a frame, one row a run; `start` is datetime64[ns], NaT when absent.

        Made when it is asked for: what only looks the runs over does without, and at once.
        """
        import pandas as pd

        starts = pd.Series(self.columns["start"], dtype="datetime64[ns]")
        return pd.DataFrame({**self.columns, "start": starts})
