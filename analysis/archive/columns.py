"""The columns of the store: those of a result's tables, and the few that tell trials apart.

A table of the store is a table of the result, under the same name and with the same columns, with
three in front: the trial's file (`path`), what was set otherwise (`setting`, empty for a trial as
declared) and the trial's id.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from slackwater.analysis.result.field import Field
from slackwater.analysis.result.fields import TABLES

if TYPE_CHECKING:
    import pyarrow as pa

#: Tables of a result that are not kept: nobody asks for the one, and the curve tells the other.
NOT_KEPT = ("cross_check", "current_runs")
OF_A_RESULT = tuple(name for name in TABLES if name not in NOT_KEPT)

KEY = (
    Field("path", "text", "the trial's file, from the folder of the archive"),
    Field("setting", "text", "keys of the protocol set otherwise; empty for the trial as declared"),
)
_TRIAL = Field("trial", "text", "id of the trial")

TRIALS = (
    *KEY,
    Field("state", "text", "what came of it", choices=("analysed", "broken")),
    Field("present", "flag", "whether the file was there at the last pass"),
    _TRIAL,
    Field("title", "text", "what was tried"),
    Field("boat", "text", "title of the boat"),
    Field("protocol", "text", "id of the protocol"),
    Field("version", "text", "version of the protocol"),
    Field("protocol_sha256", "text", "of the protocol's file"),
    Field("tool", "text", "version of slackwater that analysed it"),
    Field("inputs", "text", "SHA-256 over all inputs; empty where it is to be tried again"),
    Field("passed", "text", "when the pass began that analysed it, UTC, ISO 8601"),
    Field("content", "text", "SHA-256 of what the runs say, whatever their file looks like"),
    Field("first_day", "text", "of the sessions, ISO 8601; empty where none is noted"),
    Field("last_day", "text", "of the sessions, ISO 8601; empty where none is noted"),
    Field("invented", "flag", "nothing was measured"),
    Field("runs_read", "integer", "rows of the run table"),
    Field("runs_used", "integer", "runs that were used"),
    Field("runs_set_aside", "integer", "runs that were set aside"),
    Field("seal", "text", "state of the seal"),
    Field("message", "text", "what keeps a broken trial from being analysed"),
    Field("outcome", "text", "the trial as statistics of many trials take it, JSON"),
    Field("noise_outcome", "text", "the same without its changes and sessions, JSON"),
)
INPUTS = (
    *KEY,
    Field("file", "text", "a file read or looked for, from the folder of the archive"),
    Field("sha256", "text", "of its bytes; a word where it has none"),
)
FINDINGS = (
    *KEY,
    _TRIAL,
    Field("kind", "text", "what it is", choices=("deviation", "finding", "fault")),
    *(
        Field(name, "integer" if name in ("line", "column") else "text", "as in the result")
        for name in ("rule", "severity", "file", "line", "column", "session", "run")
    ),
    *(Field(name, "text", "as in the result") for name in ("message", "fix", "source")),
)
#: What a verdict comes from, before and after.
FIGURES = ("verdict", "change", "noise_floor", "p_value", "confidence", "worthwhile")
DIFFERING = (
    *KEY,
    _TRIAL,
    *(Field(name, "text", "as in comparisons") for name in ("baseline", "modified")),
    *(Field(name, "text", "as in comparisons") for name in ("quantity", "at")),
    *(
        Field(f"{when}_{name}", "text" if name == "verdict" else "number", "as in comparisons")
        for name in FIGURES
        for when in ("old", "new")
    ),
    *(Field(f"{when}_tool", "text", "version of slackwater") for when in ("old", "new")),
    Field("why", "text", "what was changed: inputs, version, setting or nothing"),
    Field("reason", "text", "which of the figures behind the verdict changed"),
    Field("passed", "text", "when the pass began that found it, UTC, ISO 8601"),
)
PASSES = (
    Field("passed", "text", "when it began, UTC, ISO 8601"),
    Field("setting", "text", "as in trials"),
    Field("tool", "text", "version of slackwater"),
    Field("again", "flag", "whether trials were analysed that had not changed"),
    Field("ended", "flag", "whether it came to its end; one that was broken off is taken up again"),
)

COLUMNS: dict[str, tuple[Field, ...]] = {
    "trials": TRIALS,
    "inputs": INPUTS,
    **{name: (*KEY, _TRIAL, *TABLES[name]) for name in OF_A_RESULT},
    "findings": FINDINGS,
    "differing": DIFFERING,
    "passes": PASSES,
}

SQL_TYPES = {"text": "VARCHAR", "number": "DOUBLE", "integer": "BIGINT", "flag": "BOOLEAN"}


def rows_to_table(name: str, rows: Sequence[dict[str, Any]]) -> pa.Table:
    """Rows as an Arrow table with the columns of the store; what a row lacks is null.

    Parameters
    ----------
    name : str
        One of `COLUMNS`.
    rows : sequence of dict
    """
    import pyarrow as pa

    types = {"text": pa.string(), "number": pa.float64(), "integer": pa.int64(), "flag": pa.bool_()}
    fields = COLUMNS[name]
    return pa.table(
        {f.name: pa.array([row.get(f.name) for row in rows], types[f.kind]) for f in fields}
    )
