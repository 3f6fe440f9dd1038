"""What a seal says of a file, for the head of every output that rests on it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slackwater.protocol.files.source import Document
    from slackwater.protocol.sealing.seal import Seal, SealStatus


@dataclass(frozen=True, slots=True)
class SealSaid:
    """What a seal says of a protocol, or of claims.

    Parameters
    ----------
    state : str
        "none", "kept", "late", "changed" or "unreadable"; before the first run no seal is late.
    message : str
        The same in a sentence.
    made, file, sha256 : str or None
        When it was made by its maker's clock, its file, and the hash of that file.
    fix : str
        What to do, where there is something.
    claims : str or None
        What became of claims sealed along with it: "kept", "changed", or None where there are none.
    """

    state: str = "none"
    message: str = "not sealed: nothing shows what was declared before the trial"
    made: str | None = None
    file: str | None = None
    sha256: str | None = None
    fix: str = ""
    claims: str | None = None

    @property
    def broken(self) -> bool:
        """Whether there is a seal and it does not hold, for the protocol or for the claims."""
        return self.state not in ("none", "kept") or self.claims == "changed"

    @property
    def lost(self) -> bool:
        """Whether what was sealed is not what is there, or nobody can tell."""
        return self.state in ("changed", "unreadable") or self.claims == "changed"

    @property
    def sentence(self) -> str:
        """What stands at the head of whatever rests on it; empty where there is no seal."""
        if self.state == "none":
            return ""
        return f"{self.message[:1].upper()}{self.message[1:]}."

    def to_dict(self) -> dict[str, str | None]:
        """As the JSON carries it."""
        return {
            "state": self.state,
            "message": self.message,
            "made": self.made,
            "file": self.file,
            "sha256": self.sha256,
            "claims": self.claims,
        }


#: What is said of a file that no seal speaks of.
NO_SEAL = SealSaid()


def seal_said(document: Document, *folders: Path) -> SealSaid:
    """What a seal beside a document says of it, or one in the folders named."""
    if document.tree is None:
        return NO_SEAL  # made in Python, without bytes that could have been sealed
    if not any(next(each.glob("*.seal.yaml"), None) for each in (document.folder, *folders)):
        return NO_SEAL  # as most are, and the models of seals need not be loaded
    from slackwater.protocol.sealing.seal import seal_status

    return _said(seal_status(document, *folders), document)


def _said(status: SealStatus, document: Document) -> SealSaid:
    seal = status.seal
    if seal is None or not status.kept:
        if status.state == "none":
            return NO_SEAL
        message = f"{status.message}; nothing shows what was declared when it was sealed"
        return SealSaid(status.state, message, *_of_the_seal(seal), status.fix)
    claims = _claims(seal, document)
    lost = claims is not None and not claims.kept
    return SealSaid(
        "kept",
        f"{status.message}; {claims.message}" if claims is not None and lost else status.message,
        *_of_the_seal(seal),
        claims.fix if claims is not None and lost else "",
        None if claims is None else "changed" if lost else "kept",
    )


def _of_the_seal(seal: Seal | None) -> tuple[str | None, str | None, str | None]:
    """When it was made, its file, the hash of that."""
    if seal is None:
        return None, None, None
    document = seal.document
    return seal.made.isoformat(timespec="seconds"), document.path.name, document.sha256


def _claims(seal: Seal, document: Document) -> SealStatus | None:
    """What became of claims sealed along with a document; None where it is these itself."""
    from slackwater.protocol.sealing.seal import sealed_claims

    if seal.claims is None or seal.claims.sha256 == document.sha256:
        return None
    return sealed_claims(seal)[1]
