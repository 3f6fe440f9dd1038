"""What people scored, ready to be written: how far they agree, whether they were blind, what ranks say."""

from __future__ import annotations

from typing import Any

from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.report.trial.tables import title_of
from slackwater.analysis.result.result import Result
from slackwater.analysis.wording.numbers import MISSING, fixed
from slackwater.analysis.wording.words import count_of, listed, quantity_title

TITLE = "What people scored"
NOT_BLIND = (
    "The raters were not blind: what they hoped for stands in the scores, and nothing in the "
    "figures tells how much of a difference that is."
)


def used_scores(result: Result, quantity: str) -> list[dict[str, Any]]:
    """The scores of an item that count."""
    return [
        row
        for row in result.records("rating_scores")
        if row["quantity"] == quantity and not row["set_aside"] and row["score"] is not None
    ]


def sentences(result: Result) -> list[str]:
    """Blinding first, then each item: agreement, who felt what, what ranks say."""
    items = result.records("ratings")
    if not items:
        return []
    told = [_blinding(result, items[0])]
    for item in items:
        told += _of_item(result, item)
    return told


def _blinding(result: Result, item: dict[str, Any]) -> str:
    word, why = str(item["blinding"]), str(item["blinding_why"])
    lead = NOT_BLIND if word == "not blind" else f"Blinding: {word}."
    text = f"{lead} {why[:1].upper()}{why[1:]}."
    bang = [row for row in result.records("blinding") if row["index"] == "Bang"]
    if not bang:
        return text
    counts = listed(
        [
            f"{row['right']} right, {row['wrong']} wrong and {row['unsure']} unsure with "
            f"{title_of(result, row['configuration'])}"
            for row in bang
        ]
    )
    text += f" Guesses: {counts}."
    if all(row["value"] is not None for row in bang):
        indices = listed([fixed(row["value"], 2, signed=True) for row in bang])
        james = next(row for row in result.records("blinding") if row["index"] == "James")
        text += (
            f" Bang's index {indices} (0 as by chance, 1 all right); James's "
            f"{fixed(james['value'], 2)} (0.5 as by chance, 0 all right)."
        )
    return text


def _of_item(result: Result, item: dict[str, Any]) -> list[str]:
    title = str(item["title"] or quantity_title(item["quantity"]))
    if item["reason"]:
        return [f"{title}: untestable; {item['reason']}."]
    told = []
    for row in result.records("rating_ranks"):
        if row["quantity"] != item["quantity"]:
            continue
        modified = title_of(result, row["modified"])
        up, down = row["raters_up"], row["raters_down"]
        level = (item["raters"] or 0) - up - down
        text = f"{title}: {count_of(up, 'rater')} scored {modified} higher, {down} lower"
        text += f", {level} alike" if level else ""
        if item["scale"] == "ordinal":
            text += f". By ranks within each rater, which need no equal steps: {_by_ranks(row)}"
        told.append(f"{text}.")
    return told


def _by_ranks(row: dict[str, Any]) -> str:
    if row["change"] is None:
        return "nothing can be told"
    often = fixed(100 * row["change"], 0, signed=True)
    ends = (
        ""
        if row["low"] is None
        else (
            f" ({fixed(100 * row['low'], 0, signed=True)} to {fixed(100 * row['high'], 0, signed=True)})"
        )
    )
    agree = "as the points do" if row["same"] else "and not as the points do: steps matter here"
    return f"higher less lower {often} % of the pairs of sessions{ends}, {row['verdict']}, {agree}"


def agreement(result: Result) -> Sheet | None:
    """A row an item: its raters and how far they agree; None without ratings."""
    rows = tuple(
        (
            str(item["title"]),
            str(item["blinding"]),
            f"{item['lowest']} to {item['highest']}, {item['scale']}",
            str(item["raters"]),
            _with_ends(item, "icc"),
            _with_ends(item, "icc_mean"),
            _two(item["kendall_w"]),
            _two(item["alpha"]),
            "< 0.001" if (item["agreement_p"] or 1) < 0.001 else _two(item["agreement_p"]),
            "yes" if item["agrees"] else "no",
        )
        for item in result.records("ratings")
    )
    if not rows:
        return None
    headings = (
        *("item", "blinding", "scale", "raters", "ICC, one rater", "ICC, their mean"),
        *("Kendall's W", "Krippendorff's alpha", "p", "agree"),
    )
    note = (
        "ICC two-way, absolute, with 95 % limits; alpha ordinal; p that raters who agree on nothing "
        "would differ as much over the sessions."
    )
    return Sheet("agreement of the raters", headings, rows, frozenset(range(3, 9)), note, True)


def _two(value: float | None) -> str:
    return MISSING if value is None else fixed(value, 2)


def _with_ends(item: dict[str, Any], key: str) -> str:
    if item[key] is None:
        return MISSING
    ends = [item[f"{key}_low"], item[f"{key}_high"]]
    told = "" if None in ends else f" ({fixed(ends[0], 2)} to {fixed(ends[1], 2)})"
    return f"{fixed(item[key], 2)}{told}"
