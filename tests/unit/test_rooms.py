"""The direction of imports is held, and rooms stay small; the contracts stand in pyproject.toml."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MOST_LOOSE_FILES = 8
PARTS = ("protocol", "analysis", "protocols")


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sources laid out as they are installed, which import tools can follow by themselves."""
    folder = tmp_path_factory.mktemp("laid out")
    package = folder / "slackwater"
    shutil.copytree(ROOT / "protocol" / "_root" / "slackwater", package)
    for part in PARTS:
        shutil.copytree(
            ROOT / part, package / part, ignore=shutil.ignore_patterns("_root", "__pycache__")
        )
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder


def test_imports_run_one_way(checkout: Path) -> None:
    assert find_spec("importlinter") is not None
    run = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()",
         "--no-cache"],
        cwd=checkout,
        env=os.environ | {"PYTHONPATH": str(checkout), "PYTHONUTF8": "1"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout[-3000:] + run.stderr
    assert "0 broken" in run.stdout


@pytest.mark.parametrize("part", PARTS[:2])
def test_few_files_stand_loose(part: str) -> None:
    loose = [path.name for path in (ROOT / part).glob("*.py")]
    assert 0 < len(loose) <= MOST_LOOSE_FILES, loose


def test_a_checkout_is_importable_as_it_stands(tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-S", "-c",
         "import slackwater.protocol.findings as f; print(f.__file__)"],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(ROOT / "protocol" / "_root")},
        capture_output=True,
        encoding="utf-8",
        check=True,
    )  # fmt: skip
    assert Path(run.stdout.strip()) == ROOT / "protocol" / "findings.py"
