"""Verdicts that differ from what is kept, old and new, and which of the figures behind them changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from slackwater.analysis.archive.columns import FIGURES, rows_to_table

if TYPE_CHECKING:
    import duckdb

#: Figures that differ by less are the same: rounding of sums taken in another order.
SAME = 1e-9
#: Adjusted p-values are read from a table of quantiles and are good to the third decimal.
SAME_P = 0.0005
NAMES = {
    "change": "estimate",
    "noise_floor": "noise floor",
    "p_value": "p-value",
    "confidence": "declared confidence",
    "worthwhile": "declared worthwhile difference",
}
THE_RULE = "the rule that puts figures into words: the figures are the same"
NOT_BEFORE = "this was not compared before"
NO_LONGER = "this is no longer compared"

_OLD = ", ".join(f'o."{name}" AS "old_{name}"' for name in FIGURES)
_NEW = ", ".join(f'n."{name}" AS "new_{name}"' for name in FIGURES)
# What is kept of the trials staged, and no more, so that it takes the same room in any store.
_KEPT = """
CREATE OR REPLACE TEMP TABLE staged_kept AS
SELECT path, tool, inputs FROM trials
WHERE setting = '' AND state = 'analysed' AND path IN (SELECT path FROM staged_trials)
"""
_OLD_ROWS = f"""
CREATE OR REPLACE TEMP TABLE staged_old AS
SELECT path, baseline, modified, quantity, "at", {", ".join(f'"{name}"' for name in FIGURES)}
FROM comparisons WHERE setting = '' AND path IN (SELECT path FROM staged_kept)
"""
# What a setting changes is told against the trial as declared; anything else against what it was.
_QUERY = f"""
WITH pairs AS (
    SELECT n.path, n.setting, n.trial, o.tool AS old_tool,
           n.tool AS new_tool, o.inputs AS old_inputs, n.inputs AS new_inputs
    FROM staged_trials n JOIN staged_kept o USING (path)
    WHERE n.state = 'analysed'
), old AS (
    SELECT p.setting AS new_setting, c.* FROM pairs p JOIN staged_old c USING (path)
), new AS (
    SELECT c.* FROM staged_comparisons c JOIN pairs p USING (path, setting)
), joined AS (
    SELECT coalesce(n.path, o.path) AS path, coalesce(n.setting, o.new_setting) AS setting,
           coalesce(n.baseline, o.baseline) AS baseline,
           coalesce(n.modified, o.modified) AS modified,
           coalesce(n.quantity, o.quantity) AS quantity, coalesce(n."at", o."at") AS "at",
           {_OLD}, {_NEW}
    FROM old o FULL JOIN new n
      ON o.path = n.path AND o.new_setting = n.setting AND o.baseline = n.baseline
     AND o.modified = n.modified AND o.quantity = n.quantity AND o."at" = n."at"
    WHERE o.verdict IS DISTINCT FROM n.verdict
)
SELECT joined.*, pairs.trial, old_tool, new_tool, old_inputs <> new_inputs AS other_inputs
FROM joined JOIN pairs USING (path, setting)
"""


def record_differing(connection: duckdb.DuckDBPyConnection, passed: str) -> None:
    """Note which verdicts of the trials staged differ from those that are kept.

    It is called before these are replaced, in the same transaction.
    """
    connection.execute(
        "DELETE FROM differing WHERE setting <> '' AND (path, setting) IN "
        "(SELECT path, setting FROM staged_trials)"
    )
    connection.execute(_KEPT)
    if not connection.execute("SELECT count(*) FROM staged_kept").fetchall()[0][0]:
        return
    connection.execute(_OLD_ROWS)
    found = connection.execute(_QUERY)
    names = [column[0] for column in found.description or ()]
    rows = [dict(zip(names, row, strict=True)) for row in found.fetchall()]
    if rows:
        told = [row | {"why": _why(row), "reason": reason(row), "passed": passed} for row in rows]
        connection.register("staged_differing", rows_to_table("differing", told))
        connection.execute("INSERT INTO differing BY NAME SELECT * FROM staged_differing")


def _why(row: Mapping[str, Any]) -> str:
    if row["setting"]:
        return "setting"
    changed = [
        word
        for word, so in (
            ("version", row["old_tool"] != row["new_tool"]),
            ("inputs", row["other_inputs"]),
        )
        if so
    ]
    return " and ".join(changed) or "neither version nor inputs"


def reason(row: Mapping[str, Any]) -> str:
    """Which of the figures behind a verdict changed.

    Parameters
    ----------
    row : mapping
        With `old_` and `new_` of each of `columns.FIGURES`.
    """
    if row["old_verdict"] is None:
        return NOT_BEFORE
    if row["new_verdict"] is None:
        return NO_LONGER
    changed = [
        word
        for name, word in NAMES.items()
        if not _same(row[f"old_{name}"], row[f"new_{name}"], SAME_P if name == "p_value" else 0.0)
    ]
    return ", ".join(changed) or THE_RULE


def _same(old: float | None, new: float | None, apart: float) -> bool:
    if old is None or new is None:
        return old is new
    return abs(new - old) <= max(apart, SAME * max(abs(old), abs(new)))
