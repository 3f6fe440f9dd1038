"""What a table of runs shows by itself: its headings, words, dates and sessions, for a trial to start from.

Everything found here is proposed in a file that a person reads; nothing is analysed by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.intake.cells import CellError, is_missing, read_label
from slackwater.analysis.intake.direction_words import MEANT, are_degrees, proposed, unknown_words
from slackwater.analysis.intake.everyday import words_of
from slackwater.analysis.intake.files import read_grid
from slackwater.analysis.intake.grid import Cell, Row, is_blank, plain
from slackwater.analysis.intake.header import likely_header
from slackwater.analysis.intake.headings import Column, Wanted, split_heading
from slackwater.analysis.intake.labels import is_summary
from slackwater.analysis.intake.local_dates import (
    DAY_FIRST,
    MONTH_FIRST,
    OF_SESSION,
    YEAR_FIRST,
    joined,
    written_moment,
    written_time,
)
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.timestamps import read_start
from slackwater.analysis.intake.unknown_headings import everyday_columns
from slackwater.protocol.starting_trial import Seen, SeenSession
from slackwater.protocol.units.quantity import QuantityError, normal_unit, same_dimension

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol

#: Headings that are units themselves.
UNIT_WORDS = {"rpm": "rpm", "kn": "kn", "kts": "kn", "knots": "kn", "l h": "L/h", "lph": "L/h"}
UNIT_WORDS |= {"gph": "gal/h", "kw": "kW", "mph": "mph", "km h": "km/h"}
FEW = 40  # distinct set points at most


def propose(path: str | Path, protocol: Protocol) -> tuple[Seen, tuple[str, ...]]:
    """Look a table of runs over.

    Parameters
    ----------
    path : path
        A .csv, .xlsx or .parquet file.
    protocol : Protocol
        That the trial will be to.

    Returns
    -------
    seen : Seen
    notes : tuple of str
        What a person has to add or to look at, in sentences.

    Raises
    ------
    InputError
        When the file cannot be read, or nothing in it looks like headings.
    """
    problems = Problems(str(path))
    measures = {name: protocol.measure(name).unit for name in protocol.measures}
    reciprocal = protocol.runs.directions == "reciprocal"
    wanted = Wanted(measures, protocol.set_point_unit, {}, {}, reciprocal)
    grid = read_grid(Path(path), lambda cells: _score(cells, wanted), problems)
    header = likely_header(grid.rows, wanted)
    rows = [row for row in grid.rows if row.number > header.number and not row.blank]
    table = _Table(header, rows, wanted)
    if not table.columns:
        problems.error(
            "heading-missing",
            f"no row looks like the headings of a run table; row {header.number} comes nearest",
            "the first row names the columns: session, set_point [unit], direction, start, …",
            row=header,
        )
    problems.stop_on_errors()
    return table.seen(), tuple(table.notes(protocol))


def _score(cells: Sequence[str], wanted: Wanted) -> int:
    """How much a row of texts looks like headings, everyday words counted too."""
    texts = [(i, text) for i, text in enumerate(cells) if text]
    known = {wanted.match(text) for _, text in texts} - {""}
    free = [name for name in wanted.names if name not in known]
    mapped, _ = everyday_columns([(i, t) for i, t in texts if not wanted.match(t)], free, wanted)
    found = known | mapped.keys()
    return len(found) if len(found) > 1 else 0


class _Table:
    """The rows of a table, with the columns that its headings stand for."""

    def __init__(self, header: Row, rows: Sequence[Row], wanted: Wanted) -> None:
        self.rows, self.wanted = rows, wanted
        texts = [(i, plain(c)) for i, c in enumerate(header.cells) if not is_blank(c)]
        named = {wanted.match(text): (i, text) for i, text in reversed(texts) if wanted.match(text)}
        free = [name for name in wanted.names if name not in named]
        unknown = [(i, text) for i, text in texts if not wanted.match(text)]
        self.mapped, self.left = everyday_columns(unknown, free, wanted, ())
        at = {text: i for i, text in reversed(texts)}
        self.columns: dict[str, list[int]] = {name: [i] for name, (i, _) in named.items()}
        self.columns |= {name: [at[t] for t in texts_] for name, texts_ in self.mapped.items()}
        self.headings = {i: text for i, text in texts}
        self._settle_set_point()
        self._settle_heading()

    def _settle_set_point(self) -> None:
        """A column of the held measure that has few values, each many times, is what was aimed at."""
        if "set_point" in self.columns:
            return
        for name, texts in self.mapped.items():
            if self.wanted.unit(name) != self.wanted.set_point_unit or len(texts) > 1:
                continue
            values = [plain(row.cells[self.columns[name][0]]) for row in self._filled(name)]
            if values and len(set(values)) <= min(len(values) // 2, FEW):
                self.mapped = {"set_point" if n == name else n: t for n, t in self.mapped.items()}
                self.columns["set_point"] = self.columns.pop(name)
                return

    def _settle_heading(self) -> None:
        """Degrees in a column of directions are headings steered."""
        if "direction" not in self.mapped or "heading" in self.columns:
            return
        texts = {
            plain(row.cells[self.columns["direction"][0]]) for row in self._filled("direction")
        }
        if are_degrees(texts):
            swap = {n: n for n in self.mapped} | {"direction": "heading"}
            self.mapped = {swap[n]: t for n, t in self.mapped.items()}
            self.columns["heading"] = self.columns.pop("direction")

    def _filled(self, name: str) -> list[Row]:
        at = self.columns[name][0]
        return [row for row in self.rows if at < len(row.cells) and not is_missing(row.cells[at])]

    def _cell(self, row: Row, name: str) -> Cell:
        cells = [row.cells[i] if i < len(row.cells) else None for i in self.columns.get(name, ())]
        if name == "start" and len(cells) == 2:
            return joined(*cells)
        return cells[0] if cells else None

    # --- what is seen ------------------------------------------------------------------------------

    def seen(self) -> Seen:
        """Everything, as a trial's file takes it."""
        units, bare = self._units()
        dates, doubtful = self._dates()
        return Seen(
            columns={n: [split_heading(t)[0] for t in texts] for n, texts in self.mapped.items()},
            units=units,
            bare=bare,
            directions=self._directions(),
            dates=dates if dates != YEAR_FIRST else "",
            dates_doubtful=doubtful,
            sessions=self._sessions(dates),
        )

    def _units(self) -> tuple[dict[str, str], tuple[str, ...]]:
        units: dict[str, str] = {}
        bare: list[str] = []
        for name, places in self.columns.items():
            working = self.wanted.unit(name)
            heading = self.headings[places[0]]
            if not working or split_heading(heading)[1]:
                continue
            unit = "deg" if name == "heading" else unit_in(heading)
            if unit and same_dimension(unit, working):
                units[name] = unit
            else:
                bare.append(name)
        return units, tuple(bare)

    def _directions(self) -> dict[str, str]:
        if "direction" not in self.columns:
            return {}
        at = self.columns["direction"][0]
        column = Column("direction", at, self.headings[at])
        return proposed(list(unknown_words(self._filled("direction"), column, MEANT)))

    def _dates(self) -> tuple[str, bool]:
        """How the starts are written, and whether day and month may stand in either order."""
        cells = [self._cell(row, "start") for row in self.rows] if "start" in self.columns else []
        cells = [cell for cell in cells if not is_missing(cell)]
        if not cells:
            return YEAR_FIRST, False
        able = [
            dates for dates in (DAY_FIRST, MONTH_FIRST) if all(_written(c, dates) for c in cells)
        ]
        # Points between the numbers go with the day first, wherever they are in use.
        pointed = all("." in str(cell).split()[0] for cell in cells)
        if len(able) == 2 and not pointed:
            return YEAR_FIRST, True
        if able:
            return able[0], False
        return (OF_SESSION, False) if all(map(_is_time, cells)) else (YEAR_FIRST, False)

    def _sessions(self, dates: str) -> tuple[SeenSession, ...]:
        if "session" not in self.columns:
            return ()
        found: dict[str, tuple[set[str], set[str]]] = {}
        for row in self._filled("session"):
            try:
                label = read_label(self._cell(row, "session"))
            except CellError:
                continue
            if is_summary(label):
                continue
            fitted, days = found.setdefault(label, (set(), set()))
            fitted.add(plain(self._cell(row, "configuration")))
            days.add(_day(self._cell(row, "start"), dates))
        return tuple(
            SeenSession(label, _single(fitted), _single(days))
            for label, (fitted, days) in found.items()
        )

    # --- what is left to a person ------------------------------------------------------------------

    def notes(self, protocol: Protocol) -> list[str]:
        """What the table does not have, or has otherwise than the protocol."""
        notes = []
        if "session" not in self.columns:
            notes.append(
                "no column says in which session a run was made: add one, headed 'session'"
            )
        if "set_point" not in self.columns:
            notes.append(
                f"no column says what was aimed at: add one, headed 'set_point [{protocol.set_point_unit}]'"
            )
        else:
            notes += self._strange_set_points(protocol)
        if not {"direction", "heading"} & self.columns.keys():
            notes.append("no column says which way a run went: add one, headed 'direction'")
        missing = [name for name in self.wanted.measures if name not in self.columns]
        if missing:
            notes.append(f"the protocol's {', '.join(missing)} {_have(missing)} no column")
        if self.left:
            notes.append(f"not used: {', '.join(repr(text) for _, text in self.left)}")
        return notes

    def _strange_set_points(self, protocol: Protocol) -> list[str]:
        texts = dict.fromkeys(
            plain(self._cell(row, "set_point")) for row in self._filled("set_point")
        )
        try:
            values = [float(text.replace(",", ".")) for text in texts]
        except ValueError:
            return []
        strange = [
            v for v in values if all(abs(v - s) > 1e-6 * s for s in protocol.set_point_values)
        ]
        if not strange or len(values) > FEW:
            return []
        unit = protocol.set_point_unit
        listed = ", ".join(f"{value:g} {unit}" for value in sorted(values))
        told = (
            f"the table's set points are {listed}; the protocol has others. 'slackwater new protocol "
            f'--from {protocol.protocol} --set-points "{listed}" --output protocol.yaml\' makes one '
            "of your own, from which to start the trial"
        )
        return [told]


def _have(names: Sequence[str]) -> str:
    return "has" if len(names) == 1 else "have"


def _single(found: set[str]) -> str:
    """The one thing that all rows say; empty where they say none or several."""
    found = found - {""}
    return next(iter(found)) if len(found) == 1 else ""


def _written(cell: Cell, dates: str) -> bool:
    try:
        return isinstance(cell, str) and written_moment(cell.strip(), dates) is not None
    except ValueError:
        return False


def _is_time(cell: Cell) -> bool:
    try:
        return written_time(cell) is not None
    except ValueError:
        return False


def _day(cell: Cell, dates: str) -> str:
    try:
        start: datetime | None = read_start(cell, dates)
    except CellError:
        return ""
    return start.date().isoformat() if start is not None else ""


def unit_in(heading: str) -> str:
    """The unit that a heading without brackets ends in; empty where it names none."""
    words = words_of(heading)
    for length in (2, 1):
        text = " ".join(words[-length:])
        if text in UNIT_WORDS:
            return UNIT_WORDS[text]
    try:
        return normal_unit(heading.split()[-1]) if "/" in heading else ""
    except (QuantityError, IndexError):
        return ""
