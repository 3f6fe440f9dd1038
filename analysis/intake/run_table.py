"""The table of runs, as everything after the reading has it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class RunTable:
    """All runs of a table, used and set aside, in the order of the file.

    Parameters
    ----------
    frame : pandas.DataFrame
        One row a run, with the columns `row` (int, as a person counts rows of the file), `session`
        and `configuration` (str), `set_point` (float, in the protocol's unit), `double_run` (int
        from 1; 0 for a run set aside that has no number), `direction` ("out", "back" or ""),
        `heading` (float [deg], NaN when absent), `start` (datetime64[ns] without zone, NaT when
        absent), `duration` (float [s], NaN when absent), a float column for each declared measure
        in its working unit (NaN when blank), `set_aside` (str, "" for a run that is used) and
        `note` (str).
    units : dict
        Unit of each number column.
    file, sha256 : str
        The file's name as it was given, and the digest of its bytes.
    findings : tuple of Finding
        Warnings and advice; errors are raised instead.
    """

    frame: pd.DataFrame
    units: dict[str, str]
    file: str
    sha256: str
    findings: tuple[Finding, ...]
