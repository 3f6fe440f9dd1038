"""A cell to a number, a count or a text, and what to say when it is none."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from datetime import date, datetime, time, timedelta

from slackwater.analysis.intake.grid import Cell, Uncomputed, clean, is_blank, plain, quoted

MISSING = frozenset({"", "-", "--", "---", "–", "—", "n/a", "#n/a", "na"})
BROKEN = frozenset(
    {
        "#div/0!",
        "#ref!",
        "#value!",
        "#num!",
        "#name?",
        "#null!",
        "#spill!",
        "#calc!",
        "#getting_data",
    }
)
NOT_FINITE = frozenset({"nan", "inf", "infinity", "-nan", "1.#inf", "1.#qnan", "null", "none"})

_NUMBER = re.compile(
    r"([+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?)(.*)", re.DOTALL
)
_PLAIN = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?")
_GROUPED = re.compile(
    r"[+-]?[0-9]{1,3}(?:(?P<mark>[ '’.,\u00a0\u2009\u202f])[0-9]{3})(?:(?P=mark)[0-9]{3})*"
    r"(?:[.,][0-9]+)?(?![0-9])"
)
_CLOCK = re.compile(r"[0-9]{1,3}:[0-9]{2}(?::[0-9]{2})?(?:[.,][0-9]+)?")
_DATE = re.compile(r"[0-9]{1,4}([-/])[0-9]{1,2}\1[0-9]{1,4}")
_COMMA = re.compile(r"[+-]?[0-9]*,[0-9]+(?:[eE][+-]?[0-9]+)?(?![0-9.,])")
_POINT = re.compile(r"[+-]?[0-9]*\.[0-9]+(?:[eE][+-]?[0-9]+)?(?![0-9.,])")
_EITHER = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}(?![0-9])")


class CellError(ValueError):
    """A cell that cannot be read: the rule it breaks, what was found, and the mend."""

    def __init__(self, rule: str, message: str, fix: str) -> None:
        self.rule, self.message, self.fix = rule, message, fix
        super().__init__(message)


def is_missing(cell: Cell) -> bool:
    """Whether a cell under numbers says, in one of the usual ways, that there is none."""
    return is_blank(cell) or (isinstance(cell, str) and clean(cell).casefold() in MISSING)


def read_number(cell: Cell, decimal: str, same_unit: Callable[[str], bool]) -> float | None:
    """Read a cell as a number.

    Parameters
    ----------
    cell : Cell
        What the file holds.
    decimal : str
        The file's decimal mark, "." or ",".
    same_unit : callable
        Whether a text after the number is the unit of the column.

    Returns
    -------
    float or None
        None for a blank cell or a mark that stands for one.

    Raises
    ------
    CellError
        When it is anything else than a finite number, in the unit of its column.
    """
    if isinstance(cell, str):
        if _PLAIN.fullmatch(cell) and (decimal == "." or "." not in cell):
            return _finite(cell, cell)
        return None if is_missing(cell) else _number_from_text(cell, decimal, same_unit)
    if cell is None:
        return None
    if isinstance(cell, bool):
        raise CellError("cell-not-number", f"{quoted(cell)} is not a number", "write the number")
    if isinstance(cell, int | float):
        return _finite(cell, plain(cell))
    if isinstance(cell, Uncomputed):
        raise _uncomputed(cell)
    raise _not_a_time(cell)


def _number_from_text(cell: str, decimal: str, same_unit: Callable[[str], bool]) -> float:
    text = clean(cell).replace("−", "-")
    folded = text.casefold()
    if folded in BROKEN:
        raise CellError(
            "cell-broken-formula",
            f"{quoted(cell)} is the result of a broken formula",
            "mend the formula and export again, or leave the cell empty",
        )
    if folded.lstrip("+-") in NOT_FINITE:
        raise CellError(
            "cell-not-finite",
            f"{quoted(cell)} is not a finite number",
            "leave the cell empty when there is no value",
        )
    if _CLOCK.match(text) or _DATE.match(text):
        raise _not_a_time(cell)
    match = _NUMBER.fullmatch(text)
    grouped = _GROUPED.match(text)
    if grouped and (match is None or grouped["mark"] not in ".," or match[2][:1] in (".", ",")):
        digits = grouped[0].replace(grouped["mark"], "").replace(",", ".")
        raise CellError(
            "cell-thousands",
            f"{quoted(cell)} has its thousands set apart",
            f"write {digits}: the digits together, with no mark but the decimal one",
        )
    if match is None:
        raise CellError(
            "cell-not-number",
            f"{quoted(cell)} is not a number",
            "write a number, or leave the cell empty when there is no value",
        )
    number, rest = match[1], clean(match[2])
    _check_mark(cell, number, decimal)
    if rest and not same_unit(rest):
        raise _other_text(cell, number, rest)
    return _finite(number.replace(",", "."), cell)


def _check_mark(cell: str, number: str, decimal: str) -> None:
    other = "," if decimal == "." else "."
    if other not in number:
        return
    names = {".": "point", ",": "comma"}
    raise CellError(
        "cell-decimal-mark",
        f"{quoted(cell)} has a {names[other]}, other numbers of this file have a decimal "
        f"{names[decimal]}: it may be a decimal mark or set thousands apart",
        "write every number of the file with the same decimal mark and nothing between thousands",
    )


def _other_text(cell: str, number: str, rest: str) -> CellError:
    if _NUMBER.match(rest) or rest[0] in "-–/±":
        return CellError(
            "cell-not-number", f"{quoted(cell)} is not one number", "write one number in each cell"
        )
    return CellError(
        "cell-other-unit",
        f"{quoted(cell)} carries '{rest}', which is not the unit in the heading",
        f"convert it to the unit of the heading and write the number alone, without '{rest}'",
    )


def _finite(value: str | float, shown: str) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise CellError(
            "cell-not-finite",
            f"'{shown[:40]}' is not a finite number",
            "correct it, or leave the cell empty when there is no value",
        )
    return number


def _uncomputed(cell: Uncomputed) -> CellError:
    return CellError(
        "cell-formula",
        f"the cell holds the formula {quoted(cell)} and the file does not hold its value",
        "open and save the workbook in a spreadsheet program, or paste values over the formulas",
    )


def _not_a_time(cell: str | datetime | date | time | timedelta) -> CellError:
    kind = "a date" if isinstance(cell, date) or _DATE.match(plain(cell)) else "a time"
    return CellError(
        "cell-clock",
        f"{quoted(cell)} is {kind}, not a number; a spreadsheet may have made it one",
        "format the column as a number and enter it again; a duration is written in its unit "
        "(125.4 for 2 min 5.4 s), and a pace is turned into a speed first: the mean of paces is "
        "not the pace of the mean",
    )


def read_count(cell: Cell) -> int | None:
    """Read a cell as a whole number from 1 up; None when it is blank.

    Raises
    ------
    CellError
        When it is anything else.
    """
    number = read_number(cell, ".", lambda _: False)
    if number is None:
        return None
    if number != int(number) or not 1 <= number <= 1_000_000:
        raise CellError(
            "double-run-number",
            f"{quoted(cell)} is not a whole number from 1 up",
            "number the double runs 1, 2, 3, … within session and set point",
        )
    return int(number)


def read_label(cell: Cell) -> str:
    """Read a cell as the label of a group: a text as it stands, `007`, `NA` and `None` too.

    Raises
    ------
    CellError
        When a spreadsheet has turned it into a date, or it has no value.
    """
    if isinstance(cell, datetime | date | time | timedelta):
        raise CellError(
            "label-date",
            f"{quoted(cell)} is a date or a time, not a label; spreadsheets make dates of labels "
            "such as 3-2",
            "format the column as text and enter the label again",
        )
    if isinstance(cell, Uncomputed):
        raise _uncomputed(cell)
    return plain(cell)


def decimal_mark(cells: Iterable[Cell]) -> tuple[str, bool]:
    """The decimal mark of a file's numbers, and whether it can be told.

    Numbers with a comma decide it when they are more than those with a point. It cannot be told
    when every one of them could as well be a thousand set apart, as in `2,500`.
    """
    commas = points = either = 0
    for cell in cells:
        if not isinstance(cell, str):
            continue
        if "," in cell:
            text = clean(cell)
            commas += bool(_COMMA.match(text))
            either += bool(_EITHER.match(text))
        elif "." in cell:
            points += bool(_POINT.match(clean(cell)))
    if commas <= points:
        return ".", True
    return ",", not (points == 0 and either == commas)
