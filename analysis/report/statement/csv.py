"""The statement's lines for a spreadsheet, as printed and as numbers; no cell becomes a formula."""

from __future__ import annotations

import csv
import io

from slackwater.analysis.report.audit.csv import safe_cell
from slackwater.analysis.statement.contents import Statement
from slackwater.analysis.wording.numbers import MINUS, NBSP

_NUMBERS = ("change", "low", "high", "noise_floor", "confidence")


def render(statement: Statement) -> str:
    """One row a line: first as it may be printed, then unrounded fractions, then where it is from."""
    from slackwater import __version__

    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    printed = statement.to_dict()["sections"]
    columns = list(printed[0]["lines"][0]) if printed else []
    numbers = [f"unrounded_{name}" for name in _NUMBERS]
    writer.writerow([*columns, *numbers, "trial", "protocol_sha256", "runs_sha256", "tool"])
    protocol, _, inputs = statement.stamps
    runs = next((each.sha256 for each in inputs if each.role == "runs"), "")
    origin = [statement.trial, protocol.sha256, runs, f"slackwater {__version__}"]
    rows = [row for section in printed for row in section["lines"]]
    for row, (_, line) in zip(rows, statement.lines, strict=True):
        own = [getattr(line.row, name) for name in _NUMBERS]
        texts = ["" if value is None else str(value) for value in row.values()]
        texts += ["" if number is None else f"{number:.6g}" for number in own]
        writer.writerow([_cell(text) for text in (*texts, *origin)])
    return stream.getvalue()


def _cell(text: str) -> str:
    return safe_cell(text.replace(NBSP, " ").replace(MINUS, "-"))
