"""One archive at a time on one store: a lock of the operating system's, which no kill leaves behind."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path

from slackwater.protocol.findings import Finding, InputError, Place, Severity

ENDING = ".lock"


@contextmanager
def locked(store: Path) -> Iterator[None]:
    """Hold the store for writing until the end of the block.

    The lock is on a file beside the store, and belongs to the open file: the system lets go of it
    when this process ends, however it ends. The file itself stays and means nothing.

    Raises
    ------
    InputError
        When another process holds it, or no file can be made there.
    """
    path = store.with_name(store.name + ENDING)
    try:
        held = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as error:
        raise InputError(
            [
                Finding(
                    "store-not-writable",
                    Severity.ERROR,
                    f"the store cannot be written here: {(error.strerror or str(error)).lower()}",
                    "give another place with --store",
                    Place(str(store)),
                )
            ]
        ) from error
    try:
        if not _taken(held):
            raise InputError(
                [
                    Finding(
                        "store-in-use",
                        Severity.ERROR,
                        "another archive is writing this store",
                        "wait until it has ended; what it has finished is then not done again",
                        Place(str(store)),
                    )
                ]
            )
        yield
    finally:
        os.close(held)


def _taken(held: int) -> bool:
    """Whether the lock is ours now; never waits."""
    try:
        _take(held)
    except OSError:
        return False
    return True


def _take(held: int) -> None:
    """Take the lock by what the system has for it, or raise OSError."""
    if os.name == "nt":
        msvcrt = import_module("msvcrt")  # there is none elsewhere, types included
        # A part of the file is locked, from where it stands on; it may lie beyond the end.
        os.lseek(held, 0, os.SEEK_SET)
        msvcrt.locking(held, msvcrt.LK_NBLCK, 1)
        return
    fcntl = import_module("fcntl")
    fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
