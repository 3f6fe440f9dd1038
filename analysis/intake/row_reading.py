"""Rows of cells to runs: every cell read, everything wrong with it told."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import datetime

from slackwater.analysis.intake.cells import (
    CellError,
    decimal_mark,
    is_missing,
    read_count,
    read_number,
)
from slackwater.analysis.intake.grid import Cell, Row, plain, quoted
from slackwater.analysis.intake.headings import Column
from slackwater.analysis.intake.labels import is_summary, read_reason, read_session
from slackwater.analysis.intake.local_dates import joined
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.runs import Rules, Run
from slackwater.analysis.intake.timestamps import read_start
from slackwater.analysis.intake.unmade import is_unmade
from slackwater.protocol.declared.invented import MARKED
from slackwater.protocol.schedule.run_limits import SHORTEST
from slackwater.protocol.units.possible import FIX as POSSIBLE_FIX
from slackwater.protocol.units.possible import is_possible, why_impossible
from slackwater.protocol.units.quantity import QuantityError, normal_unit

DIRECTIONS = ("out", "back")


class RowReader:
    """Reads the rows of one table, told what its columns are and what a run must be like."""

    def __init__(
        self,
        columns: Mapping[str, Column],
        measures: Collection[str],
        rules: Rules,
        problems: Problems,
    ) -> None:
        self.columns = columns
        self.measures = [name for name in measures if name in columns]
        self.rules = rules
        self.problems = problems
        self.decimal = "."
        self.told_directions: Collection[str] = ()  # words that the table as a whole was told of
        self.unmade: list[Run] = []  # rows prepared for runs, and not filled in
        singles = [each for column in columns.values() for each in column.engines or (column,)]
        self.same_unit = {column.index: _unit_test(column.unit) for column in singles}
        self.numeric = [column.index for column in singles if column.unit]

    def settle_decimal_mark(self, rows: Sequence[Row]) -> None:
        """Find the decimal mark that all numbers of the table share."""
        cells = [row.cells[index] for row in rows for index in self.numeric]
        self.decimal, sure = decimal_mark(cells)
        if sure:
            return
        row, index = next(
            (row, i) for row in rows for i in self.numeric if "," in plain(row.cells[i])
        )
        self.problems.error(
            "cell-thousands",
            f"{quoted(row.cells[index])} in row {row.number} may have a decimal comma or its "
            "thousands set apart, and no number of the file decides it",
            "write thousands without a mark; or write the decimals with a point",
            row=row,
            index=index,
        )

    def read(self, row: Row) -> Run | None:
        """Read one row; None when it cannot belong to any session, or was not filled in."""
        run = self._identify(row)
        if run is None:
            return None
        before = self.problems.errors
        self._check_configuration(run)
        run.note = self._text(run, "note")
        self._check_invented(run)
        run.set_point = self._number(run, "set_point")
        self._check_set_point(run)
        run.double_run = self._double_run(run)
        run.heading = self._heading(run)
        run.direction = self._direction(run)
        run.start = self._start(run)
        run.duration = self._number(run, "duration")
        if run.used and run.duration < SHORTEST:
            self._tell(run, "duration", self._short(run))
        else:
            self._check_possible(run, "duration", run.duration)
        for name in self.measures:
            run.values[name] = self._number(run, name)
            if run.used and name in self.rules.positive and run.values[name] <= 0:
                self._tell(run, name, self._not_positive(run, name))
            else:
                self._check_possible(run, name, run.values[name])
        nothing = all(math.isnan(value) for value in run.values.values())
        sound = self.problems.errors == before
        if sound and self.measures and is_unmade(run):
            self.unmade.append(run)
            return None
        if run.used and nothing and self.measures and sound:
            self.problems.error(
                "run-empty",
                f"row {row.number} has no value for any measure ({', '.join(self.measures)})",
                "fill in what was measured, or give the reason in set_aside, or delete the row",
                row=row,
                session=run.session,
            )
        return run

    # --- who the row belongs to ------------------------------------------------------------------

    def _cell(self, row: Row, name: str) -> Cell:
        column = self.columns.get(name)
        return row.cells[column.index] if column else None

    def _identify(self, row: Row) -> Run | None:
        name = "session"
        try:
            label = read_session(row, self.columns[name].index, self.rules.sessions)
            name = "set_aside"
            reason = read_reason(self._cell(row, name))
        except CellError as error:
            self._add_error(row, name, error)
            return None
        return Run(row, label, self.rules.sessions[label], reason)

    def _check_configuration(self, run: Run) -> None:
        text = plain(self._cell(run.row, "configuration"))
        if text and text != run.configuration:
            self._tell(
                run,
                "configuration",
                CellError(
                    "configuration-conflict",
                    f"{quoted(text)} is not what the trial says: session {run.session} has "
                    f"'{run.configuration}'",
                    "correct the row's session or configuration, or the trial",
                ),
                always=True,
            )

    def _check_invented(self, run: Run) -> None:
        """An error for a row that says itself that nothing was measured, in a trial that does not."""
        if self.rules.invented:
            return
        for name, text in (("note", run.note), ("set_aside", run.set_aside)):
            if MARKED.search(text):
                error = CellError(
                    "row-invented",
                    f"{quoted(text)} says that the readings are made up, and the trial does not",
                    "delete the rows of a rehearsal; for practice with them, write "
                    "'invented: true' into the trial",
                )
                self._tell(run, name, error, always=True)
                return

    # --- the cells -------------------------------------------------------------------------------

    def _add_error(self, row: Row, name: str, error: CellError, session: str | None = None) -> None:
        column = self.columns[name]
        self.problems.error(
            error.rule,
            f"row {row.number}, {name}: {error.message}",
            error.fix,
            row=row,
            index=column.index,
            session=session,
        )

    def _tell(self, run: Run, name: str, error: CellError, *, always: bool = False) -> None:
        """An error in a run that is used; in one that is set aside, advice that it is not read."""
        if always:
            self._add_error(run.row, name, error, run.session)
        elif run.used:
            fix = f"{error.fix}; if the run cannot be used, give the reason in set_aside"
            self._add_error(run.row, name, CellError(error.rule, error.message, fix), run.session)
        else:
            self.problems.advice(
                "set-aside-unread",
                f"row {run.row.number}, {name}: {error.message}; the run is set aside, so the "
                "cell was left unread",
                row=run.row,
                index=self.columns[name].index,
                session=run.session,
            )

    def _text(self, run: Run, name: str) -> str:
        return plain(self._cell(run.row, name))

    def _number(self, run: Run, name: str) -> float:
        column = self.columns.get(name)
        if column is None:
            return math.nan
        if column.engines:
            return self._of_engines(run, name, column)
        return self._single(run, name, column)

    def _single(self, run: Run, name: str, column: Column) -> float:
        """The number of one column; NaN where it holds none."""
        cell = run.row.cells[column.index]
        try:
            value = read_number(cell, self.decimal, self.same_unit[column.index])
        except CellError as error:
            self._tell(run, name, error)
            return math.nan
        if value is None:
            return math.nan
        if column.slope == 1.0 and column.offset == 0.0:
            return value
        return value * column.slope + column.offset

    def _of_engines(self, run: Run, name: str, column: Column) -> float:
        """The engines together; one that is missing is told, and never counted as nought."""
        values = [self._single(run, name, each) for each in column.engines]
        missing = [
            each.heading
            for each, value in zip(column.engines, values, strict=True)
            if math.isnan(value)
        ]
        if missing and len(missing) < len(values):
            what = "sum" if column.combine == "sum" else "mean"
            error = CellError(
                "engine-missing",
                f"{' and '.join(quoted(each) for each in missing)} holds nothing, while the other "
                f"engine has a value; a {what} of what is left is not that of all",
                "fill it in, write 0 for an engine that stood still, or clear all of them",
            )
            self._tell(run, name, error)
        if missing:
            return math.nan
        total = math.fsum(values)
        return total if column.combine == "sum" else total / len(values)

    def _check_set_point(self, run: Run) -> None:
        if "set_point" not in self.columns or not run.used:
            return
        value, column = run.set_point, self.columns["set_point"]
        if math.isnan(value):
            if is_missing(run.row.cells[column.index]):
                error = CellError(
                    "set-point-missing",
                    "the run has no set point",
                    f"write the value that was held [{column.unit}]",
                )
                self._tell(run, "set_point", error)
            return
        if column.slope != 1.0:
            run.set_point = value = float(f"{value:.10g}")  # 8 kn given in km/h is 8 kn again
        if "set_point" in self.rules.positive and value <= 0:
            self._tell(run, "set_point", self._not_positive(run, "set_point"))
        else:
            self._check_possible(run, "set_point", value)
        declared = self.rules.set_points
        if declared and all(_apart(value, s) for s in declared):
            thousand = [s for s in declared if not _apart(1000 * value, s)]
            if thousand:
                error = CellError(
                    "cell-thousands",
                    f"{quoted(run.row.cells[column.index])} reads as {value:g}, and the protocol "
                    f"has {thousand[0]:g}: the mark seems to set thousands apart",
                    f"write {thousand[0] / column.slope:g}",
                )
                self._tell(run, "set_point", error)

    def _check_possible(self, run: Run, name: str, value: float) -> None:
        """An error for a value that nothing on or around a boat can have."""
        if math.isnan(value) or name not in self.rules.rows_of_possible:
            return
        unit, of = self.rules.rows_of_possible[name]
        if is_possible(value, unit, of):
            return
        shown = f"{value:.6g} {unit}"
        error = CellError("cell-impossible", why_impossible(shown, unit, of), POSSIBLE_FIX)
        self._tell(run, name, error)

    def _double_run(self, run: Run) -> int:
        if "double_run" not in self.columns:
            return 0
        try:
            number = read_count(self._cell(run.row, "double_run"))
        except CellError as error:
            self._tell(run, "double_run", error)
            return 0
        if number is None and run.used:
            absent = CellError(
                "double-run-number",
                "the run has no number",
                "number the double runs 1, 2, 3, … within session and set point, or leave the "
                "whole column out to have runs paired in the order of time",
            )
            self._tell(run, "double_run", absent)
        return number or 0

    def _heading(self, run: Run) -> float:
        value = self._number(run, "heading")
        if math.isnan(value) or 0 <= value <= 360:
            return value
        error = CellError(
            "heading-range",
            f"{quoted(self._cell(run.row, 'heading'))} is not between 0 and 360 degrees",
            "write the heading as on the compass, 0 to 360",
        )
        self._tell(run, "heading", error)
        return math.nan

    def _direction(self, run: Run) -> str:
        cell = self._cell(run.row, "direction")
        text = plain(cell).casefold()
        text = self.rules.directions.get(text, text)
        if text in DIRECTIONS:
            return text
        if text in self.told_directions:
            return ""
        if text and not is_missing(cell):
            near = difflib.get_close_matches(text, DIRECTIONS, n=1)
            unfit = CellError(
                "direction-unknown",
                f"{quoted(cell)} is not a direction",
                f"did you mean '{near[0]}'?"
                if near
                else "say in the trial which way it is, such as directions: "
                f"{{{plain(cell)}: out, …: back}}; a heading belongs into a column 'heading [deg]'",
            )
            if is_summary(text):
                unfit = CellError(
                    "summary-row", f"{quoted(cell)} makes this a summary row", "delete it"
                )
            self._tell(run, "direction", unfit)
        elif self.rules.reciprocal and run.used and math.isnan(run.heading):
            name = "direction" if "direction" in self.columns else "heading"
            if name in self.columns and is_missing(self._cell(run.row, name)):
                error = CellError(
                    "direction-missing",
                    "the run has no direction; without it the current stays in the result",
                    "write out or back, or the heading"
                    if name == "direction"
                    else "write the heading in degrees",
                )
                self._tell(run, name, error)
        return ""

    def _start(self, run: Run) -> datetime | None:
        try:
            cell = self._start_cell(run.row)
            return read_start(cell, self.rules.dates, self.rules.days.get(run.session))
        except CellError as error:
            self._tell(run, "start", error)
            return None

    def _start_cell(self, row: Row) -> Cell:
        """What the row says of its start; date and time together where they stand apart."""
        column = self.columns.get("start")
        if column is None or not column.engines:
            return self._cell(row, "start")
        day, clock = (row.cells[each.index] for each in column.engines)
        return joined(day, clock)

    def _short(self, run: Run) -> CellError:
        return CellError(
            "duration-short",
            f"{quoted(self._cell(run.row, 'duration'))} is no duration of a run; a fraction of a "
            "day may stand where a spreadsheet showed a time",
            f"write the duration in its unit [{self.columns['duration'].unit}]",
        )

    def _not_positive(self, run: Run, name: str) -> CellError:
        cell = self._cell(run.row, name)
        return CellError(
            "cell-not-positive",
            f"{quoted(cell)} is not above zero, as it is in every run under way",
            "correct it, or leave the cell empty when the instrument gave nothing",
        )


def _apart(one: float, other: float) -> bool:
    """Whether two set points differ by more than a slip of the hand on the throttle."""
    return abs(one - other) > 0.2 * abs(other)


def _unit_test(unit: str) -> Callable[[str], bool]:
    """Whether a text after a number is the unit of its column."""
    known = {unit: True}

    def same(text: str) -> bool:
        if text not in known:
            try:
                known[text] = bool(unit) and normal_unit(text.strip("[]()")) == normal_unit(unit)
            except QuantityError:
                known[text] = False
        return known[text]

    return same
