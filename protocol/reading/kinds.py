"""Which kind of file a document is: a protocol, a trial, claims or a seal."""

from __future__ import annotations

from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.reading.source import Document

KINDS = {
    "seal": ("a seal", "slackwater seal --verify FILE"),
    "claims": ("a file of claims", "slackwater audit FILE"),
    "trial": ("a trial", "slackwater analyse FILE"),
    "protocol": ("a protocol", "slackwater plan FILE"),
}


def kind_of(document: Document) -> str:
    """The key that tells the kind: seal, claims, trial or protocol; empty when none is there.

    A trial names its protocol too, claims may name both, and a seal has both.
    """
    return next((key for key in KINDS if key in document.data), "")


def wrong_kind(document: Document, wanted: str) -> Finding | None:
    """A finding where the document is of another kind than wanted; None where it may be that."""
    found = kind_of(document)
    if not found or found == wanted:
        return None
    return Finding(
        "wrong-kind",
        Severity.ERROR,
        f"this is {KINDS[found][0]}; {KINDS[wanted][0]} is needed here",
        f"name {KINDS[wanted][0]}, or use '{KINDS[found][1]}' for this one",
        document.place((found,), key=True),
    )
