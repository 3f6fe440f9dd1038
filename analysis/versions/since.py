"""`check NEW --since OLD` answered: what changed, which way, and what becomes of trials."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.versions.changes import Change, Sense, changes
from slackwater.analysis.versions.smallest import Smallest, smallest
from slackwater.analysis.versions.trials import TrialHeld, held
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.protocol.declared.protocol import Protocol, load_protocol
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.sealing.said import SealSaid, seal_said

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Version:
    """One of the two: its file, id and version, the hash of its bytes, and its seal."""

    file: str
    id: str
    version: str
    sha256: str
    seal: SealSaid

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        return {
            "file": self.file,
            "id": self.id,
            "version": self.version,
            "sha256": self.sha256,
            "seal": self.seal.to_dict(),
        }


@dataclass(frozen=True, slots=True, repr=False)
class SinceResult(Answer):
    """Two versions of a protocol held against each other.

    Attributes
    ----------
    old, new : Version
    changes : tuple of Change
    smallest : tuple of Smallest
    trials : tuple of TrialHeld
        Held against the newer version.
    """

    kind: ClassVar[str] = "since"
    old: Version
    new: Version
    changes: tuple[Change, ...]
    smallest: tuple[Smallest, ...]
    trials: tuple[TrialHeld, ...]

    @property
    def sense(self) -> str:
        """The whole: "the same", "stricter", "looser", "different", or "stricter and looser"."""
        found = {change.sense for change in self.changes} - {Sense.WORDS}
        if not found:
            return "the same"
        ways = [each.value for each in (Sense.STRICTER, Sense.LOOSER) if each in found]
        if len(ways) == 2:
            return " and ".join(ways)
        return (
            ways[0]
            if ways and Sense.DIFFERENT not in found
            else " and ".join([*ways, Sense.DIFFERENT.value])
        )

    @property
    def counts(self) -> dict[str, int]:
        """How many changes go which way."""
        found = Counter(change.sense for change in self.changes)
        return {sense.value: found[sense] for sense in Sense}

    @property
    def summary(self) -> str:
        """Which way it goes, and how many trials satisfy the newer."""
        told = f"{self.new.id} {self.new.version}, {self.sense} since {self.old.version}"
        if not self.trials:
            return told
        good = sum(each.satisfies for each in self.trials)
        return f"{told}; {good} of {len(self.trials)} trials satisfy it"

    @property
    def table(self) -> pd.DataFrame:
        """A row a change."""
        import pandas as pd

        return pd.DataFrame([change.to_dict() for change in self.changes])

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        return {
            **head(),
            "old": self.old.to_dict(),
            "new": self.new.to_dict(),
            "sense": self.sense,
            "counts": self.counts,
            "changes": [change.to_dict() for change in self.changes],
            "smallest_difference": [one.to_dict() for one in self.smallest],
            "trials": [each.to_dict() for each in self.trials],
        }


def since(new: str, old: str, trials: Sequence[str] = ()) -> SinceResult:
    """Hold two versions of a protocol, and trials, against each other.

    Raises
    ------
    InputError
        With everything that keeps a file from being used.
    """
    before, after = _loaded(old), _loaded(new)
    changed = changes(before, after)
    return SinceResult(
        _version(old, before),
        _version(new, after),
        changed,
        smallest(before, after) if changed else (),
        tuple(held(file, before, after) for file in trials),
    )


def _loaded(reference: str) -> Protocol:
    from slackwater.protocol.files.source import scan_document

    document = scan_document(reference)[0] if reference.endswith((".yaml", ".yml")) else None
    if document is not None and "trial" in document.data:
        place = document.place(("trial",), key=True)
        raise InputError([_no_protocol(place)])
    return load_protocol(reference)


def _no_protocol(place: Place) -> Finding:
    return Finding(
        "wrong-kind",
        Severity.ERROR,
        "this is a trial; --since holds two versions of a protocol against each other",
        "name the new protocol first and the old one after --since; trials come after the new one",
        place,
    )


def _version(file: str, protocol: Protocol) -> Version:
    document = protocol.document
    return Version(file, protocol.protocol, protocol.version, document.sha256, seal_said(document))
