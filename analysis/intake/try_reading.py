"""Rows of cells to tries of manoeuvres: every cell read, everything wrong with it told."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import TypeVar

from slackwater.analysis.intake.cells import CellError, is_missing, read_label, read_number
from slackwater.analysis.intake.grid import Cell, Row, plain, quoted
from slackwater.analysis.intake.headings import Column
from slackwater.analysis.intake.labels import read_reason, read_session
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.tries import Asked, Try
from slackwater.protocol.declared.invented import MARKED
from slackwater.protocol.declared.manoeuvres import Manoeuvre, kind_of
from slackwater.protocol.units.possible import FIX as POSSIBLE_FIX
from slackwater.protocol.units.possible import is_possible, why_impossible
from slackwater.protocol.units.quantity import QuantityError, normal_unit

T = TypeVar("T")

#: What crews write for the two sides, and for the wind.
_WORDS: dict[str, str] = {
    **dict.fromkeys(("p", "left", "to port"), "port"),
    **dict.fromkeys(("s", "stbd", "sb", "right", "to starboard"), "starboard"),
    **dict.fromkeys(("downwind", "with the wind", "with wind"), "with"),
    **dict.fromkeys(("upwind", "against the wind", "against wind", "into the wind"), "against"),
}
_MOST = 10_000  # tries in one direction of a session


class TryReader:
    """Reads the rows of one table, told what its columns are and what may stand in them."""

    def __init__(
        self, columns: Mapping[str, Column], asked: Asked, problems: Problems, decimal: str
    ) -> None:
        self.columns, self.asked, self.problems, self.decimal = columns, asked, problems, decimal
        self.seen: dict[tuple[str, str, str, int], int] = {}
        self.values = [name for name in asked.values if name in columns]

    def tell_unsure_mark(self, rows: Sequence[Row], numbers: Sequence[int]) -> None:
        """Numbers that may have a decimal comma or their thousands set apart."""
        row, index = next((row, i) for row in rows for i in numbers if "," in plain(row.cells[i]))
        self.problems.error(
            "cell-thousands",
            f"{quoted(row.cells[index])} in row {row.number} may have a decimal comma or its "
            "thousands set apart, and no number of the file decides it",
            "write thousands without a mark; or write the decimals with a point",
            row=row,
            index=index,
        )

    def read(self, row: Row) -> Try | None:
        """One row; None where something is wrong with it."""
        before = self.problems.errors
        session = self._told(row, "session", lambda: self._session(row))
        name = self._told(row, "manoeuvre", lambda: self._manoeuvre(row))
        aside = self._told(row, "set_aside", lambda: read_reason(self._cell(row, "set_aside")))
        number = self._told(row, "try", lambda: self._number(row, aside or ""))
        helmsman = self._told(row, "helmsman", lambda: read_label(self._cell(row, "helmsman")))
        if session is None or name is None or aside is None:
            return None
        manoeuvre = self.asked.manoeuvres[name]
        way = self._told(row, "direction", lambda: self._direction(row, name, aside))
        note = plain(self._cell(row, "note"))
        self._check_invented(row, note, aside)
        values = self._read_values(row, name, manoeuvre, aside)
        if self.problems.errors > before or number is None or way is None:
            return None
        if not values and not aside:
            self._tell_empty(row, session, manoeuvre)
            return None
        made = Try(
            row.number,
            session,
            self.asked.sessions[session],
            name,
            way,
            number,
            values,
            helmsman or "",
            aside,
            note,
        )
        return made if made.set_aside or self._once(row, made) else None

    # --- the cells -------------------------------------------------------------------------------

    def _cell(self, row: Row, name: str) -> Cell:
        column = self.columns.get(name)
        return None if column is None else row.cells[column.index]

    def _told(self, row: Row, name: str, read: Callable[[], T]) -> T | None:
        """What a cell holds; None, and a fault told, where that cannot be read."""
        try:
            return read()
        except CellError as error:
            self._error(row, name, error)
            return None

    def _error(self, row: Row, name: str, error: CellError) -> None:
        column = self.columns.get(name)
        index = None if column is None else column.index
        message = f"row {row.number}, {name}: {error.message}"
        self.problems.error(error.rule, message, error.fix, row=row, index=index)

    def _session(self, row: Row) -> str:
        return read_session(row, self.columns["session"].index, self.asked.sessions)

    def _manoeuvre(self, row: Row) -> str:
        label = read_label(self._cell(row, "manoeuvre"))
        key = label.casefold().replace(" ", "_")
        for name, each in self.asked.manoeuvres.items():
            if key and key in (name, (each.title or "").casefold().replace(" ", "_")):
                return name
        raise CellError(
            "manoeuvre-unknown",
            f"{quoted(label)} is no manoeuvre of the protocol"
            if label
            else "no manoeuvre is named",
            _meant(label, list(self.asked.manoeuvres), "manoeuvres"),
        )

    def _number(self, row: Row, aside: str) -> int:
        """Which try it is; 0 for one that is set aside and was never numbered."""
        cell = self._cell(row, "try")
        number = read_number(cell, ".", lambda _: False)
        if number is None and aside:
            return 0
        if number is None or number != int(number) or not 1 <= number <= _MOST:
            found = "the row does not say which try it is"
            raise CellError(
                "try-number",
                found if number is None else f"{quoted(cell)} is not a whole number from 1 up",
                "number the tries 1, 2, 3, … within session, manoeuvre and direction",
            )
        return int(number)

    def _direction(self, row: Row, name: str, aside: str) -> str:
        """One of the manoeuvre's ways; one that is set aside may have none."""
        manoeuvre = self.asked.manoeuvres[name]
        cell = self._cell(row, "direction")
        text = "" if is_missing(cell) else read_label(cell).casefold()
        if manoeuvre.directions == "one_way":
            if text:
                raise CellError(
                    "direction-unknown",
                    f"{quoted(cell)} stands here, and {name} goes one way",
                    "clear the cell, or declare in the protocol which directions balance each other",
                )
            return ""
        text = self.asked.ways.get(text, text) if manoeuvre.directions == "reciprocal" else text
        way = _WORDS.get(text, text)
        if way in manoeuvre.ways:
            return way
        listed = " or ".join(manoeuvre.ways)
        if not text and aside:
            return ""
        if not text:
            raise CellError(
                "direction-missing",
                "the try has no direction; without it its directions cannot be balanced",
                f"write {listed}",
            )
        raise CellError(
            "direction-unknown",
            f"{quoted(cell)} is no direction of {name}",
            _meant(text, list(manoeuvre.ways), "directions"),
        )

    def _read_values(
        self, row: Row, name: str, manoeuvre: Manoeuvre, aside: str
    ) -> dict[str, float]:
        """What was read in this try; what is wrong in one that is set aside is left unread."""
        found: dict[str, float] = {}
        for value in self.values:
            try:
                number = self._value(row, value, name, manoeuvre)
            except CellError as error:
                if not aside:
                    fix = f"{error.fix}; if the try cannot be used, give the reason in set_aside"
                    self._error(row, value, CellError(error.rule, error.message, fix))
                else:
                    self.problems.advice(
                        "set-aside-unread",
                        f"row {row.number}, {value}: {error.message}; the try is set aside, so the "
                        "cell was left unread",
                        row=row,
                        index=self.columns[value].index,
                    )
                continue
            if number is not None:
                found[value] = number
        return found

    def _value(self, row: Row, value: str, name: str, manoeuvre: Manoeuvre) -> float | None:
        column = self.columns[value]
        cell = row.cells[column.index]
        if value not in manoeuvre.values:
            if is_missing(cell):
                return None
            raise CellError(
                "value-of-another",
                f"{quoted(cell)} stands here, and {value} is not read of {name}",
                f"clear the cell, or correct the manoeuvre; {name} has: "
                f"{', '.join(manoeuvre.values)}",
            )
        number = read_number(cell, self.decimal, lambda text: _same_unit(text, column.unit))
        if number is None:
            return None
        number = number * column.slope + column.offset
        measure = manoeuvre.measures[value]
        kind = kind_of(value, manoeuvre.values[value])
        if measure.scale == "ratio" and number <= 0:
            raise CellError(
                "value-not-positive",
                f"{quoted(cell)} is not above zero, and {value} is compared as a ratio",
                "correct it, or leave the cell empty when there is no value",
            )
        of = "" if kind is None else kind.name
        if not is_possible(number, measure.unit, of):
            shown = f"{number:.6g} {measure.unit}"
            why = why_impossible(shown, measure.unit, of)
            raise CellError("cell-impossible", why, POSSIBLE_FIX)
        return number

    def _check_invented(self, row: Row, note: str, aside: str) -> None:
        if self.asked.invented:
            return
        for name, text in (("note", note), ("set_aside", aside)):
            if MARKED.search(text):
                error = CellError(
                    "row-invented",
                    f"{quoted(text)} says that the readings are made up, and the trial does not",
                    "delete the rows of a rehearsal; for practice with them, write "
                    "'invented: true' into the trial",
                )
                self._error(row, name, error)
                return

    def _tell_empty(self, row: Row, session: str, manoeuvre: Manoeuvre) -> None:
        self.problems.error(
            "try-empty",
            f"row {row.number} has no value ({', '.join(manoeuvre.values)})",
            "fill in what was read, or give the reason in set_aside, or delete the row",
            row=row,
            session=session,
        )

    def _once(self, row: Row, made: Try) -> bool:
        key = (made.session, made.manoeuvre, made.direction, made.number)
        first = self.seen.setdefault(key, row.number)
        if first == row.number:
            return True
        way = f" {made.direction}" if made.direction else ""
        self.problems.error(
            "try-repeated",
            f"try {made.number}{way} of {made.manoeuvre} in session {made.session} stands in row "
            f"{first} already",
            "number each try once; a try that was repeated is one more, and one that does not count is "
            "set aside with its reason",
            row=row,
            session=made.session,
        )
        return False


def _same_unit(text: str, unit: str) -> bool:
    try:
        return normal_unit(text) == normal_unit(unit)
    except QuantityError:
        return False


def _meant(label: str, known: Collection[str], noun: str) -> str:
    near = difflib.get_close_matches(label.casefold(), known, n=1)
    listed = f"its {noun} are: {', '.join(known)}"
    return f"did you mean '{near[0]}'? {listed}" if near else listed
