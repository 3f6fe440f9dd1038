"""Reading a file as the kind that is wanted: a protocol, a trial, claims or a seal."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from slackwater.protocol.files.model_faults import in_order, shortened
from slackwater.protocol.files.source import Document, scan_document
from slackwater.protocol.findings import Finding, InputError, Severity

Made = TypeVar("Made")
Build = Callable[[Document], tuple[Made | None, list[Finding]]]

KINDS = {
    "reply": ("a reply to a letter", "slackwater audit CLAIMS --reply FILE"),
    "seal": ("a seal", "slackwater seal --verify FILE"),
    "pool": ("a pool of trials", "slackwater pool FILE"),
    "claims": ("a file of claims", "slackwater audit FILE"),
    "trial": ("a trial", "slackwater analyse FILE"),
    "protocol": ("a protocol", "slackwater plan FILE"),
}


def kind_of(document: Document) -> str:
    """The key that tells the kind: reply, seal, pool, claims, trial or protocol; empty when none is there.

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


def read_as(path: str | Path, kind: str, build: Build[Made]) -> tuple[Made | None, list[Finding]]:
    """What a file of one kind makes, and everything that is wrong with it."""
    document, findings = scan_document(path)
    if document is None:
        return None, findings
    if other := wrong_kind(document, kind):
        return None, [other]
    made, more = build(document)
    return made, in_order([*findings, *more])


def load_as(path: str | Path, kind: str, build: Build[Made]) -> Made:
    """What a file of one kind makes.

    Raises
    ------
    InputError
        With everything that is wrong with it.
    """
    made, findings = read_as(path, kind, build)
    if made is None or findings:
        raise InputError(shortened(findings))
    return made
