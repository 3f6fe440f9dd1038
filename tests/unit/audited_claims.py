"""Claims written in a test, audited."""

from __future__ import annotations

from typing import Any

from slackwater.analysis.audit.auditing import audit
from slackwater.analysis.audit.outcome import AuditResult, ClaimAudit
from slackwater.protocol.claims.claims_file import build_claims
from slackwater.protocol.files.source import document_of


def audited(*claims: dict[str, Any], between: str | None = None, **more: Any) -> AuditResult:
    base = {"quantity": "speed", "baseline": "bare", "modified": "fitted"}
    entries = [{"id": f"C{i}", **base, **claim} for i, claim in enumerate(claims, 1)]
    found, findings = build_claims(document_of({"claims": entries, **more}))
    assert found is not None, findings
    return audit(found, between=between)


def one(claim: dict[str, Any], **more: Any) -> ClaimAudit:
    return audited(claim, **more).claims[0]
