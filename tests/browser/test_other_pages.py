"""The other pages as a browser shows them: no fault of contrast or structure, nothing off the side."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from invented_log import write_trial
from looking import ROOT, look

import slackwater

EXAMPLES = ROOT / "examples"
WORKBOAT = EXAMPLES / "workboat-interceptors"
ARTICLES = EXAMPLES / "published-article"
PAGES: dict[str, Callable[[], str]] = {
    "statement": lambda: slackwater.statement(WORKBOAT / "trial.yaml").to_html(),
    "statement-of-little": lambda: slackwater.statement(
        EXAMPLES / "one-morning-each" / "trial.yaml"
    ).to_html(),
    "plan": lambda: slackwater.plan(
        WORKBOAT / "protocol.yaml", speed="15 kn", fuel_flow="30 L/h", sessions=(2, 6)
    ).to_html(),
    "audit": lambda: slackwater.audit(ARTICLES / "propeller-careless.yaml").to_html(),
    "audit-without-runs": lambda: slackwater.audit(
        ARTICLES / "careless-without-runs.yaml"
    ).to_html(),
    "pool": lambda: slackwater.pool(EXAMPLES / "five-launches" / "pool.yaml").to_html(),
    "record": lambda: slackwater.check(WORKBOAT / "trial.yaml").to_html(),
}


def archived() -> str:
    """A year's invented trials, one broken, beside what another confidence would make of them."""
    from tempfile import TemporaryDirectory

    from fleet_trials import BROKEN, fleet

    with TemporaryDirectory() as place:
        folder = Path(place) / "trials"
        fleet(folder, 12)
        (folder / "broken.yaml").write_text(BROKEN, encoding="utf-8")
        found = slackwater.archive(
            folder, setting={"analysis.confidence": "80 %"}, reference="Reference boat (invented)"
        )
        return found.to_html()


PAGES["archive"] = archived
MOST_BYTES = 150_000


def _of_logs(whole: bool) -> str:
    """The page of invented logs, with the runs of their trial or without."""
    with tempfile.TemporaryDirectory() as folder:
        trial = write_trial(Path(folder))
        if whole:
            return slackwater.cut(trial).to_html()
        return slackwater.logs(*sorted(Path(folder).glob("*.log"))).to_html()


PAGES["logs"] = lambda: _of_logs(False)
PAGES["runs-cut"] = lambda: _of_logs(True)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """A page, written once."""
    folder = tmp_path_factory.mktemp("others")

    def page(name: str) -> Path:
        path = folder / f"{name}.html"
        if not path.exists():
            path.write_text(PAGES[name](), encoding="utf-8")
        return path

    return page


# Contrast and structure are those of a phone; what runs off the side is looked for on three wide ones as well.
WIDE = ("plan", "archive", "logs")


@pytest.mark.parametrize(
    ("name", "width"), [*((name, 390) for name in PAGES), *((name, 1280) for name in WIDE)]
)
def test_a_page_on_a_screen(
    name: str,
    width: int,
    written: Callable[[str], Path],
    chromium: str,
    axe: str,
    tmp_path: Path,
) -> None:
    page = written(name)
    assert len(page.read_bytes()) <= MOST_BYTES
    narrow = width == 390
    found = look(chromium, axe if narrow else "", page, width, tmp_path)
    if narrow:
        assert found["rules"] >= 10
        assert found["faults"] == []
    assert found["scroll"] <= found["wide"]
    assert found["over"] == []
