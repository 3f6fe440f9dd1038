"""Every check of an audit can be explained, and what may be written in claims is listed."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from slackwater.analysis.audit import checks as checks_module
from slackwater.analysis.audit.checks import all_checks
from slackwater.analysis.audit.readable import PLACES, STATEMENTS
from slackwater.analysis.checking.registry import all_rules
from slackwater.analysis.cli import main
from slackwater.protocol.claims.figure_reading import parse_figure
from slackwater.protocol.claims.place import PlaceIn

SOURCES = Path(checks_module.__file__).parent


def test_every_check_that_is_named_in_the_code_is_explained() -> None:
    named = set()
    for file in SOURCES.glob("*.py"):
        text = file.read_text(encoding="utf-8")
        named |= set(re.findall(r'Reason\(\s*"([a-z-]+)"', text))
    assert len(named) > 30
    assert named <= all_checks().keys()
    assert set(all_checks()) - named >= {"range", "advance"}  # those of the equations


def test_no_check_has_the_name_of_a_rule() -> None:
    assert not all_checks().keys() & all_rules().keys()


@pytest.mark.parametrize("id", ["percentage", "together", "range", "against-data"])
def test_explain_tells_of_a_check(id: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", id]) == 0
    out = capsys.readouterr().out
    assert out.startswith(f"{id} (a check on claims)")
    assert "source" in out


def test_explain_lists_the_checks(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain"]) == 0
    assert "on claims" in capsys.readouterr().out


def test_what_is_listed_is_read() -> None:
    for texts, read in ((STATEMENTS, parse_figure), (PLACES, PlaceIn().read)):
        for listed, _ in texts:
            for text in listed.split(", "):
                read(text)


def test_the_list_in_both_forms(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["audit", "--list"]) == 0
    assert "fuel_flow" in capsys.readouterr().out
    assert main(["audit", "--list", "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    speed = next(q for q in data["quantities"] if q["quantity"] == "speed")
    assert "kn" in speed["units"]


def test_no_claims_are_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["audit"]) == 2
    assert "slackwater new claims" in capsys.readouterr().err


def test_new_claims_passes_its_own_check_and_audits(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    examples = Path(__file__).parents[2] / "examples"
    monkeypatch.chdir(tmp_path)
    starts = {
        "bare.yaml": [],
        "trial.yaml": ["--from", str(examples / "workboat-interceptors" / "trial.yaml")],
        "table.yaml": ["--from", str(examples / "published-article" / "table.csv")],
    }
    for name, more in starts.items():
        assert main(["new", "claims", *more, "--output", name]) == 0
        assert main(["check", name]) == 0
        assert main(["audit", name]) == 1
        assert "Audit of published claims" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--from", "nothing"], "neither a trial's file nor a published table"),
        (["--from", "nothing.yaml"], "no such file"),
        (["--sessions", "3"], "does not belong to claims"),
    ],
)
def test_new_claims_refuses_what_does_not_fit(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", "claims", *words]) == 2
    assert says in capsys.readouterr().err
