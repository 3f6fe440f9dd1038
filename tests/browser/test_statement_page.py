"""The page of a statement as a browser shows it: no fault of contrast or structure, nothing off the side."""

from __future__ import annotations

from pathlib import Path

import pytest
from looking import ROOT, look

import slackwater

MOST_BYTES = 100_000


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("name", ["workboat-interceptors", "one-morning-each"])
def test_a_statement_on_a_screen(
    name: str, width: int, chromium: str, axe: str, tmp_path: Path
) -> None:
    page = tmp_path / "statement.html"
    made = slackwater.statement(ROOT / "examples" / name / "trial.yaml")
    page.write_text(made.to_html(), encoding="utf-8")
    assert len(page.read_bytes()) <= MOST_BYTES
    found = look(chromium, axe, page, width, tmp_path)
    assert found["rules"] >= 10
    assert found["faults"] == []
    assert found["scroll"] <= found["wide"]
    assert found["over"] == []
