"""One browser and one page of a trial for the tests of the tablet's page, and a crew that starts anew."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from driving import Driven
from tablet_crew import EXAMPLE, Crew, make_page


@pytest.fixture(scope="session")
def browser(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Driven]:
    driven = Driven(chromium, tmp_path_factory.mktemp("profile"))
    yield driven
    driven.close()


@pytest.fixture(scope="session")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tablet")
    return make_page(EXAMPLE / "trial.yaml", folder / "aboard.html", "--course", "045")


@pytest.fixture
def crew(browser: Driven, page: Path) -> Iterator[Crew]:
    found = Crew(browser, page)
    found.forget()
    browser.size(820, 1180)
    browser.events.clear()
    yield found
    thrown = [e for e in browser.events if e["method"] == "Runtime.exceptionThrown"]
    assert not thrown, json.dumps(thrown)[:2000]
