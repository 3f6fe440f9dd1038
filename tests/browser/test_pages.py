"""The pages as a browser shows them: no fault of contrast or structure, nothing off the side, A4.

Structure and contrast are looked at by axe-core (Deque, Mozilla Public License 2.0), an independent
program that knows the Web Content Accessibility Guidelines.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from looking import EXAMPLES, ROOT, look

from slackwater.analysis.cli import main
from slackwater.analysis.report.pdf import printed

MOST_BYTES = 300_000
MOST_SHEETS = 8
EACH = pytest.mark.parametrize("name", EXAMPLES)
Page = Callable[[str], Path]
Seen = Callable[..., dict[str, Any]]


@EACH
def test_a_page_is_small(name: str, page: Page) -> None:
    assert len(page(name).read_bytes()) <= MOST_BYTES


# What differs most between pages: every figure, hardly any; the others under `full`.
UNLIKE = ("workboat-interceptors", "one-morning-each")
# Every form of page is printed, one of a kind.
PRINTED = (*UNLIKE, "twin-rudder-toe-in")


@EACH
def test_a_page_on_a_phone(name: str, seen: Seen) -> None:
    """Nothing off the side; of some, no fault of contrast or structure either."""
    found = seen(name, 390, structure=name in UNLIKE)
    (_holds if name in UNLIKE else _stays_inside)(found)


@EACH
def test_a_page_on_a_screen(name: str, seen: Seen) -> None:
    """Nothing off the side, and the answer without scrolling."""
    found = seen(name, 1280, structure=False)
    _stays_inside(found)
    assert found["bottom"] <= 900


@pytest.mark.full
@EACH
@pytest.mark.parametrize("width", [1280, 390])
def test_the_structure_of_every_page(name: str, width: int, seen: Seen) -> None:
    _holds(seen(name, width))


def _holds(found: dict[str, Any]) -> None:
    assert found["rules"] >= 10
    assert found["faults"] == []
    _stays_inside(found)


def _stays_inside(found: dict[str, Any]) -> None:
    assert found["scroll"] <= found["wide"]
    assert found["over"] == []


def test_a_fault_is_seen(chromium: str, axe: str, page: Page, tmp_path: Path) -> None:
    """The tests above can fail: pale words on white, a picture without words, a table too wide."""
    text = page(EXAMPLES[0]).read_text("utf-8")
    faulty = text.replace("--faint: #5d6b73", "--faint: #c5cdd1")
    faulty = re.sub(r'(<svg[^>]*role="img") aria-label="[^"]*"', r"\1", faulty, count=1)
    faulty = faulty.replace("<main>", '<main><p style="width:2000px;max-width:none">wide</p>')
    path = tmp_path / "faulty.html"
    path.write_text(faulty, encoding="utf-8")
    found = look(chromium, axe, path, 1280, tmp_path)
    faults = " ".join(found["faults"])
    assert "color-contrast" in faults
    assert "svg-img-alt" in faults
    assert found["over"]
    assert found["scroll"] > found["wide"]


# --- paper ---------------------------------------------------------------------------------------


def sheets(path: Path, folder: Path) -> list[str]:
    """The text of each sheet of A4 that the page prints to."""
    pypdf = pytest.importorskip("pypdf")
    target = folder / "page.pdf"
    target.write_bytes(printed(path.read_text("utf-8")))
    reader = pypdf.PdfReader(target)
    for sheet in reader.pages:
        assert [round(float(each) / 72 * 25.4) for each in sheet.mediabox[2:]] == [210, 297]
    assert str(reader.metadata.creator).startswith("slackwater")
    return [sheet.extract_text() for sheet in reader.pages]


@pytest.mark.parametrize("name", PRINTED)
def test_eight_sheets_and_no_heading_at_the_foot_of_one(
    name: str, page: Page, chromium: str, tmp_path: Path
) -> None:
    _prints_well(name, page, tmp_path)


@pytest.mark.full
@EACH
def test_every_page_prints_on_eight_sheets(
    name: str, page: Page, chromium: str, tmp_path: Path
) -> None:
    _prints_well(name, page, tmp_path)


def _prints_well(name: str, page: Page, tmp_path: Path) -> None:
    found = sheets(page(name), tmp_path)
    assert 2 <= len(found) <= MOST_SHEETS
    html = page(name).read_text("utf-8")
    headings = {
        " ".join(re.sub(r"<[^>]+>", " ", each).split())
        for each in re.findall(r"<h[23][^>]*>(.*?)</h[23]>", html, re.DOTALL)
    }
    assert len(headings) > 8
    last = [[line for line in sheet.splitlines() if line.strip()][-1] for sheet in found]
    assert not [line for line in last if " ".join(line.split()) in headings]


def test_the_pdf_is_written_by_the_command_and_again_over_its_own(
    chromium: str, tmp_path: Path
) -> None:
    target = tmp_path / "report.pdf"
    trial = ROOT / "examples" / "one-morning-each" / "trial.yaml"
    words = [sys.executable, "-m", "slackwater", "analyse", str(trial), "--output", str(target)]
    for _ in range(2):
        done = subprocess.run(words, capture_output=True, text=True, check=True, timeout=120)
        assert done.stdout.startswith("New propeller against Old propeller")
        assert target.read_bytes().startswith(b"%PDF-")


def test_a_session_of_the_sheet_is_a_page_where_it_fits(chromium: str, tmp_path: Path) -> None:
    """Twenty-four runs a session fit on A4 in rows of no less than 7 mm; the cover makes one page more."""
    pypdf = pytest.importorskip("pypdf")
    text = (ROOT / "examples" / "workboat-interceptors" / "protocol.yaml").read_text("utf-8")
    points = "values: [1000 rpm, 1400 rpm, 1800 rpm, 2000 rpm"
    few = re.sub(re.escape(points) + r"[^\]]*", points, text)
    assert few != text
    (tmp_path / "protocol.yaml").write_text(few, encoding="utf-8")
    target = tmp_path / "sheet.html"
    words = ["sheet", str(tmp_path / "protocol.yaml"), "--course", "045", "--output", str(target)]
    assert main(words) == 0
    page = target.read_text("utf-8")
    rows = [float(each) for each in re.findall(r"--row: ([\d.]+)mm", page)]
    assert len(rows) == 6
    assert 6.9 <= min(rows) < 8.7
    (tmp_path / "sheet.pdf").write_bytes(printed(page))
    assert len(pypdf.PdfReader(tmp_path / "sheet.pdf").pages) == 1 + 6
