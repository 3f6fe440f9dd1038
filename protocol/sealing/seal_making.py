"""The text of a new seal."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from slackwater.protocol.claims.claim import Claims
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.files.source import Document
from slackwater.protocol.files.yaml_edit import quoted
from slackwater.protocol.findings import Finding, InputError, Severity

HEAD = """\
# A seal. Keep it with the files it names, and change neither it nor them.
#
# It says that a file which fits the hash below has the bytes it had when this seal was made. By
# itself it does not prove when that was: the clock is the maker's own. For others it counts from the
# moment it has left the maker's hands, lodged with a third party or committed in a public place. Do
# that before the first run.
#
"""


def seal_text(
    protocol: Protocol, claims: Claims | None, target: Path, now: datetime, version: str
) -> str:
    """The text of a new seal.

    Parameters
    ----------
    protocol : Protocol
        Read from a file of its own.
    claims : Claims, optional
        Declared beforehand.
    target : Path
        Where the seal will stand; the files are named from its folder.
    now : datetime
        With its offset.
    version : str
        Of this program.

    Raises
    ------
    InputError
        For a protocol without a file of its own: a trial's file grows while the trial is run.
    """
    document = protocol.document
    if document.base or document.tree is None:
        raise InputError(
            [
                Finding(
                    "seal-unfit",
                    Severity.ERROR,
                    "the protocol is written into a trial, whose bytes change with every session",
                    "put the protocol into a file of its own and name that file in the trial",
                    document.place(),
                )
            ]
        )
    lines = [*_declared(protocol, claims), "seal: 1", f"made: {now.isoformat(timespec='seconds')}"]
    lines += [f"by: slackwater {version}", "protocol:"]
    lines += _entry(document, target, {"id": protocol.protocol, "version": protocol.version})
    if claims is not None:
        lines += ["claims:", *_entry(claims.document, target, {})]
    return HEAD + "\n".join(lines) + "\n"


def _entry(document: Document, target: Path, more: dict[str, str]) -> Iterator[str]:
    """The lines of a sealed file; in quotes, which every reader of YAML takes as text."""
    values = {"file": _from(document.path, target.parent), **more, "sha256": document.sha256}
    for key, value in values.items():
        yield f"  {key}: {quoted(value)}"


def _from(path: Path, folder: Path) -> str:
    """The path as seen from the folder; only its name where it lies outside, as shipped ones do."""
    try:
        return path.resolve().relative_to(folder.resolve()).as_posix()
    except ValueError:
        return path.name


def _declared(protocol: Protocol, claims: Claims | None) -> Iterator[str]:
    """What is declared, in comments for whoever opens the seal; the hash alone counts."""
    named = " and ".join(protocol.analysis.worthwhile)
    points = ", ".join(str(value) for value in protocol.runs.set_points.values)
    count = protocol.sessions.per_configuration
    yield f"# Declared for comparison: {named or 'nothing, since no worthwhile difference is'}."
    yield f"# At {points}; sessions in the order {protocol.sessions.order}, {count} with each."
    if claims is not None:
        yield f"# And {len(claims.claims)} claims."
    yield ""
