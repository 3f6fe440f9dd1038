"""Reading files of claims: whole, or claim by claim so that one that cannot be read keeps no other back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from pydantic import ValidationError

from slackwater.protocol.claims.claim import Claim, Claims, Unread
from slackwater.protocol.claims.claim_agreement import claim_findings, findings_of_claim
from slackwater.protocol.claims.reading_steps import read_to
from slackwater.protocol.files.kinds import load_as
from slackwater.protocol.files.model_faults import findings_of, in_order
from slackwater.protocol.files.source import Document
from slackwater.protocol.findings import Finding
from slackwater.protocol.units.quantity import Quantity


def load_claims(path: str | Path) -> Claims:
    """Read a file of claims.

    Raises
    ------
    InputError
        With everything that is wrong with it.
    """
    return load_as(path, "claims", build_claims)


def read_claims(path: str | Path) -> Claims:
    """Read a file of claims, claim by claim: what is wrong with one keeps no other from being read.

    Raises
    ------
    InputError
        With everything that is wrong with the file apart from single claims.
    """
    return load_as(path, "claims", build_readable)


def build_claims(document: Document) -> tuple[Claims | None, list[Finding]]:
    """Make claims of a document's data, and tell everything that is wrong with them."""
    claims: Claims | None = None
    findings: list[Finding] = []
    try:
        claims = _read_as_declared(Claims.model_validate(document.data)).of(document)
    except ValidationError as error:
        findings = findings_of(error, document, Claims)
    findings = _with_agreement(findings, claim_findings(document))
    return (None if findings else claims), in_order(findings)


def build_readable(
    document: Document, told: Mapping[int, list[Finding]] | None = None
) -> tuple[Claims | None, list[Finding]]:
    """Make claims of what can be read of a document's claims; the rest are its `unread`.

    Parameters
    ----------
    document : Document
    told : mapping, optional
        What is wrong with claims already, by their place among the claims.
    """
    entries = document.data.get("claims")
    if not isinstance(entries, list) or not entries:
        return build_claims(document)
    seen: dict[str, int] = {}
    unread = []
    for index, entry in enumerate(entries):
        findings = [*(told or {}).get(index, ()), *_of_entry(document, index, entry, seen)]
        if findings:
            unread.append(_unread(index, entry, findings))
    kept = {one.index for one in unread}
    data = {**document.data, "claims": [e for i, e in enumerate(entries) if i not in kept]}
    try:
        claims = _read_as_declared(Claims.model_validate(data))
    except ValidationError as error:
        return None, in_order(findings_of(error, document, Claims))
    return claims.of(document, tuple(unread)), []


def _read_as_declared(claims: Claims) -> Claims:
    """The claims with the steps that their values are said to be read to."""
    if not claims.read_to:
        return claims
    return claims.model_copy(
        update={"claims": tuple(_stepped(c, claims.read_to) for c in claims.claims)}
    )


def _stepped(claim: Claim, steps: Mapping[str, Quantity]) -> Claim:
    values = {
        name: read_to(figure, claim.quantity, steps)
        for name, figure in claim.stated.figures.items()
        if name != "change"
    }
    beside = {
        side: {
            name: read_to(figure, name, steps)
            for name, figure in getattr(claim.beside, side).items()
        }
        for side in ("baseline", "modified")
    }
    return claim.model_copy(
        update={
            "stated": claim.stated.model_copy(update=values),
            "beside": claim.beside.model_copy(update=beside),
        }
    )


def _of_entry(document: Document, index: int, entry: object, seen: dict[str, int]) -> list[Finding]:
    """Everything that is wrong with one claim."""
    base = (*document.base, "claims", index)
    findings: list[Finding] = []
    try:
        Claim.model_validate(entry)
    except ValidationError as error:
        findings = findings_of(error, replace(document, data={}, base=base), Claim)
    if isinstance(entry, dict):
        findings = _with_agreement(findings, findings_of_claim(document, index, entry, seen))
    return in_order(findings)


def _with_agreement(findings: list[Finding], agreement: Iterable[Finding]) -> list[Finding]:
    """Findings of the model, and those on agreement where it has not spoken yet."""
    told = {(f.place.line, f.place.column) for f in findings if f.place and f.place.line}
    more = [
        finding
        for finding in agreement
        if (finding.place and (finding.place.line, finding.place.column)) not in told
    ]
    return [*findings, *more]


def _unread(index: int, entry: object, findings: list[Finding]) -> Unread:
    texts = entry if isinstance(entry, dict) else {}

    def text(key: str) -> str:
        value = texts.get(key, "")
        return value.strip()[:200] if isinstance(value, str) else ""

    name = text("id") or f"entry {index + 1}"
    return Unread(index, name, text("quantity"), text("at"), text("says"), tuple(findings))
