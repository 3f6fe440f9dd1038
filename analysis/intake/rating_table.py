"""Tables of ratings: a row for each session, item and rater, every row of it accounted for."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.intake.cells import CellError, decimal_mark, read_label, read_number
from slackwater.analysis.intake.files import read_grid
from slackwater.analysis.intake.grid import Row, plain, quoted
from slackwater.analysis.intake.header import find_header
from slackwater.analysis.intake.headings import Column, Wanted, close_name, read_headings
from slackwater.analysis.intake.labels import read_reason, read_session
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.table_rows import table_rows, tell_none_counts
from slackwater.protocol.declared.invented import MARKED

if TYPE_CHECKING:
    from slackwater.protocol.declared.ratings import Ratings
    from slackwater.protocol.declared.trial import Trial
    from slackwater.protocol.findings import Finding

NEEDED = ("session", "item", "rater", "score")
COLUMNS = (*NEEDED, "guess", "set_aside", "note")
#: What a rater writes who does not want to guess.
UNSURE = frozenset({"?", "unsure", "don't know", "dont know", "do not know", "no idea"})


@dataclass(frozen=True, slots=True)
class Rating:
    """One score.

    Attributes
    ----------
    row : int
        As a person counts rows of the file.
    session, configuration, item, rater : str
    score : float
        [points]
    guess : str
        The configuration that the rater took to be fitted, "unsure", or empty where nobody asked.
    set_aside : str
        Why it is left out; empty for one that counts.
    note : str
    """

    row: int
    session: str
    configuration: str
    item: str
    rater: str
    score: float
    guess: str = ""
    set_aside: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class RatingTable:
    """All ratings of a table, used and set aside, in the order of the file."""

    ratings: tuple[Rating, ...]
    file: str
    sha256: str
    findings: tuple[Finding, ...] = ()

    @property
    def used(self) -> tuple[Rating, ...]:
        """Those that count."""
        return tuple(each for each in self.ratings if not each.set_aside)

    @property
    def raters(self) -> tuple[str, ...]:
        """Everybody whose scores count, in the order of the file."""
        return tuple(dict.fromkeys(each.rater for each in self.used))


@dataclass(frozen=True, slots=True)
class _Headings(Wanted):
    """What the headings of a table of ratings are read against."""

    @property
    def names(self) -> tuple[str, ...]:
        return COLUMNS


@dataclass(slots=True)
class _Reader:
    """Reads the rows of one table, told what may stand in it."""

    columns: Mapping[str, Column]
    sessions: Mapping[str, str]
    asked: Ratings
    configurations: Mapping[str, str]
    problems: Problems
    decimal: str = "."
    invented: bool = False  # the trial says that its figures are made up
    seen: dict[tuple[str, str, str], int] = field(default_factory=dict)
    guesses: dict[tuple[str, str], tuple[int, str]] = field(default_factory=dict)

    def read(self, row: Row) -> Rating | None:
        """One row; None where something is wrong with it."""
        before = self.problems.errors
        session = self._told(row, "session", lambda: self._session(row))
        item = self._told(row, "item", lambda: self._item(row))
        rater = self._told(row, "rater", lambda: self._rater(row))
        aside = self._told(row, "set_aside", lambda: read_reason(self._cell(row, "set_aside")))
        score = self._told(row, "score", lambda: self._score(row, item, aside))
        guess = self._told(row, "guess", lambda: self._guess(row))
        self._told(row, "note", lambda: self._measured(row, "note"))
        self._told(row, "set_aside", lambda: self._measured(row, "set_aside"))
        if self.problems.errors > before or score is None:
            return None
        made = Rating(
            row.number,
            session or "",
            self.sessions[session or ""],
            item or "",
            rater or "",
            score,
            guess or "",
            aside or "",
            plain(self._cell(row, "note")),
        )
        if not made.set_aside:
            self._once(row, made)
            self._one_guess(row, made)
        return made

    def _cell(self, row: Row, name: str):  # type: ignore[no-untyped-def]
        column = self.columns.get(name)
        return None if column is None else row.cells[column.index]

    def _told(self, row: Row, name: str, read):  # type: ignore[no-untyped-def]
        """What a cell holds; None, and a fault told, where that cannot be read."""
        try:
            return read()
        except CellError as error:
            column = self.columns.get(name)
            index = None if column is None else column.index
            self.problems.error(error.rule, error.message, error.fix, row=row, index=index)
            return None

    def _session(self, row: Row) -> str:
        return read_session(row, self.columns["session"].index, self.sessions)

    def _item(self, row: Row) -> str:
        label = read_label(self._cell(row, "item"))
        titles = {name: item.title or "" for name, item in self.asked.items.items()}
        for name, title in titles.items():
            if label.casefold().replace(" ", "_") in (name, title.casefold().replace(" ", "_")):
                return name
        raise CellError(
            "item-unknown",
            f"{quoted(label)} is no item that the protocol has scored" if label else "no item",
            _meant(label, list(titles), "items"),
        )

    def _rater(self, row: Row) -> str:
        label = read_label(self._cell(row, "rater"))
        if not label:
            raise CellError(
                "rater-missing",
                "the row does not say who scored",
                "write a name, initials or a number that stands for one person all through",
            )
        return label

    def _score(self, row: Row, item: str | None, aside: str | None) -> float | None:
        cell = self._cell(row, "score")
        score = read_number(cell, self.decimal, lambda text: text.strip(".") in ("point", "points"))
        if score is None:
            if aside:
                return float("nan")
            raise CellError(
                "score-missing",
                "the row has no score",
                "write the score, or why there is none under set_aside, or delete the row",
            )
        asked = self.asked.items.get(item or "")
        if asked is not None and not asked.lowest <= score <= asked.highest:
            raise CellError(
                "score-off-scale",
                f"{quoted(cell)} is not on the scale of {item}, {asked.lowest} to {asked.highest}",
                "correct it from the sheet, or set it aside with the reason",
            )
        if asked is not None and score != int(score):
            raise CellError(
                "score-off-scale",
                f"{quoted(cell)} stands between two points of the scale of {item}",
                "raters name one of the points; where halves are wanted, declare twice the points",
            )
        return score

    def _guess(self, row: Row) -> str:
        label = plain(self._cell(row, "guess"))
        if not label:
            return ""
        if label.casefold() in UNSURE:
            return "unsure"
        for name, title in self.configurations.items():
            if label.casefold() in (name.casefold(), title.casefold()):
                return name
        raise CellError(
            "guess-unknown",
            f"{quoted(label)} is no configuration of the trial",
            f"{_meant(label, list(self.configurations), 'configurations')}; 'unsure' where the "
            "rater does not want to say",
        )

    def _measured(self, row: Row, name: str) -> None:
        """Refuse a row that says that its score is made up, where the trial does not."""
        text = plain(self._cell(row, name))
        if not self.invented and MARKED.search(text):
            raise CellError(
                "row-invented",
                f"{quoted(text)} says that the score is made up, and the trial does not",
                "delete the rows of a rehearsal; for practice with them, write 'invented: true' into the trial",
            )

    def _once(self, row: Row, made: Rating) -> None:
        key = (made.session, made.item, made.rater)
        first = self.seen.setdefault(key, row.number)
        if first == row.number:
            return
        self.problems.error(
            "rating-repeated",
            f"{made.rater} has scored {made.item} in session {made.session} already, in row {first}",
            "keep the first score and set the other aside; a second thought is no second rater",
            row=row,
            session=made.session,
        )

    def _one_guess(self, row: Row, made: Rating) -> None:
        """A rater guesses once a session, however many items are scored."""
        if not made.guess:
            return
        first, guess = self.guesses.setdefault((made.session, made.rater), (row.number, made.guess))
        if guess != made.guess:
            self.problems.error(
                "guess-conflict",
                f"{made.rater} guesses {made.guess} in session {made.session} here, and {guess} in "
                f"row {first}",
                "one guess for a session: write it once, or alike in each of its rows",
                row=row,
                session=made.session,
            )


def _meant(label: str, known: Collection[str], noun: str) -> str:
    near = difflib.get_close_matches(label.casefold(), known, n=1)
    listed = f"its {noun} are: {', '.join(known)}"
    return f"did you mean '{near[0]}'? {listed}" if near else listed


def read_ratings(trial: Trial) -> RatingTable | None:
    """The ratings of a trial; None where its protocol asks for none, or it names no table.

    Raises
    ------
    InputError
        With everything that keeps the table from being used, row by row.
    """
    asked = trial.protocol.ratings
    if asked is None or trial.ratings is None:
        return None
    return read_rating_table(
        trial.folder / trial.ratings,
        asked,
        {session.id: session.configuration for session in trial.sessions},
        {name: one.title for name, one in trial.configurations.items()},
        invented=trial.invented,
    )


def read_rating_table(
    path: Path,
    asked: Ratings,
    sessions: Mapping[str, str],
    configurations: Mapping[str, str],
    *,
    invented: bool = False,
) -> RatingTable:
    """Read a table of ratings.

    Parameters
    ----------
    path : Path
        A .csv (.tsv, .txt), .xlsx (.xlsm) or .parquet file with the columns session, item, rater
        and score, and where they are wanted guess, set_aside and note.
    asked : Ratings
        What the protocol has scored.
    sessions, configurations : mapping
        Configuration of each session; title of each configuration.
    invented : bool
        Whether the trial says that its figures are made up; else rows that say so are refused.

    Raises
    ------
    InputError
        With everything that keeps the table from being used, row by row.
    """
    problems = Problems(str(path))
    wanted = _Headings({}, "", {}, {}, reciprocal=False)
    grid = read_grid(path, wanted.score, problems)
    if not any(wanted.score([plain(cell) for cell in row.cells]) for row in grid.rows):
        problems.error(
            "heading-missing",
            f"no row has a heading 'session'; row {grid.rows[0].number} is shown",
            f"the first row names the columns: {', '.join(COLUMNS)}",
            row=next(row for row in grid.rows if not row.blank),
        )
        problems.stop_on_errors()
    header = find_header(grid.rows, wanted, problems)
    found, unknown = read_headings(header, wanted, problems)
    _tell_headings(found, unknown, header, problems)
    problems.stop_on_errors()
    rows = table_rows(grid, header, found, problems, noun="rating")
    reader = _Reader(found, sessions, asked, configurations, problems, invented=invented)
    reader.decimal = decimal_mark(row.cells[found["score"].index] for row in rows)[0]
    ratings = tuple(made for row in rows if (made := reader.read(row)) is not None)
    problems.stop_on_errors()
    tell_none_counts(ratings, problems, "rating")
    return RatingTable(ratings, grid.file, grid.sha256, problems.findings())


def _tell_headings(
    found: Collection[str],
    unknown: Collection[tuple[int, str]],
    header: Row,
    problems: Problems,
) -> None:
    """Columns that are needed and not there, and columns that are not read."""
    lacking = [name for name in NEEDED if name not in found]
    for index, heading in unknown:
        near = close_name(heading, lacking or [n for n in COLUMNS if n not in found])
        fix = f"did you mean '{near}'?" if near else "it does no harm"
        told = problems.error if near in lacking else problems.warning
        told(
            "heading-unknown" if near in lacking else "column-ignored",
            f"column {quoted(heading)} is no column of a table of ratings"
            + ("" if near in lacking else ", and is not read"),
            fix,
            row=header,
            index=index,
        )
    for name in lacking:
        problems.error(
            "column-missing",
            f"no column is headed {name}",
            f"a table of ratings has the columns {', '.join(NEEDED)}; guess, set_aside and note where "
            "they are wanted",
            row=header,
        )
