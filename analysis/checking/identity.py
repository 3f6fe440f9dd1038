"""What was looked over: names, versions, the hash of every file, and what its seal says.

A record of conformity is of no use to anybody who cannot tell of which bytes it speaks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from slackwater.protocol.findings import Finding, Place, Severity
from slackwater.protocol.sealing.said import SealSaid, seal_said

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.trial import Trial
    from slackwater.protocol.files.source import Document


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
        seal_said(protocol.document),
    )


def of_trial(trial: Trial, runs: RunTable | None) -> Identity:
    """Of a trial with its protocol and its runs, where they could be read."""
    protocol = trial.protocol
    inputs = [_input("trial", trial.document)]
    if protocol.document.path != trial.document.path:
        inputs.append(_input("protocol", protocol.document))
    if runs is not None:
        inputs += [Input(*each) for each in runs.inputs]
    return Identity(
        "trial",
        trial.trial,
        trial.title,
        protocol.protocol,
        protocol.version,
        tuple(inputs),
        trial_seal(trial, runs),
    )


def _input(role: str, document: Document) -> Input:
    return Input(role, document.path.name, document.sha256)


def trial_seal(trial: Trial, runs: RunTable | None) -> SealSaid:
    """What the seal of a trial's protocol says; whether it is early enough only with the runs."""
    before = seal_said(trial.protocol.document, trial.folder)
    if runs is None or before.state != "kept":
        return before
    # Imported here: when the first run was made takes the frame of the runs.
    from slackwater.analysis.verdict.sealed_families import sealed_of

    sealed = sealed_of(trial, runs)
    if sealed.holds and before.broken:  # by the claims sealed along with it
        return replace(before, message=f"{sealed.message}; {before.message.partition('; ')[2]}")
    return replace(before, state=sealed.state, message=sealed.message, fix=sealed.fix)


def seal_finding(identity: Identity, place: Place) -> Iterator[Finding]:
    """That a seal does not hold, where there is one."""
    seal = identity.seal
    if seal.broken:
        state = "changed" if seal.state == "kept" else seal.state
        yield Finding(f"seal-{state}", Severity.WARNING, seal.message, seal.fix, place)
