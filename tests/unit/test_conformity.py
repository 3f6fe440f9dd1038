"""The record of conformity: outcomes, clauses, hashes and seals, and the index by source."""

from __future__ import annotations

import hashlib
import json
import re
import shlex
import shutil
from pathlib import Path
from typing import Any

import pytest

from slackwater.analysis.checking.registry import all_rules
from slackwater.analysis.cli import main
from slackwater.protocol.rules._outcome import Outcome
from slackwater.protocol.rules._sources import WORKS, Kind, by_work, clauses

ROOT = Path(__file__).parents[2]
WORKBOAT = ROOT / "examples" / "workboat-interceptors"
ONE_MORNING = ROOT / "examples" / "one-morning-each"


@pytest.fixture
def workboat(tmp_path: Path) -> Path:
    for name in ("trial.yaml", "protocol.yaml", "runs.csv"):
        shutil.copy(WORKBOAT / name, tmp_path / name)
    return tmp_path / "trial.yaml"


def record(trial: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    main(["check", str(trial), "--format", "json"])
    (found,) = json.loads(capsys.readouterr().out)["files"]
    return found  # type: ignore[no-any-return]


def test_every_rule_stands_in_it_once_and_the_counts_add_up(
    workboat: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = record(workboat, capsys)
    assert sorted(row["rule"] for row in found["rules"]) == sorted(all_rules())
    assert sum(found["counts"].values()) == len(all_rules())
    assert set(found["counts"]) == {outcome.value for outcome in Outcome}
    held = [row for row in found["rules"] if row["outcome"] == "held"]
    assert len(held) == found["counts"]["held"] > 50
    assert all(not row["found"] and not row["could_not_look"] for row in held)


def test_it_says_of_which_bytes_it_speaks(
    workboat: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    of = record(workboat, capsys)["of"]
    told = {each["role"]: each["sha256"] for each in of["inputs"]}
    for role, name in (
        ("trial", "trial.yaml"),
        ("protocol", "protocol.yaml"),
        ("runs", "runs.csv"),
    ):
        bytes_ = (workboat.parent / name).read_bytes()
        assert told[role] == hashlib.sha256(bytes_).hexdigest()
    assert of["protocol"] == {"id": "workboat-sweep", "version": "1.0"}


def test_a_broken_rule_carries_what_was_found(capsys: pytest.CaptureFixture[str]) -> None:
    found = record(ONE_MORNING / "trial.yaml", capsys)
    broken = {row["rule"]: row for row in found["rules"] if row["outcome"] == "broken"}
    assert broken["one-session-each"]["found"][0]["line"] > 0
    assert {one["work"] for one in broken["one-session-each"]["clauses"]} == {
        "S. H. Hurlbert, Ecological Monographs 54 (1984)"
    }


def test_what_reading_found_stands_beside_the_rules(
    workboat: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = workboat.parent / "runs.csv"
    table.write_text("a word above the table\n" + table.read_text("utf-8"), "utf-8")
    found = record(workboat, capsys)
    assert "rows-before-heading" in [one["rule"] for one in found["reading"]]


def test_a_file_that_cannot_be_used_has_a_record_that_says_so(
    workboat: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    workboat.write_text(workboat.read_text("utf-8").replace("runs:", "rums:"), "utf-8")
    found = record(workboat, capsys)
    assert found["of"] is None
    assert found["counts"]["held"] == 0
    assert found["counts"]["could not be looked at"] == len(all_rules())


def test_the_seal_heads_it_and_a_changed_protocol_is_told(
    workboat: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    protocol = workboat.parent / "protocol.yaml"
    assert main(["seal", str(protocol)]) == 0
    capsys.readouterr()
    of = record(workboat, capsys)["of"]
    # The runs of the example are older than this seal.
    assert of["seal"]["state"] == "late"
    seal = workboat.parent / "protocol.seal.yaml"
    assert of["seal"]["sha256"] == hashlib.sha256(seal.read_bytes()).hexdigest()
    protocol.write_text(protocol.read_text("utf-8") + "\n# a word more\n", "utf-8")
    for file in (protocol, workboat):
        assert main(["check", str(file)]) == 1
        said = capsys.readouterr().out
        assert "[seal-changed]" in said
        assert "is not what was sealed" in said


def test_the_page_holds_the_same_and_fetches_nothing(
    workboat: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = workboat.parent / "record.html"
    assert main(["check", str(workboat), "--output", str(page)]) == 0
    text = page.read_text("utf-8")
    found = record(workboat, capsys)
    assert f"{found['counts']['held']} of {len(all_rules())} rules held" in text
    for each in found["of"]["inputs"]:
        assert each["sha256"] in text
    for rule in all_rules():
        assert f"<b>{rule}</b>" in text
    assert "<script" not in text
    assert not re.search(r"(?:src|href)=\"http", text)


def test_the_page_makes_markup_harmless(workboat: Path) -> None:
    text = workboat.read_text("utf-8")
    title = next(line for line in text.splitlines() if line.startswith("title:"))
    workboat.write_text(text.replace(title, "title: <script>alert(1)</script>"), "utf-8")
    page = workboat.parent / "record.html"
    main(["check", str(workboat), "--output", str(page)])
    assert "<script" not in page.read_text("utf-8")
    assert "&lt;script&gt;" in page.read_text("utf-8")


def test_sarif_carries_every_rule_that_was_applied(
    workboat: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(workboat), "--format", "sarif"]) == 0
    (run,) = json.loads(capsys.readouterr().out)["runs"]
    assert run["results"] == []
    assert {rule["id"] for rule in run["tool"]["driver"]["rules"]} >= all_rules().keys()


# --- what rules rest on --------------------------------------------------------------------------


@pytest.mark.parametrize("rule", all_rules().values(), ids=lambda rule: rule.id)
def test_every_source_names_works_of_the_list(rule: Any) -> None:
    found = clauses(rule.source)
    assert found
    rebuilt = [
        one.work + (f", {one.at}" if one.at else "") + (f": {one.says}" if one.says else "")
        for one in found
    ]
    assert "; ".join(rebuilt) == rule.source
    assert "memory" not in rule.source


def test_every_work_of_the_list_is_rested_on() -> None:
    assert by_work(all_rules().values()).keys() == WORKS.keys()


def test_a_source_without_a_work_is_refused() -> None:
    with pytest.raises(LookupError, match="hearsay"):
        clauses("common practice; hearsay: so they say")


def test_explain_by_source(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "--by", "source"]) == 0
    text = capsys.readouterr().out
    gum = text.split("JCGM 100:2008 (GUM)\n")[1].split("\n\n")[0]
    assert "5.1        instrument-too-coarse     combined standard uncertainty" in gum
    assert all(kind.value in text for kind in Kind)
    assert main(["explain", "--by", "source", "--format", "json"]) == 0
    works = json.loads(capsys.readouterr().out)["works"]
    assert {row["rule"] for work in works for row in work["rules"]} == all_rules().keys()


def test_explain_by_source_takes_no_rule(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "one-block", "--by", "source"]) == 2
    assert "--by lists all rules" in capsys.readouterr().err


def test_the_commands_of_the_page_run_as_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = (ROOT / "docs" / "records.md").read_text("utf-8")
    found = re.search(r"<!-- begin: records -->\n```sh\n(.*?)```", page, re.DOTALL)
    assert found is not None
    monkeypatch.chdir(tmp_path)
    copied, *commands = [shlex.split(line) for line in found[1].splitlines()]
    for source in copied[2:-1]:
        name = Path(source).name
        shutil.copytree(ROOT / "examples" / name, tmp_path / name)
    for words in commands:
        assert main(words[1:]) == 0, words
    made = {path.name for path in tmp_path.iterdir()}
    assert {"record.html", "record.json", "letter.html", "reply.yaml"} <= made
