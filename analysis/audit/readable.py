"""What may be written in claims: quantities with their units, places, and ways to state a figure."""

from __future__ import annotations

from typing import Any

from slackwater.protocol.catalogue.manoeuvre_kinds import CLAIMED
from slackwater.protocol.units.quantity import fitting

#: Ways to state a figure, each with what it is taken for.
STATEMENTS: tuple[tuple[str, str], ...] = (
    ("+5 %, 5 % more, -5 %, 5 % less", "a size, every value that would be printed so"),
    ("about 30 %, ~30 %, some 30 %", "as coarse as it looks: 25 to 35 %; our own choice"),
    ("nearly 5 %, just over 5 %", "to one side, a tenth of the size; our own choice"),
    ("5 ± 1 %, 5 % ± 1 %", "the size with what it may be off"),
    ("+2.0 % (0.2 to 3.8 %)", "a size with its interval"),
    ("3 to 5 %, between 3 and 5 %", "a range"),
    (
        "a quarter less, half more, twice, halved",
        "a part in words, off by 15 % of itself at most; our own choice",
    ),
    ("at least 3 %, over 3 %, 3 % or more", "a bound that is kept"),
    ("no more than 3 % slower, at least -3 %, under 3 % less", "a margin on one side"),
    ("within 3 %, -3 to 3 %, 3 % either way", "a margin on both sides"),
    ("no change, unchanged, no loss", "with the margin that the protocol declares"),
    ("up to 8 %, 8 % at best", "where it is largest"),
    ("5 % on average", "over the range, or the whole sweep"),
    ("2 min 30 s for a mile, 2:30 per nautical mile", "a speed"),
)
PLACES: tuple[tuple[str, str], ...] = (
    ("2400 rpm, 70 %, 150 kW", "a set point, or between two"),
    ("16 kn", "at equal speed"),
    ("2300 to 3200 rpm, above 3000 rpm", "the average over a range"),
    ("everywhere, anywhere, average", "every set point; where it is best; all on average"),
)


def quantities() -> list[dict[str, Any]]:
    """Every quantity of the catalogue, with the units that fit."""
    return [
        {
            "quantity": measure.name,
            "title": measure.title,
            "units": list(fitting(measure.unit)[1]) if measure.unit != "1" else ["%"],
            "compared": "in per cent" if measure.scale == "ratio" else "by difference",
        }
        for measure in CLAIMED.values()
    ]


def as_data() -> dict[str, Any]:
    """The whole list as JSON has it."""
    return {
        "schema": 1,
        "quantities": quantities(),
        "statements": [{"written": text, "read": meaning} for text, meaning in STATEMENTS],
        "places": [{"written": text, "read": meaning} for text, meaning in PLACES],
    }


def as_text() -> str:
    """The whole list as plain text."""
    lines = ["Quantities, and the units that fit"]
    width = max(len(one["quantity"]) for one in quantities()) + 2
    for one in quantities():
        lines.append(f"  {one['quantity']:<{width}}{', '.join(one['units'])}; {one['compared']}")
    for title, rows in (("Figures, under stated:", STATEMENTS), ("Places, under at:", PLACES)):
        lines += ["", title, *(f"  {text}\n      {meaning}" for text, meaning in rows)]
    lines += [
        "",
        "Gallons are American unless 'imp' stands before them, miles statute unless 'nautical' does;",
        "what a unit was taken for is told beside the claim. 'slackwater explain' lists the checks.",
    ]
    return "\n".join(lines) + "\n"
