"""The store: one DuckDB file, in which each trial's rows are whole or absent.

Whatever belongs to a trial is replaced in one transaction, a batch of trials at a time. A process
that is killed leaves what was committed; the rest is done again at the next pass. Writers hold a
lock (`lock.py`), so that there is one at a time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slackwater import __version__
from slackwater.analysis.archive.columns import COLUMNS, SQL_TYPES, rows_to_table
from slackwater.analysis.archive.differing import record_differing
from slackwater.analysis.archive.kept import Kept
from slackwater.analysis.archive.lock import locked
from slackwater.analysis.working.needs import needed
from slackwater.protocol.files.reading import first_bytes, is_there
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    import duckdb
    import pandas as pd

ENDING = ".slackwater.duckdb"
SCHEMA = 1
_PART = ".part"
_MAGIC = b"DUCK"  # after eight bytes of a check sum, in every DuckDB file
#: What is not replaced with a trial: what differed when trials were analysed again, and when that was.
_HISTORY = ("differing", "passes")
_ANALYSED = "setting = ? AND present AND state = 'analysed'"
# What DuckDB may hold, its cache of the file included, is bounded, so that the memory of a pass does
# not grow with the store. It does not merge parts of tables as it goes, which takes all of them at once.
_ROOM = "SET threads = 1; SET memory_limit = '64MB'; SET max_vacuum_tasks = 0"
_MORE_ROOM = ("256MB", "1GB", "4GB")  # for a batch that takes more; it is written anew
SOME = 100  # rows taken from the store at once


def store_beside(folder: Path) -> Path:
    """Where the store of a folder stands when nobody says where."""
    whole = folder.resolve()
    return whole.parent / f"{whole.name or 'trials'}{ENDING}"


class Store:
    """A store that is open.

    Attributes
    ----------
    path : Path
    """

    def __init__(self, path: Path, connection: duckdb.DuckDBPyConnection) -> None:
        self.path = path
        self._connection = connection

    def frame(self, query: str) -> pd.DataFrame:
        """What a query in SQL gives, as a DataFrame."""
        return self._connection.execute(query).df()

    def rows(self, query: str, values: Mapping[str, str]) -> Iterator[dict[str, Any]]:
        """What a query in SQL gives, a dict each; `values` are its parameters by name.

        They come as they are asked for, and no other query may be made before the last.
        """
        found = self._connection.execute(query, dict(values))
        names = [column[0] for column in found.description or ()]
        while rows := found.fetchmany(SOME):
            yield from (dict(zip(names, row, strict=True)) for row in rows)

    def known(self, setting: str) -> dict[str, tuple[str, str, str, bool]]:
        """Of each trial: state, version of the tool, hash over its inputs, whether it was there."""
        found = self._connection.execute(
            "SELECT path, state, tool, inputs, present FROM trials WHERE setting = ?", [setting]
        ).fetchall()
        return {path: (state, tool, inputs, there) for path, state, tool, inputs, there in found}

    def inputs(self, setting: str) -> Iterator[tuple[str, str, str]]:
        """Trial, file and hash of every input, trial by trial."""
        found = self._connection.execute(
            "SELECT path, file, sha256 FROM inputs WHERE setting = ? ORDER BY path", [setting]
        )
        while rows := found.fetchmany(10_000):
            yield from rows

    def outcomes(self, setting: str) -> Iterator[str]:
        """Every trial that is there as the method's noise takes it, JSON, in order of time.

        They come as they are asked for, and no other query may be made before the last.
        """
        return self._texts("coalesce(noise_outcome, outcome)", "true", [setting])

    def outcomes_of(self, setting: str, boat: str) -> Iterator[str]:
        """The trials of one boat as statistics of many take them, JSON, in order of time."""
        mine = [name for name in self.boats(setting) if name.casefold() == boat.casefold()]
        return self._texts("outcome", "list_contains(?, boat)", [setting, mine])

    def boats(self, setting: str) -> list[str]:
        """Titles of the boats of the trials that are there."""
        found = self._connection.execute(
            f"SELECT DISTINCT boat FROM trials WHERE {_ANALYSED} AND boat IS NOT NULL ORDER BY boat",
            [setting],
        ).fetchall()
        return [name for (name,) in found]

    def any_measured(self, setting: str) -> bool:
        """Whether there is a trial that is not invented."""
        found = self._connection.execute(
            f"SELECT count(*) FROM trials WHERE {_ANALYSED} AND NOT invented", [setting]
        ).fetchall()
        return bool(found[0][0])

    def _texts(self, column: str, which: str, values: list[Any]) -> Iterator[str]:
        found = self._connection.execute(
            f"SELECT {column} FROM trials WHERE {_ANALYSED} AND {which} ORDER BY first_day, path",
            values,
        )
        while rows := found.fetchmany(SOME):
            yield from (text for (text,) in rows)

    def begin(self, setting: str, *, again: bool) -> str:
        """Begin a pass, or take up the one that was broken off; gives its name."""
        whole = [setting, __version__, again]
        left = self._connection.execute(
            "SELECT max(passed) FROM passes WHERE setting = ? AND tool = ? AND again = ? "
            "AND NOT ended",
            whole,
        ).fetchall()[0][0]
        if left is not None:
            return str(left)
        passed = datetime.now(UTC).isoformat()
        self._connection.execute("INSERT INTO passes VALUES (?, ?, ?, ?, false)", [passed, *whole])
        return passed

    def end(self, passed: str) -> None:
        """A pass came to its end."""
        self._connection.execute("UPDATE passes SET ended = true WHERE passed = ?", [passed])

    def analysed_in(self, passed: str) -> set[str]:
        """Trials that were analysed in a pass."""
        found = self._connection.execute("SELECT path FROM trials WHERE passed = ?", [passed])
        return {path for (path,) in found.fetchall()}

    def put(self, batch: Sequence[Kept], passed: str) -> None:
        """Replace what is kept of these trials by what was found now, all of it or nothing."""
        if not batch:
            return
        duckdb = needed("duckdb")
        for room in (*_MORE_ROOM, None):
            try:
                return self._put(batch, passed)
            except duckdb.OutOfMemoryException:
                if room is None:
                    raise
                self._connection.execute(f"SET memory_limit = '{room}'")

    def _put(self, batch: Sequence[Kept], passed: str) -> None:
        with self._transaction():
            self._stage(batch)
            record_differing(self._connection, passed)
            if self._any_kept():
                self._delete_staged()
            for name in _tables(batch):
                chosen = "* REPLACE (? AS passed)" if name == "trials" else "*"
                self._connection.execute(
                    f"INSERT INTO {name} BY NAME SELECT {chosen} FROM staged_{name}",
                    [passed] if name == "trials" else [],
                )
        for name in COLUMNS:  # what was staged would be held until the next batch
            self._connection.unregister(f"staged_{name}")

    def _any_kept(self) -> bool:
        return bool(
            self._connection.execute(
                "SELECT count(*) FROM trials JOIN staged_trials USING (path, setting)"
            ).fetchall()[0][0]
        )

    def _delete_staged(self) -> None:
        for name in COLUMNS:
            if name not in _HISTORY:
                self._connection.execute(
                    f"DELETE FROM {name} WHERE (path, setting) IN "
                    "(SELECT path, setting FROM staged_trials)"
                )

    def mark_present(self, present: Iterable[str], absent: Iterable[str]) -> None:
        """Say of trials whether their files are there; what is kept of them stays."""
        with self._transaction():
            for there, paths in ((True, list(present)), (False, list(absent))):
                if paths:
                    self._connection.execute(
                        "UPDATE trials SET present = ? WHERE list_contains(?, path)",
                        [there, paths],
                    )

    def _stage(self, batch: Sequence[Kept]) -> None:
        import pyarrow as pa

        for name in {*_tables(batch), "trials", "comparisons"}:
            found = [each.tables[name] for each in batch if name in each.tables]
            table = pa.concat_tables(found) if found else _empty(name)
            self._connection.register(f"staged_{name}", table)

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        self._connection.execute("BEGIN")
        try:
            yield
        except BaseException:
            self._connection.execute("ROLLBACK")
            raise
        self._connection.execute("COMMIT")


def _tables(batch: Sequence[Kept]) -> list[str]:
    return [name for name in COLUMNS if any(name in each.tables for each in batch)]


def _empty(name: str) -> Any:
    return rows_to_table(name, [])


@contextmanager
def writing(path: Path) -> Iterator[Store]:
    """Open a store to write in, alone; it is made where there is none.

    Raises
    ------
    InputError
        When it is in use, is no store, or cannot be written.
    """
    duckdb = needed("duckdb")
    _stop_unless_store(path)
    with locked(path):
        _lay_down(path)
        connection = _connected(path, read_only=False)
        try:
            connection.execute(_ROOM)
            with _in_words(path, duckdb.Error):
                _make_tables(path, connection)
            yield Store(path, connection)
        finally:
            connection.close()


@contextmanager
def reading(path: Path) -> Iterator[Store]:
    """Open a store to ask it: nothing in it, nor any file beside it, can be changed.

    Raises
    ------
    InputError
        When there is none, or it cannot be read.
    """
    needed("duckdb")
    if not is_there(path):
        raise _refusal(
            path,
            "store-missing",
            "there is no store here",
            "run 'slackwater archive FOLDER' first, or say where it is with --store",
        )
    _stop_unless_store(path)
    connection = _connected(path, read_only=True)
    try:
        connection.execute("SET enable_external_access = false; SET lock_configuration = true")
        yield Store(path, connection)
    finally:
        connection.close()


def asked(path: Path, query: str) -> pd.DataFrame:
    """What a query in SQL gives.

    Raises
    ------
    InputError
        When the store cannot be read, or the query is none that reads.
    """
    duckdb = needed("duckdb")
    with reading(path) as store, _in_words(path, duckdb.Error):
        return store.frame(query)


@contextmanager
def _in_words(path: Path, kind: type[Exception]) -> Iterator[None]:
    try:
        yield
    except kind as error:
        told = str(error).strip().split("\n\n")[0].replace("\n", " ")
        raise _refusal(
            path,
            "query-refused",
            f"the store does not answer this: {told}",
            f"there are the tables {', '.join(COLUMNS)}; 'DESCRIBE comparisons' tells columns",
        ) from error


def _connected(path: Path, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    duckdb = needed("duckdb")
    try:
        return duckdb.connect(str(path), read_only=read_only)  # type: ignore[no-any-return]
    except duckdb.Error as error:
        told = str(error).strip().splitlines()[0]
        locked_by_other = "lock" in told.lower()
        raise _refusal(
            path,
            "store-in-use" if locked_by_other else "store-unreadable",
            f"the store cannot be opened: {told}",
            "wait until the archive, or the program that has it open, has ended"
            if locked_by_other
            else "move it away: the next archive makes a new one from the trials",
        ) from error


def _lay_down(path: Path) -> None:
    """Make an empty store where there is none; it takes its name when it is whole."""
    if path.exists() and path.stat().st_size:
        return
    part = path.with_name(path.name + _PART)
    for left in (part, part.with_name(part.name + ".wal")):
        left.unlink(missing_ok=True)
    connection = _connected(part, read_only=False)
    try:
        _make_tables(part, connection)
    finally:
        connection.close()
    part.replace(path)


def _make_tables(path: Path, connection: duckdb.DuckDBPyConnection) -> None:
    """Make what is missing: tables, and columns that a later version added."""
    there = {row[0] for row in connection.execute("SHOW TABLES").fetchall()}
    if there and "store" not in there:
        raise _refusal(
            path,
            "not-a-store",
            "this database holds other tables, and none of a store of trials",
            "give another place with --store",
        )
    connection.execute("CREATE TABLE IF NOT EXISTS store (schema INTEGER)")
    found = connection.execute("SELECT max(schema) FROM store").fetchall()[0][0]
    if found is None:
        connection.execute("INSERT INTO store VALUES (?)", [SCHEMA])
    elif found != SCHEMA:
        raise _refusal(
            path,
            "store-of-another-version",
            f"the store is of version {found} of its layout; this slackwater writes {SCHEMA}",
            "give another place with --store; it is made from the trials",
        )
    known = set(
        connection.execute("SELECT table_name, column_name FROM duckdb_columns()").fetchall()
    )
    for name, fields in COLUMNS.items():
        if name not in there:
            columns = ", ".join(f'"{each.name}" {SQL_TYPES[each.kind]}' for each in fields)
            connection.execute(f"CREATE TABLE {name} ({columns})")
            continue
        for each in fields:
            if (name, each.name) not in known:
                kind = SQL_TYPES[each.kind]
                connection.execute(f'ALTER TABLE {name} ADD COLUMN "{each.name}" {kind}')


def _stop_unless_store(path: Path) -> None:
    """Refuse a file that is something else, before a database library writes into it."""
    try:
        head = first_bytes(path, 12)
    except FileNotFoundError:
        if not path.parent.is_dir():
            raise _refusal(
                path,
                "output-folder-missing",
                f"the folder {path.parent} does not exist",
                "make the folder first, or give another place",
            ) from None
        return
    except (OSError, ValueError) as error:
        raise _refusal(
            path, "store-unreadable", f"this cannot be read: {error}", "give another place"
        ) from error
    if head and head[8:12] != _MAGIC:
        raise _refusal(
            path,
            "not-a-store",
            "this file is no store of trials; it is left as it is",
            "give another place with --store",
        )


def _refusal(path: Path, rule: str, message: str, fix: str) -> InputError:
    return InputError([Finding(rule, Severity.ERROR, message, fix, Place(str(path)))])
