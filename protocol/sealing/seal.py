"""The seal: which bytes of a protocol, and of claims declared beforehand, were there at what time.

A seal is a small file beside the protocol, `NAME.seal.yaml`, with the SHA-256 of the protocol's bytes,
the time, and the same for a file of claims where one is given.

What it proves: that a file which fits the seal has the bytes it had when the seal was made. Nobody
can make another file that fits. What is declared in it (set points, sessions, worthwhile
differences, the method of analysis) was therefore declared by then.

What it does not prove: when that was. The time is that of the maker's own clock, and whoever likes may
write a new protocol, and a new seal with an old date, after the trial. A seal counts for others
from the moment it has left the maker's hands: lodged with a third party, or committed in a public
place, before the first run. Nor does it say that no other trial was run and kept quiet, that the
runs are what was measured, or that the runs set aside deserved it.

Nothing beside the bytes is sealed: a change of line ends breaks it as a change of a figure does.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, PrivateAttr, ValidationError

from slackwater.protocol.declared.protocol_parts import Part
from slackwater.protocol.files.dates import MomentIn
from slackwater.protocol.files.model_faults import findings_of
from slackwater.protocol.files.reading import NotRegular, TooLong, is_there, read_bytes
from slackwater.protocol.files.scalars import File, Name, Text, TextIn
from slackwater.protocol.files.source import MAX_BYTES, Document, document_of, scan_document
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.library import shipped
from slackwater.protocol.units.quantity import QuantityError

if TYPE_CHECKING:
    from slackwater.protocol.claims.claim import Claims

ENDING = ".seal.yaml"

State = Literal["none", "kept", "changed", "unreadable"]


class AwareMomentIn(MomentIn):
    """A date with a time and its offset from universal time."""

    def wanted(self) -> str:
        return "a date, a time and its offset such as '2026-05-01T18:30:00+02:00'"

    def read(self, value: object) -> datetime:
        moment = super().read(value)
        if not isinstance(moment, datetime) or moment.tzinfo is None:
            raise QuantityError(f"'{value}' does not do here; {self.wanted()} is needed")
        return moment


Sha256 = Annotated[
    str, TextIn(pattern="[0-9a-f]{64}", one_line=True, noun="a SHA-256 of 64 hexadecimal digits")
]


class SealedFile(Part):
    """A file as it was when the seal was made."""

    file: File = Field(description="Its name, from the folder of the seal.")
    id: Name | None = Field(default=None, description="Id of the protocol.")
    version: Name | None = Field(default=None, description="Version of the protocol.")
    sha256: Sha256 = Field(description="Of its bytes.")


class Seal(Part):
    """A seal as it is read from its file."""

    seal: Literal["1"] = Field(description="Version of this form.")
    made: Annotated[datetime, AwareMomentIn()] = Field(
        description="When it was made, by the maker's own clock."
    )
    by: Text = Field(default="", description="The program that made it.")
    protocol: SealedFile = Field(description="The protocol sealed.")
    claims: SealedFile | None = Field(default=None, description="The claims sealed along with it.")

    _document: Document = PrivateAttr(default_factory=lambda: document_of({}))

    @property
    def document(self) -> Document:
        """The file it was read from."""
        return self._document

    @property
    def files(self) -> tuple[SealedFile, ...]:
        """The files sealed: the protocol, then the claims."""
        return (self.protocol,) if self.claims is None else (self.protocol, self.claims)

    def entry_of(self, file: Path) -> SealedFile | None:
        """What is sealed under the name of a file, in the seal's own folder."""
        same = (one for one in self.files if PurePath(one.file).name == file.name)
        return next(same, None)

    def path_of(self, sealed: SealedFile) -> Path:
        """Where a sealed file is looked for: from the seal's folder, else among those shipped."""
        path = self._document.folder / sealed.file
        return path if is_there(path) else shipped().get(sealed.file.stem, path)


@dataclass(frozen=True, slots=True)
class SealStatus:
    """What a seal says of a file as it is now.

    Attributes
    ----------
    state : str
        "none" (no seal speaks of the file), "kept" (the bytes are those sealed), "changed" (they are
        others) or "unreadable" (there is a seal that cannot be read).
    message : str
        The same in a clause.
    fix : str
        What to do, where there is something.
    seal : Seal or None
    """

    state: State
    message: str
    fix: str = ""
    seal: Seal | None = None

    @property
    def kept(self) -> bool:
        """What was sealed is what is there."""
        return self.state == "kept"

    @property
    def made(self) -> datetime | None:
        """When the seal was made, by its maker's clock."""
        return self.seal.made if self.seal else None

    @property
    def path(self) -> Path | None:
        """The file of the seal."""
        return self.seal.document.path if self.seal else None


def seal_path(path: Path) -> Path:
    """Where the seal of a file stands by default: beside it, `sweep.yaml` by `sweep.seal.yaml`."""
    return path.with_name(path.stem + ENDING)


def load_seal(path: str | Path) -> Seal:
    """Read a seal.

    Raises
    ------
    InputError
        With everything that is wrong with it.
    """
    document, findings = scan_document(path)
    if document is None or findings:
        raise InputError(findings)
    try:
        seal = Seal.model_validate(document.data)
    except ValidationError as error:
        raise InputError(findings_of(error, document, Seal)) from None
    seal._document = document
    return seal


def seal_status(document: Document, *folders: Path) -> SealStatus:
    """Whether a protocol or a file of claims is sealed, and whether it is as it was then.

    Parameters
    ----------
    document : Document
        Of the protocol or the claims, as read.
    *folders : Path
        Where seals are looked for beside the document's own folder, such as that of the trial.

    Returns
    -------
    SealStatus
        Of the earliest seal that fits the bytes; where none fits, of one that names the file.
    """
    if document.base or document.tree is None:
        return SealStatus("none", "a protocol written into a trial cannot be sealed")
    named: list[Seal] = []
    fitting: list[Seal] = []
    unread: list[Path] = []
    for path in _seals_in(document.folder, *folders):
        try:
            seal = load_seal(path)
        except InputError:
            if path.name == document.path.stem + ENDING:
                unread.append(path)
            continue
        for sealed in seal.files:
            if sealed.sha256 == document.sha256:
                fitting.append(seal)
            elif PurePath(sealed.file).name == document.path.name:
                named.append(seal)
    name = document.path.name
    if fitting:
        seal = min(fitting, key=lambda one: one.made)
        return SealStatus(
            "kept", f"the file {name} is as it was sealed on {moment(seal.made)}", seal=seal
        )
    if named:
        return _changed(document, min(named, key=lambda one: one.made))
    if unread:
        return SealStatus(
            "unreadable",
            f"the seal {unread[0].name} cannot be read",
            f"'slackwater seal --verify {unread[0].name}' says what is wrong with it",
        )
    return SealStatus("none", f"the file {name} is not sealed")


def _seals_in(*folders: Path) -> Iterator[Path]:
    seen = dict.fromkeys(folder.resolve() for folder in folders)
    for folder in seen:
        if folder.is_dir():
            yield from sorted(folder.glob(f"*{ENDING}"))


def _changed(document: Document, seal: Seal) -> SealStatus:
    name = document.path.name
    sealed = next(one for one in seal.files if PurePath(one.file).name == name)
    message = f"the file {name} is not what was sealed on {moment(seal.made)}"
    if only_line_ends(document.path, sealed.sha256):
        return SealStatus(
            "changed",
            f"{message}; only its line ends differ",
            "put the line ends back as they were; '*.yaml -text' in .gitattributes keeps git from "
            "changing them",
            seal,
        )
    return SealStatus(
        "changed",
        message,
        "go back to the file that was sealed; a change made before the first run takes a new seal",
        seal,
    )


def only_line_ends(path: Path, sha256: str) -> bool:
    """Whether a file has the hash once its line ends are those of the other systems."""
    try:
        plain = read_bytes(path, MAX_BYTES).replace(b"\r\n", b"\n")
    except (OSError, ValueError):
        return False
    return sha256 in (
        hashlib.sha256(plain).hexdigest(),
        hashlib.sha256(plain.replace(b"\n", b"\r\n")).hexdigest(),
    )


def state_of(
    seal: Seal, sealed: SealedFile, file: Path | None = None
) -> tuple[Literal["kept", "changed", "missing"], str]:
    """What became of a sealed file, and a word on it.

    Parameters
    ----------
    file : Path, optional
        This file is the one meant; by default the one that the seal's own folder has.
    """
    path = seal.path_of(sealed) if file is None else file
    try:
        data = read_bytes(path, MAX_BYTES)
    except NotRegular:
        return "missing", "what stands there is not a regular file"
    except TooLong:
        return "changed", f"it has more than {MAX_BYTES // 1000} kB now"
    except (OSError, ValueError) as error:
        return "missing", (getattr(error, "strerror", None) or str(error)).lower()
    if hashlib.sha256(data).hexdigest() == sealed.sha256:
        return "kept", ""
    return "changed", "only its line ends differ" if only_line_ends(path, sealed.sha256) else ""


def seal_findings(seal: Seal) -> Iterator[Finding]:
    """The files of a seal that are not what was sealed."""
    for key, sealed in zip(("protocol", "claims"), seal.files, strict=False):
        state, note = state_of(seal, sealed)
        if state == "kept":
            continue
        what = "is not there" if state == "missing" else "is not what was sealed"
        yield Finding(
            f"seal-{state}",
            Severity.WARNING,
            f"the file {sealed.file} {what}{f'; {note}' if state == 'changed' and note else ''}",
            "put the file back as it was, or take the seal away if it speaks of an older one",
            seal.document.place((key, "file")),
        )


def made_before(made: datetime, first: datetime | date | None) -> bool:
    """Whether a seal was made before the first run, as far as the two clocks tell.

    Parameters
    ----------
    made : datetime
        With its offset.
    first : datetime, date or None
        Start of the first run. Without an offset it is taken as the maker's local time; a day
        without a time is not before itself; None, where nothing is dated, is before nothing.
    """
    if first is None:
        return False
    if not isinstance(first, datetime):
        return made.date() < first
    return made < first if first.tzinfo else made.replace(tzinfo=None) < first


def moment(when: datetime) -> str:
    """A time as reports give it: `2026-05-01 18:30 +02:00`."""
    offset = when.utcoffset() or timedelta()
    minutes = round(offset.total_seconds() / 60)
    sign = "-" if minutes < 0 else "+"
    return f"{when:%Y-%m-%d %H:%M} {sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def sealed_claims(seal: Seal) -> tuple[Claims | None, SealStatus | None]:
    """The claims sealed along with a protocol, where they are as they were, and what became of them.

    Returns
    -------
    Claims or None
        None without sealed claims, and where they changed or cannot be read.
    SealStatus or None
        Of the claims; None where none were sealed.
    """
    from slackwater.protocol.claims.claims_file import build_claims

    if seal.claims is None:
        return None, None
    document, faults = scan_document(seal.path_of(seal.claims))
    name = seal.claims.file.name
    if document is None or faults:
        message = f"the claims {name}, sealed on {moment(seal.made)}, cannot be read"
        return None, SealStatus("changed", message, "put the file back as it was", seal)
    if document.sha256 != seal.claims.sha256:
        return None, _changed(document, seal)
    claims, _ = build_claims(document)
    return claims, SealStatus("kept", f"the file {name} is as it was sealed", seal=seal)


def to_data(seal: Seal) -> dict[str, Any]:
    """A seal as JSON carries it."""

    def entry(sealed: SealedFile) -> dict[str, Any]:
        return {
            "file": sealed.file.as_posix(),
            "id": sealed.id,
            "version": sealed.version,
            "sha256": sealed.sha256,
        }

    return {
        "made": seal.made.isoformat(timespec="seconds"),
        "by": seal.by,
        "protocol": entry(seal.protocol),
        "claims": entry(seal.claims) if seal.claims else None,
    }
