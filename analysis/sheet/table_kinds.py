"""The tables that a tablet hands rows of: what each is called, and which of its columns say what a row is of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Trial

#: The cells that name a row, and which attempt at it the row is.
Key = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class TableKind:
    """One kind of table.

    Parameters
    ----------
    name : str
        What its rows are, as a word for several; also the option of `--rows`.
    title : str
        What the table is called.
    naming : tuple of str
        Columns that say what a row is of, the session first; everything else is what was seen of it.
    numbers : tuple of str
        Those of them that hold numbers: 8 and 8.0 are one.
    file : callable
        The table's file as a trial names it, from the trial's folder; None where it names none.
    fix : str
        What to write into a trial that names none.
    words : callable
        A key in words, without its session.
    """

    name: str
    title: str
    naming: tuple[str, ...]
    numbers: tuple[str, ...]
    file: Callable[[Trial], Path | None]
    fix: str
    words: Callable[[Key], str]


def _again(key: Key) -> str:
    return f", attempt {key[-1]}" if key[-1] != 1 else ""


def _run_words(key: Key) -> str:
    return f"set point {key[1]}, double run {key[2]}, {key[3]}{_again(key)}"


def _try_words(key: Key) -> str:
    return f"{key[1]}, try {key[3]} {key[2]}".rstrip() + _again(key)


RUNS = TableKind(
    "runs",
    "run table",
    ("session", "set_point", "double_run", "direction"),
    ("set_point", "double_run"),
    lambda trial: trial.runs,
    "name it in the trial ('runs: runs.csv')",
    _run_words,
)
TRIES = TableKind(
    "tries",
    "table of tries",
    ("session", "manoeuvre", "direction", "try"),
    ("try",),
    lambda trial: trial.manoeuvres,
    "name it in the trial ('manoeuvres: tries.csv'); it is made by the merge",
    _try_words,
)
RATINGS = TableKind(
    "ratings",
    "table of ratings",
    ("session", "item", "rater"),
    (),
    lambda trial: trial.ratings,
    "name it in the trial ('ratings: ratings.csv'); it is made by the merge",
    lambda key: f"{key[2]} on {key[1]}{_again(key)}",
)
KINDS = (RUNS, TRIES, RATINGS)
