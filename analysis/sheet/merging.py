"""Rows from several tablets into one table of a trial: added, filled in, never written over."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from slackwater.analysis.intake.headings import split_heading, squash
from slackwater.analysis.sheet.aboard import Aboard
from slackwater.analysis.sheet.prepared import FORMULA_STARTS
from slackwater.analysis.sheet.table_kinds import Key, TableKind

Row = dict[str, str]


class TableError(ValueError):
    """A table that rows cannot be put into; carries its mend."""

    def __init__(self, message: str, fix: str) -> None:
        self.message, self.fix = message, fix
        super().__init__(message)


@dataclass(frozen=True, slots=True)
class Conflict:
    """A cell of which two values are there."""

    session: str
    of: str  # the run or try, in words
    column: str
    kept: str
    offered: str
    kept_from: str
    offered_from: str
    hint: str = ""


@dataclass(slots=True)
class Table:
    """A table as rows of cells by column; columns not known here are kept as they are."""

    head: dict[str, str]  # headings by column; one not known here stands under its own heading
    rows: list[Row]
    line_end: str = "\n"
    mark: str = ""  # a byte order mark, where the file has one
    origin: dict[tuple[Key, str], str] = field(default_factory=dict)


@dataclass(slots=True)
class Merged:
    """A table with what was put into it, and what could not be.

    `added` are rows new to the table or filled into a prepared row, `completed` those that had some cells
    already, `known` those that were there as they are; each by session.
    """

    kind: TableKind
    table: Table
    places: Places
    added: dict[str, int] = field(default_factory=dict)
    completed: dict[str, int] = field(default_factory=dict)
    known: dict[str, int] = field(default_factory=dict)
    conflicts: list[Conflict] = field(default_factory=list)


def read_prepared(text: str, head: Mapping[str, str], kind: TableKind) -> Table:
    """The table as it is, its columns known by the headings of the sheet.

    Raises
    ------
    TableError
        When its headings are not those that the sheet was made with.
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    line_end = "\r\n" if "\r\n" in text else "\n"
    lines = list(csv.reader(io.StringIO(text.removeprefix(mark), newline=""), strict=True))
    if not lines:
        return Table(dict(head), [], line_end, mark)
    own = {squash(heading): key for key, heading in head.items()}
    bases = {squash(split_heading(heading)[0]): heading for heading in head.values()}
    keys: list[str] = []
    for heading in lines[0]:
        key = own.get(squash(heading), heading)
        base = bases.get(squash(split_heading(heading)[0]))
        if key == heading and heading not in head and base is not None:
            raise TableError(
                f"it is headed '{heading}', and the sheet has '{base}'",
                "correct the heading, or write elsewhere with --output",
            )
        keys.append(key)
    lacking = [name for name in kind.naming if name in head and name not in keys]
    if lacking or len(set(keys)) != len(keys):
        raise TableError(
            f"its first line has no {', '.join(lacking)}"
            if lacking
            else "its first line has a heading twice",
            "give it the headings of the prepared table, with commas between them "
            f"(slackwater sheet --format csv --rows {kind.name})",
        )
    rows = [_row(keys, line, number) for number, line in enumerate(lines[1:], 2) if any(line)]
    return Table(dict(zip(keys, lines[0], strict=True)), rows, line_end, mark)


def _row(keys: Sequence[str], line: Sequence[str], number: int) -> Row:
    if len(line) > len(keys):
        raise TableError(
            f"row {number} has {len(line)} cells under {len(keys)} headings",
            "delete what stands beside the table",
        )
    return dict(zip(keys, [*line, *[""] * (len(keys) - len(line))], strict=True))


def latest(handed: Iterable[Aboard]) -> list[Aboard]:
    """Of each device what it handed back last, in an order that does not depend on that of the files.

    Raises
    ------
    TableError
        When two files of one device are not one history.
    """
    found: dict[tuple[str, str], Aboard] = {}
    for each in sorted(handed, key=lambda one: len(one.journal)):
        key = (each.device, each.sheet)
        before = found.get(key)
        if before is not None and each.journal[: len(before.journal)] != before.journal:
            raise TableError(
                f"two files of device {each.device} hold different histories of one sheet",
                "merge one of them, look at what the other holds, and mend the table by hand",
            )
        found[key] = each
    return [found[key] for key in sorted(found)]


class Places:
    """Where rows stand and where new ones go, each found without looking through all of them."""

    def __init__(self, rows: Sequence[Row], kind: TableKind) -> None:
        self.by_key = dict(_keyed(rows, kind))
        self._old = list(rows)
        self._behind: dict[int, list[Row]] = {}  # by the identity of the old row that they follow
        self._new: dict[str, list[Row]] = {}  # by session

    def insert(self, key: Key, row: Row) -> None:
        """A row behind the attempt before it, else behind its session."""
        attempt = int(key[-1])
        before = self.by_key.get((*key[:-1], attempt - 1)) if attempt > 1 else None
        new = self._new.setdefault(str(key[0]), [])
        at = next((i for i, each in enumerate(new) if each is before), -1)
        if before is None:
            new.append(row)
        elif at >= 0:
            new.insert(at + 1, row)
        else:
            self._behind.setdefault(id(before), []).append(row)
        self.by_key[key] = row

    def rows(self, sessions: Sequence[str]) -> list[Row]:
        """All rows: the old ones in their order, new ones behind their session, new sessions in the trial's order."""
        place = {name: number for number, name in enumerate(sessions)}
        ends = {row.get("session", ""): id(row) for row in self._old}
        left = sorted(
            (name for name in self._new if name not in ends), key=lambda each: place.get(each, 0)
        )
        found: list[Row] = []
        for row in self._old:
            name = row.get("session", "")
            while left and place.get(left[0], 0) < place.get(name, 0):
                found += self._new[left.pop(0)]
            found += [row, *self._behind.get(id(row), [])]
            if ends[name] == id(row):
                found += self._new.get(name, [])
        for name in left:
            found += self._new[name]
        return found


def merge(
    table: Table, handed: Sequence[Aboard], sessions: Sequence[str], kind: TableKind
) -> Merged:
    """Put the rows of every device into a table; with a conflict nothing of it may be written.

    Parameters
    ----------
    sessions : sequence of str
        Ids in the order of the trial.
    """
    merged = Merged(kind, table, Places(table.rows, kind))
    for aboard in handed:
        own = aboard.table(kind.name)
        for key, row in _keyed(own.rows if own else [], kind):
            _put(merged, key, row, aboard)
    table.rows = merged.places.rows(sessions)
    _complete_head(table, handed, kind)
    return merged


def _keyed(rows: Iterable[Row], kind: TableKind) -> list[tuple[Key, Row]]:
    """Each row with what it is of; the same again is its next attempt."""
    seen: dict[tuple[str, ...], int] = {}
    found: list[tuple[Key, Row]] = []
    for row in rows:
        cells = ((name, row.get(name, "")) for name in kind.naming)
        base = tuple(_number(text) if name in kind.numbers else text for name, text in cells)
        seen[base] = seen.get(base, 0) + 1
        found.append(((*base, seen[base]), row))
    return found


def _number(text: str) -> str:
    try:
        return f"{float(text):.10g}"
    except ValueError:
        return text.strip()


def _put(merged: Merged, key: Key, row: Row, aboard: Aboard) -> None:
    naming, source = merged.kind.naming, f"device {aboard.device}"
    cells = {name: _harmless(text) for name, text in row.items() if name not in naming and text}
    there = merged.places.by_key.get(key)
    if there is None:
        there = {name: row[name] for name in naming if name in row}
        merged.places.insert(key, there)
    if not cells:
        return
    if not any(text for name, text in there.items() if name not in naming):
        _note(merged, merged.added, key, there, cells, source)
        return
    clashes = [n for n, text in cells.items() if there.get(n) and not _alike(there[n], text)]
    for name in clashes:
        kept_from = merged.table.origin.get((key, name), "the table")
        hint = _mended(aboard, name, there[name], cells[name])
        conflict = Conflict(
            str(key[0]),
            merged.kind.words(key),
            name,
            there[name],
            cells[name],
            kept_from,
            source,
            hint,
        )
        merged.conflicts.append(conflict)
    fresh = {name: text for name, text in cells.items() if not there.get(name)}
    if not clashes:
        _note(merged, merged.completed if fresh else merged.known, key, there, fresh, source)


def _note(
    merged: Merged, count: dict[str, int], key: Key, there: Row, cells: Row, source: str
) -> None:
    there.update(cells)
    merged.table.origin.update({(key, name): source for name in cells})
    session = str(key[0])
    count[session] = count.get(session, 0) + 1


def _alike(one: str, other: str) -> bool:
    if one.strip() == other.strip():
        return True
    try:
        return float(one) == float(other)
    except ValueError:
        return False


def _harmless(text: str) -> str:
    """A text on one line that no spreadsheet takes for a formula."""
    plain = " ".join(text.split())
    try:
        float(plain)
    except ValueError:
        return f" {plain}" if plain.startswith(FORMULA_STARTS) else plain
    return plain


def _mended(aboard: Aboard, name: str, kept: str, offered: str) -> str:
    """Where the table has what was entered aboard before it was mended there."""
    undone = {each.value for each in aboard.journal if each.name == "undo"}
    values = [each for each in aboard.journal if each.name == name and str(each.n) not in undone]
    last = next((each for each in reversed(values) if _alike(each.value, offered)), None)
    first = next((each for each in values if _alike(each.value, kept)), None)
    if first is None or last is None or first.n >= last.n or first.run != last.run:
        return ""
    return f"; aboard {kept} was entered at {first.at} and mended at {last.at}"


def _complete_head(table: Table, handed: Sequence[Aboard], kind: TableKind) -> None:
    """Columns that the table lacks and rows now have, each under its heading, before the remarks."""
    used = {name for row in table.rows for name, text in row.items() if text}
    for aboard in handed:
        own = aboard.table(kind.name)
        for key, heading in (own.head if own else {}).items():
            if key in table.head or key not in used:
                continue
            before = list(table.head.items())
            at = next((i for i, (name, _) in enumerate(before) if name == "set_aside"), len(before))
            table.head = dict([*before[:at], (key, heading), *before[at:]])


def table_text(table: Table) -> str:
    """The table as CSV."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator=table.line_end)
    writer.writerow(table.head.values())
    for row in table.rows:
        writer.writerow([row.get(name, "") for name in table.head])
    return table.mark + out.getvalue()
