"""The table of runs, as everything after the reading has it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from slackwater.protocol.findings import Finding

if TYPE_CHECKING:
    import pandas as pd


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
    """

    columns: dict[str, list[Any]]
    units: dict[str, str]
    file: str
    sha256: str
    findings: tuple[Finding, ...]

    def __len__(self) -> int:
        return len(self.columns["row"])

    @cached_property
    def frame(self) -> pd.DataFrame:
        """The same as a frame, one row a run; `start` is datetime64[ns], NaT when absent.

        Made when it is asked for: what only looks the runs over does without, and at once.
        """
        import pandas as pd

        starts = pd.Series(self.columns["start"], dtype="datetime64[ns]")
        return pd.DataFrame({**self.columns, "start": starts})
