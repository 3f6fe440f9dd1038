"""The state of a seal stands at the head of what rests on it; a seal's own hash is compared."""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from sealed_by_hand import EXAMPLE, seal

from slackwater.analysis.cli import main

CLAIMS = """\
trial: trial.yaml
claims:
  - {id: C1, quantity: speed, baseline: bare, modified: fitted, at: 2200 rpm,
     stated: {change: at least 0.1 %}}
"""
Head = Callable[..., str]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A trial with claims, sealed before its first run, of 2026-05-04."""
    folder = tmp_path / "trial"
    shutil.copytree(EXAMPLE, folder)
    (folder / "claims.yaml").write_text(CLAIMS, "utf-8")
    seal(folder, claims="claims.yaml")
    return folder


@pytest.fixture
def head(folder: Path, capsys: pytest.CaptureFixture[str]) -> Head:
    """The first lines of an output, on one line."""

    def of(*words: str, lines: int = 6) -> str:
        main([*words[:1], str(folder / words[1]), *words[2:]])
        return " ".join(" ".join(capsys.readouterr().out.splitlines()[:lines]).split())

    return of


def add_a_word(file: Path) -> None:
    file.write_text(file.read_text("utf-8") + "\n# a word more\n", "utf-8")


PLAN = ("plan", "protocol.yaml", "--between", "0.8 %", "--within", "0.5 %", "--sessions", "2-3")
OUTPUTS = [
    PLAN,
    ("sheet", "protocol.yaml"),
    ("audit", "claims.yaml"),
    ("check", "trial.yaml"),
    ("check", "protocol.yaml"),
    ("analyse", "trial.yaml"),
]


@pytest.mark.parametrize("words", OUTPUTS, ids=lambda words: f"{words[0]} {words[1]}")
def test_a_protocol_changed_after_sealing_heads_the_output(
    words: tuple[str, ...], folder: Path, head: Head
) -> None:
    add_a_word(folder / "protocol.yaml")
    assert "is not what was sealed on 2026-05-01 18:30 +02:00" in head(*words)


@pytest.mark.parametrize("words", OUTPUTS[:-1], ids=lambda words: f"{words[0]} {words[1]}")
def test_one_that_is_kept_is_said_too(words: tuple[str, ...], head: Head) -> None:
    told = head(*words)
    assert "sealed on 2026-05-01 18:30 +02:00" in told
    assert "not what was sealed" not in told


def test_claims_changed_after_sealing_are_no_clean_audit(
    folder: Path, head: Head, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["audit", str(folder / "claims.yaml"), "--output", str(folder / "a.txt")]) == 0
    add_a_word(folder / "claims.yaml")
    capsys.readouterr()
    told = head("audit", "claims.yaml", lines=14)
    assert "The file claims.yaml is not what was sealed" in told
    assert told.index("not what was sealed") < told.index("upheld")
    assert main(["audit", str(folder / "claims.yaml"), "--output", str(folder / "a.html")]) == 1
    told = capsys.readouterr().out
    assert told.index("not what was sealed") < told.index("upheld")
    page = (folder / "a.html").read_text("utf-8")
    assert page.index("not what was sealed") < page.index('class="lead"')


def test_an_analysis_says_that_it_was_sealed_in_its_dozen_lines(head: Head) -> None:
    assert "Sealed before the first run, by the maker's clock" in head(
        "analyse", "trial.yaml", lines=12
    )


def test_a_page_of_an_analysis_leads_with_a_broken_seal(folder: Path) -> None:
    add_a_word(folder / "protocol.yaml")
    page = folder / "page.html"
    assert main(["analyse", str(folder / "trial.yaml"), "--output", str(page)]) == 0
    text = page.read_text("utf-8")
    assert text.index("is not what was sealed on") < text.index('class="verdict"')


@pytest.mark.parametrize("words", [PLAN, ("sheet", "protocol.yaml")], ids=["plan", "sheet"])
def test_pages_too(words: tuple[str, ...], folder: Path) -> None:
    add_a_word(folder / "protocol.yaml")
    page = folder / "page.html"
    main([words[0], str(folder / words[1]), *words[2:], "--output", str(page)])
    assert "is not what was sealed on" in page.read_text("utf-8")


# --- the seal's own hash -------------------------------------------------------------------------


def test_the_seals_own_hash_is_printed_and_compared(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    seal = folder / "protocol.seal.yaml"
    mark = hashlib.sha256(seal.read_bytes()).hexdigest()
    assert main(["seal", "--verify", str(seal)]) == 0
    assert f"has sha256 {mark}" in capsys.readouterr().out
    # As it is pasted from a letter: in capitals, broken over two lines.
    typed = f"{mark[:32].upper()}\n {mark[32:].upper()}"
    assert main(["seal", "--verify", str(seal), "--lodged", typed]) == 0
    assert "which is the hash that was lodged" in capsys.readouterr().out
    assert main(["seal", "--verify", str(seal), "--lodged", mark, "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["sha256"] == mark
    assert data["lodged"] == {"sha256": mark, "same": True}


def test_a_seal_made_anew_is_not_the_one_lodged(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A new protocol with a new seal of the old date fits itself, and only the hash tells."""
    lodged = hashlib.sha256((folder / "protocol.seal.yaml").read_bytes()).hexdigest()
    add_a_word(folder / "protocol.yaml")
    anew = seal(folder)
    assert main(["seal", "--verify", str(anew)]) == 0
    capsys.readouterr()
    assert main(["seal", "--verify", str(anew), "--lodged", lodged]) == 1
    assert "which is NOT the hash that was lodged" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--lodged", "0" * 64], "--lodged goes with --verify"),
        (["--verify", "protocol.seal.yaml", "--lodged", "abc"], "is no SHA-256"),
    ],
)
def test_what_cannot_be_compared_is_refused(
    words: list[str],
    said: str,
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(folder)
    assert main(["seal", *words]) == 2
    assert said in capsys.readouterr().err
