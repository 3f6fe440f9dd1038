"""Which form a log has, seen from its content, and the reader that goes with it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.opening import Opened, open_logs, refused
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
    reader : str
        The module whose `read` takes an opened log.
    line : bytes
        A pattern that its lines match.
    """

    name: str
    reader: str
    line: bytes


_SENTENCE = rb"\$[A-Z]{2}[A-Z0-9]{3,8},|\$P[A-Z0-9]{3,8},|!AIVD[MO],"

FORMS: tuple[Form, ...] = (
    Form("NMEA 0183", "slackwater.analysis.logs.nmea0183", rb"^[^#]{0,64}?(?:" + _SENTENCE + rb")"),
)


def read_logs(*paths: str | Path) -> list[Log]:
    """Read logs, each in the form that its content has; those of an archive one by one.

    Parameters
    ----------
    *paths : str or Path

    Raises
    ------
    InputError
        With what is wrong with each file that cannot be used.
    """
    logs: list[Log] = []
    wrong: list[Finding] = []
    for path in paths:
        try:
            logs += [read_log(opened) for opened in open_logs(Path(path))]
        except InputError as error:
            wrong += error.findings
    if wrong:
        raise InputError(wrong)
    return logs


def read_log(opened: Opened) -> Log:
    """Read one log in the form that it has.

    Raises
    ------
    InputError
        When it has none that is known, or holds nothing.
    """
    form = recognised(opened)
    log: Log = import_module(form.reader).read(opened)
    return log


def recognised(opened: Opened) -> Form:
    """The form of a log: the one that most of its first lines have.

    Raises
    ------
    InputError
    """
    head = opened.head(_LOOKED_AT)
    lines = re.split(rb"\r\n|\n|\r", head)
    counts = {form.name: sum(bool(re.search(form.line, line)) for line in lines) for form in FORMS}
    best = max(FORMS, key=lambda form: counts[form.name])
    if counts[best.name]:
        return best
    raise refused(
        opened.path,
        "log-form-unknown",
        f"has no form that is read here; it begins with {_begins(lines)}",
        f"give a log as the instrument or logger wrote it; read are {', '.join(f.name for f in FORMS)}; "
        "also as gzip or zip",
    )


def _begins(lines: list[bytes]) -> str:
    shown = list(_shown(lines))
    return ", then ".join(shown) if shown else "blank lines"


def _shown(lines: list[bytes]) -> Iterator[str]:
    """The first lines that say something, fit to print."""
    for line in [line for line in lines if line.strip()][:_LINES_SHOWN]:
        text = line[:_SHOWN_WIDTH].decode("ascii", "backslashreplace")
        plain = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text)
        yield f"{plain!r}"
