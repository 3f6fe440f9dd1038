"""Looking for trials below a folder.

Links to folders are not followed, so that a loop of them has no way in; they are counted. Files that
are no trials cost a glance at the first bytes of those whose names end as YAML's do.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from slackwater.analysis.archive.names import key_of
from slackwater.protocol.files.reading import first_bytes
from slackwater.protocol.files.source import MAX_BYTES

_ENDINGS = (".yaml", ".yml")
_TELL = "(?:protocol|configurations|sessions|boat)"
_OTHER = "(?:claims|seal|reply)"
# Keys of the top level stand at the beginning of a line; where all is in braces, anywhere.
_BLOCK, _FLOW = r"""^["']?%s["']?\s*:""", r"""[{,]\s*["']?%s["']?\s*:"""
_MARKS = b"\xff\xfe\xef\xbb\xbf"  # what editors put in front of text


@dataclass(slots=True)
class Looked:
    """What was met below a folder.

    Attributes
    ----------
    trials : list of str
        Files that are trials, by their names from the folder, sorted.
    closed : dict of str
        Folders and files that could not be looked into, with what the system says.
    links : list of str
        Links to folders, which were not followed.
    files : int
        Every file met.
    """

    trials: list[str] = field(default_factory=list)
    closed: dict[str, str] = field(default_factory=dict)
    links: list[str] = field(default_factory=list)
    files: int = 0


def look_below(folder: Path) -> Looked:
    """Every trial below a folder.

    Raises
    ------
    OSError
        When the folder itself cannot be looked into.
    """
    os.scandir(folder).close()
    looked = Looked()
    for path in _files(folder, folder, looked):
        looked.files += 1
        if not path.lower().endswith(_ENDINGS):
            continue
        name = key_of(os.path.relpath(path, folder))
        try:
            raw = first_bytes(path, MAX_BYTES)
        except FileNotFoundError:  # gone since, or a link that leads nowhere
            continue
        except (OSError, ValueError) as error:
            looked.closed[name] = _said(error)
            continue
        if is_trial(raw):
            looked.trials.append(name)
    looked.trials.sort()
    return looked


def is_trial(raw: bytes) -> bool:
    """Whether bytes are those of a trial's file, one with faults in it too."""
    text = raw.replace(b"\0", b"").lstrip(_MARKS)  # also of UTF-16, which is told when it is read
    key = _FLOW if text.lstrip().startswith(b"{") else _BLOCK

    def has(name: str) -> bool:
        return re.search((key % name).encode(), text, re.MULTILINE) is not None

    return has("trial") and has(_TELL) and not has(_OTHER)


def _files(top: Path, folder: str | Path, looked: Looked) -> Iterator[str]:
    folders = [str(folder)]
    while folders:
        here = folders.pop()
        try:
            with os.scandir(here) as entries:
                found = sorted(entries, key=lambda entry: entry.name)
        except OSError as error:
            if not isinstance(error, FileNotFoundError):
                looked.closed[key_of(os.path.relpath(here, top))] = _said(error)
            continue
        for entry in found:
            if _is_folder(entry):
                if entry.is_symlink():
                    looked.links.append(key_of(os.path.relpath(entry.path, top)))
                else:
                    folders.append(entry.path)
            else:
                yield entry.path


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:  # a link in a circle, or gone
        return False


def _said(error: Exception) -> str:
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return reason.lower()
