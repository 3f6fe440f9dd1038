"""The browser that the pages are looked at in; where it is missing, every test here says so."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from looking import ROOT, look

from slackwater.analysis import analyse
from slackwater.analysis.report.pdf import browser

MISSING = "no Chromium here (on Debian: apt install chromium), so NO PAGE WAS LOOKED AT"


@pytest.fixture(scope="session")
def chromium() -> str:
    found = browser()
    if found is None:
        pytest.skip(MISSING)
    return found


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core: from the package of that name, or the file that SLACKWATER_AXE names."""
    named = os.environ.get("SLACKWATER_AXE")
    if named:
        return Path(named).read_text("utf-8")
    from importlib.resources import files

    try:
        return (files("axe_core_python") / "axe.min.js").read_text("utf-8")
    except ModuleNotFoundError:
        pytest.skip("no axe-core here (pip install axe-core-python), so NO FAULT WAS LOOKED FOR")


@pytest.fixture(scope="session")
def page(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """The page of an example, written once."""
    folder = tmp_path_factory.mktemp("pages")

    @cache
    def written(name: str) -> Path:
        path = folder / f"{name}.html"
        result = analyse(ROOT / "examples" / name / "trial.yaml")
        path.write_text(result.to_html(), encoding="utf-8")
        return path

    return written


@pytest.fixture(scope="session")
def seen(
    chromium: str,
    axe: str,
    page: Callable[[str], Path],
    tmp_path_factory: pytest.TempPathFactory,
) -> Callable[..., dict[str, Any]]:
    """What is to be said of the page of an example at a width, of its structure if asked for."""

    @cache
    def said(name: str, width: int, structure: bool = True) -> dict[str, Any]:
        folder = tmp_path_factory.mktemp("look")
        return look(chromium, axe if structure else "", page(name), width, folder)

    return said
