"""What the tablet's page hands back: codes, a file, over the network; a rehearsal never passes for a trial."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import time
from pathlib import Path

import pytest
from driving import Driven
from tablet_crew import EXAMPLE, FIRST, STORED, Crew, requests

from slackwater.analysis.cli import main
from slackwater.analysis.report.sheet.tablet_page import render
from slackwater.analysis.sheet.aboard import parse_aboard

Capture = pytest.CaptureFixture[str]


def test_codes_and_file_hold_the_same(browser: Driven, crew: Crew) -> None:
    """The codes are read by ZXing, an independent reader, where it is there; else their lines are."""
    crew.begin()
    crew.note(FIRST, {"fuel_flow": "20.5", "note": "größer, „wie ein Kahn“"})
    lines = browser.value("codeLines(aboardText())")
    wanted = parse_aboard(crew.handed_back()[0].encode(), "a")
    found = parse_aboard("\n".join(reversed(lines)).encode(), "b")
    assert found.model_dump(exclude={"written"}) == wanted.model_dump(exclude={"written"})
    zxing = pytest.importorskip("zxingcpp", reason="no zxing-cpp here, so NO CODE WAS READ")
    import numpy as np

    for line in lines[:2]:
        dark = np.array(browser.value(f"Array.from(codeOf({json.dumps(line)}))"), dtype=np.uint8)
        light = np.pad(np.where(dark.reshape(77, 77), 0, 255), 4, constant_values=255)
        picture = light.astype(np.uint8).repeat(4, 0).repeat(4, 1)
        (read,) = zxing.read_barcodes(picture)
        assert read.text == line


def saved(folder: Path, suffix: str) -> Path:
    """The file of that suffix once it is whole: until then Chromium writes it under another name."""
    end = time.monotonic() + 30
    while not (found := list(folder.glob(f"workboat-interceptors-*{suffix}"))):
        assert time.monotonic() < end
        time.sleep(0.05)
    return found[0]


def test_a_file_is_saved(browser: Driven, crew: Crew, tmp_path: Path) -> None:
    browser.call("Browser.setDownloadBehavior", "", behavior="allow", downloadPath=str(tmp_path))
    crew.begin()
    crew.note(FIRST, {"fuel_flow": "20.5"})
    crew.press("nav-hand")
    crew.press("save-json")
    crew.press("save-runs")
    assert "S1," in saved(tmp_path, ".csv").read_text("utf-8")
    assert json.loads(saved(tmp_path, ".json").read_text("utf-8"))
    assert requests(browser) == []


def test_it_is_served_and_handed_in(
    browser: Driven, crew: Crew, page: Path, tmp_path: Path
) -> None:
    """From this machine, over http: the page says where it may hand in, and does."""
    import threading

    from slackwater.analysis.commands.sheet_serving import Server

    data = re.search(r'id="sheet">(.*?)</script>', page.read_text("utf-8"))
    assert data is not None
    text = render(json.loads(data[1]), served=True)
    server = Server(("127.0.0.1", 0), text, "workboat-interceptors", tmp_path / "in")
    threading.Thread(target=server.serve_forever, daemon=True).start()
    address = f"http://127.0.0.1:{server.server_address[1]}"
    served = Crew(browser, f"{address}/")
    served.begin()
    served.note(FIRST, {"fuel_flow": "20.5"})
    served.press("nav-hand")
    served.press("hand-in")
    browser.until("document.body.innerText.includes('Handed in as')")
    (kept,) = (tmp_path / "in").iterdir()
    assert parse_aboard(kept.read_bytes(), "a").rows[0]["fuel_flow"] == "20.5"
    assert {a.removeprefix(address) for a in requests(browser)} <= {"/", "/hand-in", "/favicon.ico"}
    server.shutdown()
    server.server_close()
    # A connection that the browser opened ahead may still be answered, so the network goes, too.
    network = {"latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    browser.call("Network.emulateNetworkConditions", offline=True, **network)
    served.press("hand-in")
    browser.until("document.body.innerText.includes('Nothing is lost')")
    browser.call("Network.emulateNetworkConditions", offline=False, **network)


def test_a_rehearsal_is_marked_and_never_passes(
    browser: Driven, crew: Crew, tmp_path: Path, capsys: Capture
) -> None:
    crew.open()
    crew.press("rehearsal-start")
    browser.until("typeof app === 'object' && app.rehearsal && app.store !== null")
    browser.until(STORED)
    crew.press("understood")
    for screen in ("nav-sessions", "session 0", "go-on", "invent", "nav-hand", "nav-history"):
        crew.press(screen)
        assert browser.value("document.querySelector('.invented').textContent").startswith(
            "REHEARSAL"
        )
    handed, table = crew.handed_back()
    rows = list(csv.DictReader(io.StringIO(table)))
    assert rows
    assert all(row["note"].startswith("INVENTED") for row in rows)
    for name in ("trial.yaml", "protocol.yaml"):
        shutil.copy(EXAMPLE / name, tmp_path)
    (tmp_path / "aboard.json").write_text(handed, encoding="utf-8")
    trial = tmp_path / "trial.yaml"
    command = ["sheet", "--merge", str(tmp_path / "aboard.json"), "--trial", str(trial)]
    assert main(command) == 2
    assert "row-invented" in capsys.readouterr().err
    # The table itself, put there by hand, is refused as well; an invented trial takes both.
    made = [row for row in rows if row["start"]]
    (tmp_path / "runs.csv").write_text(table, encoding="utf-8")
    assert main(["analyse", str(trial)]) == 2
    assert "row-invented" in capsys.readouterr().err
    (tmp_path / "runs.csv").unlink()
    trial.write_text(f"invented: true\n{trial.read_text('utf-8')}", encoding="utf-8")
    assert main(command) == 0
    assert "INVENTED" in capsys.readouterr().out
    assert len(made) == 1
    # Outside of it nothing of the rehearsal is there.
    crew.press("nav-start")
    crew.press("rehearsal-end")
    browser.until("typeof app === 'object' && !app.rehearsal && app.store !== null")
    browser.until(STORED)
    assert browser.value("app.entries.length") == 1
