"""Which form a log has, seen from its content, and the reader that goes with it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.opening import Opened, open_logs, refused
from slackwater.analysis.logs.table_words import Told
from slackwater.analysis.logs.tables import read_table, table_head
from slackwater.protocol.findings import Finding, InputError

_LOOKED_AT = 1 << 14  # [bytes]
_LINES_SHOWN = 3
_SHOWN_WIDTH = 60


@dataclass(frozen=True, slots=True)
class Form:
    """A form that logs have.

    Parameters
    ----------
    name : str
        In words.
    module, call : str
        Where the function is that takes an opened log, and its name.
    line : bytes
        A pattern that its lines match; empty for one that is told by its first bytes.
    begins : tuple of bytes
        What the whole file may begin with.
    head : bytes
        A pattern that its first bytes match.
    """

    name: str
    module: str
    call: str
    line: bytes = b""
    begins: tuple[bytes, ...] = ()
    head: bytes = b""


_0183, _2000 = "slackwater.analysis.logs.nmea0183", "slackwater.analysis.logs.nmea2000"
_TRACKS = "slackwater.analysis.logs.tracks"
_SENTENCE = rb"\$[A-Z]{2}[A-Z0-9]{3,8},|\$P[A-Z0-9]{3,8},|!AIVD[MO],"
_CAPTURES = (b"\xd4\xc3\xb2\xa1", b"\xa1\xb2\xc3\xd4", b"\x4d\x3c\xb2\xa1", b"\xa1\xb2\x3c\x4d")

FORMS: tuple[Form, ...] = (
    Form("NMEA 0183", _0183, "read", rb"^[^#]{0,64}?(?:" + _SENTENCE + rb")"),
    Form(
        "NMEA 2000, a message a line",
        _2000,
        "read_joined",
        rb"^[0-9][0-9T:. Z+-]*,[0-7],[0-9]{5,6},[0-9]{1,3},[0-9]{1,3},[0-9]{1,3}(?:,[0-9A-Fa-f]{2})+",
    ),
    Form(
        "NMEA 2000, candump",
        _2000,
        "read_candump",
        rb"^\s*(?:\([0-9.]+\)\s+)?\w+\s+[0-9A-Fa-f]{8}#(?:[0-9A-Fa-f]{2})+",
    ),
    Form(
        "NMEA 2000, candump for people",
        _2000,
        "read_spaced",
        rb"^\s*(?:\([0-9. :-]+\)\s+)?(?:<0x[0-9A-Fa-f]{8}>|\w+\s+[0-9A-Fa-f]{8})\s+\[[0-8]\]\s",
    ),
    Form("NMEA 2000, base64", _2000, "read_base64", rb"^!PDGY,[0-9]{5,6},"),
    Form("NMEA 2000, PCAP of SocketCAN", _2000, "read_capture", begins=_CAPTURES),
    Form(
        "GPX",
        _TRACKS,
        "read_gpx",
        head=rb"^[\s\xef\xbb\xbf]*<(?s:[^$]{0,2000}?)<?(?:\w+:)?gpx[\s>]",
    ),
    Form(
        "TCX",
        _TRACKS,
        "read_tcx",
        head=rb"^[\s\xef\xbb\xbf]*<(?s:.{0,2000}?)TrainingCenterDatabase",
    ),
    Form("FIT", "slackwater.analysis.logs.fit", "read", head=rb"(?s)^.{8}\.FIT"),
)
_TABLES = "table of samples over time (CSV, a row a moment)"

_NO_FORM = "has no form that is read here"
_GIVE = (
    f"give a log as the instrument or logger wrote it; read are {'; '.join((*(f.name for f in FORMS), _TABLES))}; "
    "also as gzip or zip"
)
_TABLE = "is a table, and no heading of it says what its columns are"
_CONVERT = (
    "head the columns with what they hold and its unit: time, speed over ground [kn], …; or name them in a trial "
    "and give that with --trial: columns: {start: 'heading of the time', speed_over_ground: 'heading of the "
    "speed'}; where a row is a run, it is the run table of a trial: slackwater new trial --runs FILE proposes one"
)


def read_logs(*paths: str | Path, told: Told | None = None) -> list[Log]:
    """Read logs, each in the form that its content has; those of an archive one by one.

    Parameters
    ----------
    *paths : str or Path
    told : Told, optional
        What a trial says of the headings of tables.

    Raises
    ------
    InputError
        With what is wrong with each file that cannot be used.
    """
    logs: list[Log] = []
    wrong: list[Finding] = []
    for path in paths:
        try:
            logs += [read_log(opened, told) for opened in open_logs(Path(path))]
        except InputError as error:
            wrong += error.findings
    if wrong:
        raise InputError(wrong)
    return logs


def read_log(opened: Opened, told: Told | None = None) -> Log:
    """Read one log in the form that it has.

    Raises
    ------
    InputError
        When it has none that is known, or holds nothing.
    """
    head = opened.head(_LOOKED_AT)
    form = recognised(head)
    if form is not None:
        log: Log = getattr(import_module(form.module), form.call)(opened)
        return log
    found = table_head(opened, head, told or Told()) if b"\0" not in head else None
    if found is not None:
        return read_table(opened, found, told or Told())
    lines = _lines(head)
    what, fix = (_TABLE, _CONVERT) if _is_table(head, lines) else (_NO_FORM, _GIVE)
    raise refused(
        opened.path, "log-form-unknown", f"{what}; it begins with {_begins(lines)}", fix
    )  # fmt: skip


def recognised(head: bytes) -> Form | None:
    """The form of a log: the one that most of its first lines have; None for a table, or none."""
    for form in FORMS:
        if head.startswith(form.begins) if form.begins else form.head and _has(form, head):
            return form
    lines = _lines(head)
    by_line = [form for form in FORMS if form.line]
    counts = {form.name: _having(form, lines) for form in by_line}
    best = max(by_line, key=lambda form: counts[form.name])
    return best if counts[best.name] else None


def _having(form: Form, lines: list[bytes]) -> int:
    """How many lines have the form."""
    has = re.compile(form.line).search
    return sum(has(line) is not None for line in lines)


def _lines(head: bytes) -> list[bytes]:
    return re.split(rb"\r\n|\n|\r", head)


def _is_table(head: bytes, lines: list[bytes]) -> bool:
    """Whether it is a workbook, or its first lines are cut into as many cells each."""
    first = _said(lines)
    cut = ({line.count(mark) for line in first} for mark in (b",", b";", b"\t"))
    even = any(len(marks) == 1 and marks != {0} for marks in cut)
    return b"spreadsheetml" in head or (len(first) > 1 and b"\0" not in head and even)


def _has(form: Form, head: bytes) -> bool:
    return re.search(form.head, head) is not None


def _begins(lines: list[bytes]) -> str:
    shown = list(_shown(lines))
    return ", then ".join(shown) if shown else "blank lines"


def _shown(lines: list[bytes]) -> Iterator[str]:
    """The first lines that say something, fit to print."""
    for line in _said(lines):
        text = line[:_SHOWN_WIDTH].decode("ascii", "backslashreplace")
        plain = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text)
        yield f"'{plain[:_SHOWN_WIDTH]}'"


def _said(lines: list[bytes]) -> list[bytes]:
    return [line for line in lines if line.strip()][:_LINES_SHOWN]
