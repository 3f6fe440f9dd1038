"""What the tests of manoeuvres from logs share."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture
def folder(laid: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the files that a module has `laid`, to be changed, as the folder that commands are run in."""
    for file in laid.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path
