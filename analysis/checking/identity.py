"""What was looked over: names, versions, the hash of every file, and what its seal says.

A record of conformity is of no use to anybody who cannot tell of which bytes it speaks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from slackwater.protocol.findings import Finding, Place, Severity

if TYPE_CHECKING:
    from pathlib import Path

    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial
    from slackwater.protocol.files.source import Document
    from slackwater.protocol.sealing.seal import SealStatus


@dataclass(frozen=True, slots=True)
class Input:
    """A file that was read, with the SHA-256 of its bytes."""

    role: str
    name: str
    sha256: str

    def to_dict(self) -> dict[str, str]:
        """As the JSON carries it."""
        return {"role": self.role, "name": self.name, "sha256": self.sha256}


@dataclass(frozen=True, slots=True)
class SealSaid:
    """What a seal says of the protocol.

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


@dataclass(frozen=True, slots=True)
class Identity:
    """A protocol or a trial, so that nobody takes it for another.

    Parameters
    ----------
    kind : str
        "protocol" or "trial".
    id, title : str
        Of the trial, or of the protocol.
    protocol, version : str
        Id and version of the protocol.
    inputs : tuple of Input
        Every file read.
    seal : SealSaid
    """

    kind: str
    id: str
    title: str
    protocol: str
    version: str
    inputs: tuple[Input, ...]
    seal: SealSaid

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        return {
            "kind": self.kind,
            "id": self.id,
            "title": self.title or None,
            "protocol": {"id": self.protocol, "version": self.version or None},
            "inputs": [each.to_dict() for each in self.inputs],
            "seal": self.seal.to_dict(),
        }


def of_protocol(protocol: Protocol) -> Identity:
    """Of a protocol in a file of its own."""
    return Identity(
        "protocol",
        protocol.protocol,
        protocol.title,
        protocol.protocol,
        protocol.version,
        (_input("protocol", protocol.document),),
        _seal_of(protocol.document),
    )


def of_trial(trial: Trial, runs: RunTable | None) -> Identity:
    """Of a trial with its protocol and its runs, where they could be read."""
    protocol = trial.protocol
    inputs = [_input("trial", trial.document)]
    if protocol.document.path != trial.document.path:
        inputs.append(_input("protocol", protocol.document))
    if runs is not None:
        inputs.append(Input("runs", trial.runs.name, runs.sha256))
    return Identity(
        "trial",
        trial.trial,
        trial.title,
        protocol.protocol,
        protocol.version,
        tuple(inputs),
        _of_a_trial(trial, runs),
    )


def _input(role: str, document: Document) -> Input:
    return Input(role, document.path.name, document.sha256)


def _seal_of(document: Document, *folders: Path) -> SealSaid:
    if not any(next(each.glob("*.seal.yaml"), None) for each in (document.folder, *folders)):
        return SealSaid()  # as most are, and the models of seals need not be loaded
    from slackwater.protocol.sealing.seal import seal_status

    return _said(seal_status(document, *folders))


def _of_a_trial(trial: Trial, runs: RunTable | None) -> SealSaid:
    before = _seal_of(trial.protocol.document, trial.folder)
    if runs is None or before.state != "kept":
        return before
    # Imported here: when the first run was made takes the frame of the runs.
    from slackwater.analysis.verdict.sealed_families import sealed_of

    sealed = sealed_of(trial, runs)
    if sealed.holds and before.broken:  # by the claims sealed along with it
        return replace(before, message=f"{sealed.message}; {before.message.partition('; ')[2]}")
    return replace(before, state=sealed.state, message=sealed.message, fix=sealed.fix)


def _said(status: SealStatus) -> SealSaid:
    from slackwater.protocol.sealing.seal import sealed_claims

    if status.seal is None:
        return SealSaid() if status.state == "none" else _unread(status)
    document = status.seal.document
    claims = sealed_claims(status.seal)[1]
    lost = claims is not None and not claims.kept
    return SealSaid(
        status.state,
        f"{status.message}; {claims.message}" if claims is not None and lost else status.message,
        status.seal.made.isoformat(timespec="seconds"),
        document.path.name,
        document.sha256,
        status.fix or (claims.fix if claims is not None and lost else ""),
        None if claims is None else "changed" if lost else "kept",
    )


def _unread(status: SealStatus) -> SealSaid:
    return SealSaid(status.state, status.message, fix=status.fix)


def seal_finding(identity: Identity, place: Place) -> Iterator[Finding]:
    """That a seal does not hold, where there is one."""
    seal = identity.seal
    if seal.broken:
        state = "changed" if seal.state == "kept" else seal.state
        yield Finding(f"seal-{state}", Severity.WARNING, seal.message, seal.fix, place)
