"""The one way that a file is read: a regular file, up to a bound, and remembered as read.

What was read is remembered under the file's own identity (device and number), so that whoever
writes can keep off it by whatever path, link or spelling it is named later. Whoever keeps answers
can have the hash of all that an answer came from (`traced`), files that were missed included.
"""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import BinaryIO

#: A device and the number of a file on it.
Identity = tuple[int, int]

_READ: ContextVar[set[Identity] | None] = ContextVar("files read", default=None)

#: Hash of the bytes read, by path; of a file that was looked for and is not there, `ABSENT`.
Trace = dict[Path, str]
ABSENT, CHANGING, UNREAD = "absent", "changed while it was read", "not read to its end"

_PIECE = 1 << 20  # bytes hashed at a time, since logs need not fit in memory
_TRACE: ContextVar[Trace | None] = ContextVar("files traced", default=None)


class NotRegular(OSError):
    """A folder, a device, a pipe or a socket: nothing that has an end to read to."""


class TooLong(OSError):
    """A file longer than the bound."""


@contextmanager
def remembering() -> Iterator[None]:
    """Remember what is read from here on, until the end of the block."""
    token = _READ.set(set())
    try:
        yield
    finally:
        _READ.reset(token)


@contextmanager
def traced() -> Iterator[Trace]:
    """Note from here on, until the end of the block, every file read or looked for."""
    trace: Trace = {}
    token = _TRACE.set(trace)
    try:
        yield trace
    finally:
        _TRACE.reset(token)


def hash_of(path: str | Path) -> str:
    """SHA-256 of a file's bytes as a trace has it; `ABSENT` or `UNREAD` where there is none."""
    digest = hashlib.sha256()
    try:
        with _opened(path) as stream:
            while piece := stream.read(_PIECE):
                digest.update(piece)
    except FileNotFoundError:
        return ABSENT
    except (OSError, ValueError):
        return UNREAD
    return digest.hexdigest()


def _note(path: str | Path, found: str) -> None:
    trace = _TRACE.get()
    if trace is None:
        return
    key = Path(path)
    before = trace.get(key, found)
    trace[key] = found if before in (found, UNREAD) else before if found == UNREAD else CHANGING


def was_read(path: Path) -> bool:
    """Whether this file, under whatever name, is one of those remembered as read."""
    read = _READ.get()
    try:
        return bool(read) and _identity(path.stat()) in (read or ())
    except OSError:
        return False


def is_file(path: str | Path) -> bool:
    """Whether there is a file; a name that no file can have names none."""
    try:
        found = Path(path).is_file()
    except (OSError, ValueError):
        return False
    _note(path, UNREAD if found else ABSENT)
    return found


def is_there(path: str | Path) -> bool:
    """Whether there is anything under a name; a name that nothing can have names nothing."""
    try:
        found = Path(path).exists()
    except (OSError, ValueError):
        return False
    _note(path, UNREAD if found else ABSENT)
    return found


def read_bytes(path: str | Path, most: int) -> bytes:
    """The bytes of a regular file.

    Parameters
    ----------
    path : str or Path
    most : int
        The bound [bytes]; no more is ever read.

    Raises
    ------
    NotRegular
        For a folder, a device, a pipe or a socket. It is not opened: some never answer.
    TooLong
        When there is more.
    OSError
        As the system says.
    ValueError
        For a name that no file can have.
    """
    data = first_bytes(path, most + 1)
    if len(data) > most:
        raise TooLong(f"{path} has more than {most} bytes")
    if _TRACE.get() is not None:
        _note(path, hashlib.sha256(data).hexdigest())
    return data


def first_bytes(path: str | Path, most: int) -> bytes:
    """The first bytes of a regular file, as many as there are up to `most`.

    Raises
    ------
    NotRegular, OSError, ValueError
        As `read_bytes` does.
    """
    with _opened(path) as stream:
        return stream.read(most)


def pieces(path: str | Path, size: int, most: int) -> Iterator[bytes]:
    """The bytes of a regular file, some at a time: for files that need not fit in memory.

    Raises
    ------
    NotRegular, TooLong, OSError, ValueError
        As `read_bytes` does; what is too long is so before anything is read.
    """
    with _opened(path) as stream:
        if os.fstat(stream.fileno()).st_size > most:
            raise TooLong(f"{path} has more than {most} bytes")
        while piece := stream.read(size):
            yield piece


def _opened(path: str | Path) -> BinaryIO:
    """The file opened, once it is known for a regular one, and remembered."""
    try:
        _stop_unless_regular(os.stat(path), path)
    except FileNotFoundError:
        _note(path, ABSENT)
        raise
    _note(path, UNREAD)
    # Without waiting: what was a file a moment ago may be a pipe now.
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    stream = os.fdopen(os.open(path, flags), "rb")
    found = os.fstat(stream.fileno())
    if not stat.S_ISREG(found.st_mode):
        stream.close()
    _stop_unless_regular(found, path)
    _remember(found)
    return stream


def _stop_unless_regular(found: os.stat_result, path: str | Path) -> None:
    if not stat.S_ISREG(found.st_mode):
        raise NotRegular(f"{path} is not a regular file")


def _identity(found: os.stat_result) -> Identity:
    return found.st_dev, found.st_ino


def _remember(found: os.stat_result) -> None:
    read = _READ.get()
    if read is not None:
        read.add(_identity(found))
