"""A YAML file with the place of everything in it."""

from __future__ import annotations

import codecs
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from slackwater.protocol.files.reading import NotRegular, TooLong, read_bytes
from slackwater.protocol.files.yaml_faults import LINE_BREAK, Fault
from slackwater.protocol.files.yaml_tree import Node, read_tree
from slackwater.protocol.findings import Finding, InputError, Place, Severity

MAX_BYTES = 1_000_000
_EXCERPT = 160  # characters
_OTHER_ENCODINGS = (
    (codecs.BOM_UTF32_LE, "UTF-32"),
    (codecs.BOM_UTF32_BE, "UTF-32"),
    (codecs.BOM_UTF16_LE, "UTF-16"),
    (codecs.BOM_UTF16_BE, "UTF-16"),
)

Loc = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Document:
    """What a YAML file says: every scalar a text, and where each stands.

    Parameters
    ----------
    path : Path
        As it was given.
    text : str
        The whole file.
    sha256 : str
        Of the bytes of the file, in hexadecimal.
    data : dict
        Plain dict, list and str.
    tree : Node, optional
        Positions; None for data that was not read from a file.
    base : tuple
        Where `data` stands in the file; empty for the whole of it.
    """

    path: Path
    text: str
    sha256: str
    data: dict[str, Any]
    tree: Node | None = field(default=None, repr=False, compare=False)
    base: Loc = ()

    @property
    def folder(self) -> Path:
        """The folder of the file; what the file refers to is looked for from here."""
        return self.path.parent

    def place(self, loc: Loc = (), *, key: bool = False) -> Place:
        """The place of a value, or of the innermost part around it that exists.

        Parameters
        ----------
        loc : tuple of str and int
            Keys and list positions (from 0) that lead to the value.
        key : bool
            The place of the key in front of the value, instead of the value's.
        """
        if self.tree is None:
            return Place(str(self.path))
        node, name = self.tree, None
        whole = (*self.base, *loc)
        reached = 0
        for step in whole:
            if node.kind == "mapping" and str(step) in node.entries:
                name, node = node.entries[str(step)]
            elif node.kind == "list" and isinstance(step, int) and 0 <= step < len(node.items):
                name, node = None, node.items[step]
            else:
                break
            reached += 1
        # A block starts on the line below its key; the key is what the eye looks for.
        block = node.kind != "scalar" and not node.flow
        empty = node.kind == "scalar" and not node.text
        wants_key = (key and reached == len(whole)) or block or empty
        at = name if name is not None and wants_key else node
        return self.place_at(at.line, at.column)

    def place_at(self, line: int, column: int) -> Place:
        """A place given by line and column, with the line's text."""
        lines = _lines(self.text)
        excerpt = lines[line - 1] if 0 < line <= len(lines) else ""
        return Place(str(self.path), line, column, _showable(excerpt))

    def part(self, name: str) -> Document:
        """The document that one key of this one holds, such as a protocol written into a trial."""
        inner = self.data.get(name)
        return replace(self, data=inner if isinstance(inner, dict) else {}, base=(*self.base, name))


def document_of(data: Mapping[str, Any]) -> Document:
    """A document made in Python, without a file and so without places."""
    return Document(Path("<python>"), "", "", dict(data))


def read_document(path: str | Path) -> Document:
    """Read a YAML file.

    Raises
    ------
    InputError
        With everything that is wrong with the YAML.
    """
    document, findings = scan_document(path)
    if document is None or findings:
        raise InputError(findings)
    return document


def scan_document(path: str | Path) -> tuple[Document | None, list[Finding]]:
    """Read a YAML file as far as it goes, with everything that is wrong with it as YAML.

    A document comes back beside its findings where it can, so that the findings on its content can
    be told in the same breath.
    """
    raw, found = _read_bytes(Path(path))
    if found is not None:
        return None, [found]
    text, found = _decode(raw, str(path))
    if found is not None:
        return None, [found]
    tree, faults = read_tree(text)
    document = Document(
        Path(path), text, hashlib.sha256(raw).hexdigest(), tree.plain() if tree else {}, tree
    )
    findings = [_finding(document, fault) for fault in faults]
    return (document if tree else None), findings


def _finding(document: Document, fault: Fault) -> Finding:
    place = document.place_at(fault.line, fault.column)
    return Finding(fault.rule, Severity.ERROR, fault.message, fault.fix, place)


def _read_bytes(path: Path) -> tuple[bytes, Finding | None]:
    def finding(rule: str, message: str, fix: str) -> tuple[bytes, Finding]:
        return b"", Finding(rule, Severity.ERROR, message, fix, Place(str(path)))

    try:
        return read_bytes(path, MAX_BYTES), None
    except NotRegular:
        what = "a folder" if path.is_dir() else "a device or a pipe"
        return finding(
            "unreadable-file",
            f"this is {what}; a YAML file is needed",
            "name a file with an end" if not path.is_dir() else "name the file in it",
        )
    except TooLong:
        return finding(
            "too-large",
            f"larger than {MAX_BYTES // 1000} kB; this is not a trial file",
            "runs belong in a table, see 'runs:'",
        )
    except FileNotFoundError:
        return finding("missing-file", "there is no such file", "check the name and the folder")
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        return finding(
            "unreadable-file",
            f"the file cannot be read: {reason.lower()}",
            "check the name and the permissions",
        )


def _decode(raw: bytes, file: str) -> tuple[str, Finding | None]:
    for mark, name in _OTHER_ENCODINGS:
        if raw.startswith(mark):
            return "", Finding(
                "not-utf-8",
                Severity.ERROR,
                f"the file is saved as {name}; UTF-8 is needed",
                "save it again as UTF-8 text",
                Place(file, 1, 1),
            )
    try:
        # Editors on some systems put a mark in front of UTF-8; it is no part of the first key.
        return raw.decode("utf-8-sig"), None
    except UnicodeDecodeError as error:
        bare = raw.removeprefix(codecs.BOM_UTF8)
        before = bare[: error.start].decode("utf-8", errors="replace")
        lines = LINE_BREAK.split(before)
        whole_line = LINE_BREAK.split(bare.decode("utf-8", errors="replace"))[len(lines) - 1]
        return "", Finding(
            "not-utf-8",
            Severity.ERROR,
            f"the byte 0x{bare[error.start]:02x} is not UTF-8; an older encoding, most likely",
            "save it again as UTF-8 text",
            Place(file, len(lines), len(lines[-1]) + 1, _showable(whole_line)),
        )


@lru_cache(maxsize=8)
def _lines(text: str) -> tuple[str, ...]:
    return tuple(LINE_BREAK.split(text))


def _showable(line: str) -> str:
    """A line that is safe on a terminal and keeps its columns."""
    tidy = "".join(c if c.isprintable() or c == "\t" else "\ufffd" for c in line[:_EXCERPT])
    return tidy + "…" if len(line) > _EXCERPT else tidy
