"""Seals for tests, made at a time of one's own choosing, as anyone can."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from slackwater.protocol.claims.claims_file import load_claims
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.sealing.seal import seal_path
from slackwater.protocol.sealing.seal_making import seal_text

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "workboat-interceptors"
BEFORE = "2026-05-01T18:30:12+02:00"  # the example's first run is of 2026-05-04
CLAIMS = """\
claims:
  - {id: C1, quantity: fuel_flow, baseline: bare, modified: fitted, at: 2200 rpm,
     stated: {change: -2 %}}
  - {id: C2, quantity: top_speed, baseline: bare, modified: fitted, stated: {change: +1 %}}
"""


def seal(folder: Path, name: str = "protocol.yaml", made: str = BEFORE, claims: str = "") -> Path:
    """Seal a protocol file at a time of one's own choosing, as anyone can."""
    protocol = load_protocol(folder / name)
    target = seal_path(folder / name)
    declared = load_claims(folder / claims) if claims else None
    text = seal_text(protocol, declared, target, datetime.fromisoformat(made), "0.0")
    target.write_text(text, encoding="utf-8")
    return target
