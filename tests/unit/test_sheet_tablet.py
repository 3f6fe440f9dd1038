"""The page for a tablet as text, the options around it, and what serving it takes and refuses."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import socket
import threading
from collections.abc import Iterator
from html import unescape
from http.client import HTTPConnection
from pathlib import Path

import pytest
from invented_protocols import SESSIONS, TRIAL, trial_file
from test_sheet_merge import ONE

from slackwater.analysis.cli import main
from slackwater.analysis.commands.sheet_serving import Server
from slackwater.analysis.report.sheet.tablet_page import script
from slackwater.analysis.sheet.aboard import MOST_BYTES

Capture = pytest.CaptureFixture[str]


def page(folder: Path, *words: str, text: str = TRIAL + SESSIONS) -> str:
    target = folder / "aboard.html"
    command = ["sheet", str(trial_file(folder, text)), "--for", "tablet", "--output", str(target)]
    assert main([*command, *words]) == 0
    return target.read_text("utf-8")


def data_of(text: str) -> dict[str, object]:
    found = re.search(r'<script type="application/json" id="sheet">(.*?)</script>', text)
    assert found is not None
    data: dict[str, object] = json.loads(found[1])
    return data


def test_one_page_that_may_ask_for_nothing(tmp_path: Path) -> None:
    text = page(tmp_path)
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    assert policy is not None
    rules = dict(each.partition(" ")[::2] for each in unescape(policy[1]).split("; "))
    code = hashlib.sha256(script().encode()).digest()
    assert rules["script-src"] == f"'sha256-{base64.b64encode(code).decode()}'"
    assert f"<script>{script()}</script>" in text
    assert rules["default-src"] == "'none'"
    assert "connect-src" not in rules
    assert not re.findall(r'(?:src|href)="', text)
    assert "unsafe" not in policy[1]


def test_the_same_plan_has_the_same_name_and_another_has_another(tmp_path: Path) -> None:
    first = data_of(page(tmp_path, "--seed", "3"))["id"]
    assert data_of(page(tmp_path, "--seed", "3"))["id"] == first
    assert data_of(page(tmp_path, "--seed", "4"))["id"] != first


def test_columns_of_the_trials_own(tmp_path: Path) -> None:
    """Two engines and other units: what is typed in the file's unit is judged in the working one."""
    own = (
        'columns: {fuel_flow: ["Port [gal/h]", "Stbd [gal/h]"]}\nunits: {speed_over_ground: km/h}\n'
    )
    data = data_of(page(tmp_path, text=TRIAL + SESSIONS + own))
    columns = {each["key"]: each for each in data["columns"]}  # type: ignore[attr-defined]
    assert list(columns) == ["speed_over_ground", "engine_speed", "fuel_flow", "fuel_flow 2"]
    assert columns["speed_over_ground"]["slope"] == pytest.approx(
        1 / 1.852
    )  # SI Brochure, table 8: the knot
    # A US gallon is 231 cubic inches of 2.54 cm (NIST Handbook 44, appendix C).
    assert columns["fuel_flow 2"]["slope"] == pytest.approx(231 * 2.54**3 / 1000)
    assert dict(data["head"])["fuel_flow 2"] == "Stbd [gal/h]"  # type: ignore[call-overload]


def test_a_unit_that_is_not_known_is_told(tmp_path: Path, capsys: Capture) -> None:
    own = 'columns: {fuel_flow: "Fuel [barrels/h]"}\n'
    assert (
        main(["sheet", str(trial_file(tmp_path, TRIAL + SESSIONS + own)), "--for", "tablet"]) == 2
    )
    assert "Fuel [barrels/h]" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--for", "tablet", "--format", "csv"], "is a page, not csv"),
        (["--serve"], "add --for tablet"),
        (["--for", "tablet", "--on", "127.0.0.1:1"], "add --serve"),
        (["--for", "tablet", "--serve", "--on", "everywhere"], "is no address and port"),
        (["--for", "tablet", "--serve", "--on", "127.0.0.1:70000"], "is no address and port"),
        (["--merge", "a.json"], "go together"),
        (["--merge", "a.json", "--trial", "t.yaml"], "nothing to lay out"),
    ],
)
def test_options_that_do_not_go_together(
    words: list[str], said: str, tmp_path: Path, capsys: Capture
) -> None:
    assert main(["sheet", str(trial_file(tmp_path)), *words]) == 2
    assert said in capsys.readouterr().err


def test_without_anything_to_lay_out(tmp_path: Path, capsys: Capture) -> None:
    assert main(["sheet"]) == 2
    assert "no protocol and no trial was given" in capsys.readouterr().err


def test_a_name_that_would_be_a_formula_is_refused(tmp_path: Path, capsys: Capture) -> None:
    path = trial_file(tmp_path, TRIAL + SESSIONS.replace("id: S1", "id: '=S1'"))
    assert main(["sheet", str(path), "--for", "tablet"]) == 2
    assert "taken for a formula" in capsys.readouterr().err


# --- served ----------------------------------------------------------------------------------------


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    found = Server(("127.0.0.1", 0), "<p>the page", "invented", tmp_path / "handed-in")
    thread = threading.Thread(target=found.serve_forever, daemon=True)
    thread.start()
    yield found
    found.shutdown()
    found.server_close()


def asked(
    server: Server, method: str, path: str, body: bytes | None = None, **headers: str
) -> tuple[int, str]:
    port = server.server_address[1]
    here = HTTPConnection("127.0.0.1", port, timeout=20)
    own = {"Origin": f"http://127.0.0.1:{port}", "Content-Type": "application/json"}
    here.request(
        method, path, body, {**own, **{k.replace("_", "-"): v for k, v in headers.items()}}
    )
    answer = here.getresponse()
    return answer.status, answer.read().decode()


def test_the_page_and_nothing_else_is_handed_out(server: Server, tmp_path: Path) -> None:
    assert asked(server, "GET", "/") == (200, "<p>the page")
    assert asked(server, "HEAD", "/") == (200, "")
    for path in ("/trial.yaml", "/../trial.yaml", "/%2e%2e/", "/handed-in"):
        assert asked(server, "GET", path)[0] == 404
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS"):
        assert asked(server, method, "/")[0] == 501
    assert list(tmp_path.iterdir()) == []


def test_what_is_handed_in_is_kept_once(server: Server, tmp_path: Path) -> None:
    body = json.dumps(ONE).encode()
    status, name = asked(server, "POST", "/hand-in", body)
    assert status == 200
    assert asked(server, "POST", "/hand-in", body) == (200, name)
    (kept,) = (tmp_path / "handed-in").iterdir()
    assert kept.name == name
    assert kept.read_bytes() == body
    assert main(["sheet", "--merge", str(kept), "--trial", str(trial_file(tmp_path))]) == 0


def test_what_is_no_sheet_or_comes_from_elsewhere_is_refused(
    server: Server, tmp_path: Path
) -> None:
    body = json.dumps(ONE).encode()
    other = json.dumps({**ONE, "trial": "other"}).encode()
    assert asked(server, "POST", "/hand-in", body, Origin="http://example.org")[0] == 403
    assert asked(server, "POST", "/hand-in", body, Host="example.org")[0] == 403
    assert asked(server, "GET", "/", Host="example.org:80")[0] == 403
    assert asked(server, "POST", "/hand-in", body, Content_Type="text/plain")[0] == 415
    assert asked(server, "POST", "/elsewhere", body)[0] == 404
    assert asked(server, "POST", "/hand-in", b"{}")[0] == 422
    assert asked(server, "POST", "/hand-in", other)[0] == 422
    assert asked(server, "POST", "/hand-in", b"", Content_Length=str(MOST_BYTES + 1))[0] == 413
    assert asked(server, "POST", "/hand-in", b"", Content_Length="-5")[0] == 411
    assert not (tmp_path / "handed-in").exists()


def test_an_address_that_is_taken_is_told(tmp_path: Path, capsys: Capture) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        where = f"127.0.0.1:{taken.getsockname()[1]}"
        words = ["sheet", str(trial_file(tmp_path)), "--for", "tablet", "--serve", "--on", where]
        assert main(words) == 2
    assert "cannot be served" in capsys.readouterr().err
