"""The documentation: made pages are current, links lead somewhere, examples run."""

from __future__ import annotations

import contextlib
import io
import re
import subprocess
import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = [ROOT / name for name in ("README.md", "DEVELOPERS.md", "CHANGELOG.md")]
PAGES += sorted(DOCS.glob("*.md"))
LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)")


def made() -> ModuleType:
    spec = spec_from_file_location("docs_make", DOCS / "make.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("name", ["python.md", "formats.md", "limits.md"])
def test_pages_made_from_the_code_are_current(name: str) -> None:
    written = (DOCS / name).read_text(encoding="utf-8")
    assert written == made().PAGES[name](), "run: python docs/make.py"


def anchors(path: Path) -> set[str]:
    heads = re.findall(r"^#+ (.+)$", path.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head).strip().lower().replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    for target in LINK.findall(text):
        if target.startswith(("http://", "https://", "mailto:")):
            continue
        name, _, anchor = target.partition("#")
        there = page if not name else (page.parent / name).resolve()
        assert there.exists(), f"{page.name}: {target}"
        if anchor:
            assert anchor in anchors(there), f"{page.name}: {target}"


def test_every_page_is_in_the_index() -> None:
    index = (DOCS / "README.md").read_text(encoding="utf-8")
    for page in DOCS.glob("*.md"):
        assert page.name == "README.md" or f"({page.name})" in index


def examples() -> list[tuple[str, str]]:
    blocks = []
    for page in (ROOT / "README.md", *sorted(DOCS.glob("*.md"))):
        for code in re.findall(r"```python\n(.*?)```", page.read_text("utf-8"), re.DOTALL):
            blocks.append((page.name, code))
    return blocks


@pytest.mark.parametrize(("page", "code"), examples(), ids=lambda each: str(each)[:20])
def test_examples_in_python_run(page: str, code: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    with contextlib.redirect_stdout(io.StringIO()) as out:
        exec(compile(code, page, "exec"), {"__name__": "example"})  # noqa: S102 - our own pages
    assert out.getvalue()


def test_there_are_examples() -> None:
    assert {page for page, _ in examples()} >= {"README.md", "python.md"}


def test_the_notebook_goes_the_whole_way(tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, str(ROOT / "examples" / "notebook.py")],
        cwd=tmp_path,
        capture_output=True,
        encoding="utf-8",
        env={"PYTHONUTF8": "1", "PATH": ""},
        check=False,
        timeout=300,
    )
    assert run.returncode == 0, run.stderr[-2000:]
    assert "sessions with each configuration" in run.stdout
    assert list(tmp_path.iterdir()) == []
