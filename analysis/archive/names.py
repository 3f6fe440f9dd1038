"""Names of files as a store can hold them: text, whatever bytes they are made of."""

from __future__ import annotations

import os
import re
from pathlib import Path


def key_of(path: str | Path) -> str:
    """The path as text that is always UTF-8, with "/" between its parts.

    Bytes that are no UTF-8 stand as `\\xff`, and a backslash in a name as `\\x5c`, so that two
    names are never taken for one and `path_of` finds the file again.
    """
    text = Path(path).as_posix()
    if "\\" not in text and text.isascii():
        return text
    text = text.replace("\\", "\\x5c")
    return os.fsencode(text).decode("utf-8", "backslashreplace")


def path_of(key: str) -> Path:
    """The path that `key_of` was given."""
    if "\\" not in key:
        return Path(key)
    raw = re.sub(rb"\\x([0-9a-f]{2})", lambda m: bytes([int(m[1], 16)]), key.encode("utf-8"))
    return Path(os.fsdecode(raw))


def clean(text: str) -> str:
    """Text that a store can hold: what is no character, as in a file's name of other bytes, is escaped."""
    return text if text.isascii() else text.encode("utf-8", "backslashreplace").decode("utf-8")
