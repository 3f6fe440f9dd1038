"""An audit as a table for a spreadsheet, in which no cell from a file can become a formula."""

from __future__ import annotations

import csv
import io
import re

from slackwater.analysis.audit.outcome import AuditResult
from slackwater.analysis.wording.characters import printable

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")
_STATED = ("baseline", "modified", "difference", "change")
_NUMBERS = ("stated_low", "stated_high", "stated_over_measured", "recomputed", "low", "high")


def safe_cell(text: str) -> str:
    """The text so that a spreadsheet takes it for text: an apostrophe before what starts a formula.

    A plain number stays what it is.
    """
    plain = printable(text)
    if plain.lstrip().startswith(_STARTS_A_FORMULA) and not _NUMBER.fullmatch(plain):
        return f"'{plain}"
    return plain


def render(result: AuditResult) -> str:
    """One row a claim."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    head = ["id", "quantity", "baseline", "modified", "at", "verdict", "why"]
    stated = [f"stated {name}" for name in _STATED]
    writer.writerow([*head, *stated, *(name.replace("_", " ") for name in _NUMBERS), "unit"])
    for claim in result.claims:
        numbers = [getattr(claim, name) for name in _NUMBERS]
        texts = [getattr(claim, name) for name in head]
        texts += [claim.stated.get(name, "") for name in _STATED]
        texts += ["" if number is None else f"{number:.6g}" for number in numbers]
        writer.writerow([safe_cell(str(text)) for text in (*texts, claim.unit)])
    return stream.getvalue()
