"""Labels of a row: the session that it belongs to, and the reason for setting it aside."""

from __future__ import annotations

import difflib
from collections.abc import Collection

from slackwater.analysis.intake.cells import CellError, read_label, read_number
from slackwater.analysis.intake.grid import Cell, Row, clean, plain, quoted

SUMMARY_WORDS = frozenset(
    {"mean", "means", "average", "averages", "avg", "total", "totals", "sum", "subtotal", "count"}
    | {"median", "std", "stdev", "sd", "s.d.", "min", "minimum", "max", "maximum", "range"}
)
NO_REASON = frozenset(
    {"0", "1", "y", "n", "x", "yes", "no", "true", "false", "ja", "nein", "oui", "non", "ok"}
    | {"-", "--", "---", "–", "—", "na", "n/a", "#n/a", "none", "null", "nan"}
)


def read_session(row: Row, index: int, known: Collection[str]) -> str:
    """Read the session that a row belongs to, compared as text with those of the trial.

    Parameters
    ----------
    row : Row
        With the session in the cell `index`, counted from 0.
    known : collection of str
        Sessions of the trial.

    Raises
    ------
    CellError
        When the row has no session, an unknown one, or is a summary of other rows.
    """
    label = read_label(row.cells[index])
    if label in known:
        return label
    first = label or next((plain(c) for c in row.cells if plain(c)), "")
    if is_summary(first):
        raise CellError(
            "summary-row",
            f"{quoted(first)} makes this a summary row, not a run; it would be counted as one more",
            "delete it: one row a run, and nothing that is computed from other rows",
        )
    if not label:
        raise CellError(
            "session-missing",
            "the row has no session",
            "write the session in every row that is a run; delete the row if it is a summary or "
            "a remark",
        )
    raise CellError(
        "session-unknown", f"{quoted(label)} is not a session of the trial", _meant(label, known)
    )


def _meant(label: str, known: Collection[str]) -> str:
    """A way out for a session that is not known: the one that may be meant."""
    same = [k for k in known if k.lstrip("0") == label.lstrip("0") != ""]
    if same:
        return (
            f"did you mean '{same[0]}'? Spreadsheets drop leading zeros: format the column as "
            "text, or rename the session in the trial"
        )
    listed = ", ".join(list(known)[:12]) + (", …" if len(known) > 12 else "")
    way = f"correct the row, or add the session to the trial; its sessions are: {listed}"
    folded = [k for k in known if k.casefold() == label.casefold()]
    near = folded or difflib.get_close_matches(label, known, n=1)
    return f"did you mean '{near[0]}'? Else {way}" if near else way


def is_summary(label: str) -> bool:
    """Whether a label is one that summary rows carry: mean, total, Average speed, …"""
    folded = clean(label).casefold().rstrip(":").replace(" ", "_")
    return folded in SUMMARY_WORDS or folded.split("_", 1)[0] in {
        "mean",
        "average",
        "total",
        "standard",
    }


def read_reason(cell: Cell) -> str:
    """Read the reason for setting a run aside; "" when the run is used.

    Raises
    ------
    CellError
        When the cell holds something that is no reason, such as `no` or `1`.
    """
    text = plain(cell)
    if text and (text.casefold() in NO_REASON or _is_number(text)):
        raise CellError(
            "set-aside-reason",
            f"{quoted(cell)} is not a reason, so whether the run counts cannot be told",
            "write why the run is left out (such as 'crossed a wake'), or leave the cell empty "
            "for a run that counts",
        )
    return text


def _is_number(text: str) -> bool:
    try:
        return read_number(text, ".", lambda _: False) is not None
    except CellError as error:
        return error.rule in {"cell-decimal-mark", "cell-broken-formula"}
