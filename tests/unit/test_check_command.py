"""`check` and `explain` as they are typed: text, JSON, SARIF, exit codes, waivers."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from slackwater.analysis.checking.fault_reasons import REASONS
from slackwater.analysis.checking.fault_words import ALL_FAULTS, CLAIMS_TABLE_FAULTS, TABLE_FAULTS
from slackwater.analysis.checking.registry import all_rules
from slackwater.analysis.cli import main

BAD = """\
protocol: usual
runs:
  set_points: {of: engine_speed, values: [2000 rpm, 3000 rpm], hold: 5 %}
  directions: one_way
  double_runs: 1
  steady: {settle: 0 s, record: 60 s}
sessions: {per_configuration: 1, order: AB}
measures:
  speed_over_ground: {unit: kn}
analysis: {family: single, worthwhile: {speed: 1 %}}
"""
WAIVED = (
    BAD
    + """\
waive:
  - {rule: one-way-runs, reason: A lake without current.}
  - {rule: tide-may-turn, reason: A lake without tide.}
"""
)


@pytest.fixture
def bad(tmp_path: Path) -> Path:
    path = tmp_path / "usual.yaml"
    path.write_text(BAD, encoding="utf-8")
    return path


def test_a_newcomer_is_told_everything_in_one_run(
    bad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(bad)]) == 1
    said = capsys.readouterr().out
    told = set(re.findall(r"\[([a-z-]+)\]$", said, re.MULTILINE))
    assert told >= {
        "one-way-runs",
        "no-repeats",
        "one-session-each",
        "settle-too-short",
        "hold-too-wide",
        "no-family",
        "separate-instruments",
        "set-point-not-measured",
        "no-wind-limit",
        "no-wave-limit",
        "no-depth-limit",
        "no-current-limit",
        "no-displacement-limit",
        "no-temperature-limit",
    }
    lines = said.splitlines()
    at = next(i for i, line in enumerate(lines) if "[one-way-runs]" in line)
    assert lines[at].startswith(f"{bad}:4:15: error: ")
    assert lines[at + 1] == "      directions: one_way"
    assert lines[at + 2].index("^") == lines[at + 1].index("one_way")
    assert lines[at + 3].startswith("    fix: write 'directions: reciprocal'")
    assert re.fullmatch(
        r"\d+ errors, \d+ warnings, \d+ pieces of advice in 1 file; \d+ rules could not look at "
        r"everything; "
        r"'slackwater explain RULE' says why",
        lines[-1],
    )


def test_faults_do_not_hide_the_rules(bad: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # A misspelt key, a bad unit and a bad method: all three in one run.
    text = BAD.replace("double_runs: 1", "double_run: 1").replace("2000 rpm", "2000 kg")
    bad.write_text(text, encoding="utf-8")
    assert main(["check", str(bad), "--format", "json"]) == 1
    found = json.loads(capsys.readouterr().out)["findings"]
    rules = {each["rule"] for each in found}
    assert {"unknown-key", "unfit-value", "one-way-runs", "no-wind-limit"} <= rules
    # What stands in the faulty part is not judged.
    assert "no-repeats" not in rules


def test_a_faulty_limit_is_not_told_as_missing(
    bad: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad.write_text(BAD + "conditions: {wind_speed: {at_most: 8}}\n", encoding="utf-8")
    assert main(["check", str(bad), "--format", "json"]) == 1
    rules = {each["rule"] for each in json.loads(capsys.readouterr().out)["findings"]}
    assert "unfit-value" in rules
    assert "no-wind-limit" not in rules
    assert "no-wave-limit" in rules


def test_waivers_silence_and_are_shown(bad: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad.write_text(WAIVED, encoding="utf-8")
    assert main(["check", str(bad)]) == 1
    said = capsys.readouterr().out
    assert "[one-way-runs]" not in said.replace("waived [one-way-runs]", "")
    assert f"{bad}: waived [one-way-runs], silences 1: A lake without current.\n" in said
    assert f"{bad}: waived [tide-may-turn], silences nothing: A lake without tide.\n" in said
    assert ", 1 waived in 1 file" in said
    assert main(["check", str(bad), "--format", "json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert [(each["rule"], each["silenced"]) for each in data["waivers"]] == [
        ("one-way-runs", 1),
        ("tide-may-turn", 0),
    ]
    assert data["waived"][0]["reason"] == "A lake without current."
    assert "one-way-runs" not in {each["rule"] for each in data["findings"]}


def test_sarif(bad: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What SARIF 2.1.0 asks of a log, section by section (from memory)."""
    bad.write_text(WAIVED, encoding="utf-8")
    assert main(["check", str(bad), "--format", "sarif"]) == 1
    log: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert log["version"] == "2.1.0"  # 3.13.2
    assert log["$schema"].endswith("sarif-schema-2.1.0.json")
    (run,) = log["runs"]
    driver = run["tool"]["driver"]
    assert driver["name"] == "slackwater"
    ids = [rule["id"] for rule in driver["rules"]]
    assert ids == sorted(set(ids))
    assert all(rule["shortDescription"]["text"] for rule in driver["rules"])
    for result in run["results"]:
        assert ids[result["ruleIndex"]] == result["ruleId"]  # 3.27.6
        assert result["level"] in ("error", "warning", "note")  # 3.27.10
        assert result["message"]["text"]
        (location,) = result["locations"]
        physical = location["physicalLocation"]
        assert physical["artifactLocation"]["uri"] == bad.as_uri()
        assert physical["region"]["startLine"] >= 1
        assert physical["region"]["startColumn"] >= 1
    suppressed = [result for result in run["results"] if "suppressions" in result]
    assert [(one["ruleId"], one["suppressions"]) for one in suppressed] == [
        ("one-way-runs", [{"kind": "inSource", "justification": "A lake without current."}])
    ]  # 3.35.2, 3.35.3


def test_sarif_paths_stay_relative(
    bad: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(bad.parent)
    (bad.parent / "a b.yaml").write_text(BAD, encoding="utf-8")
    assert main(["check", "a b.yaml", "--output", "log.sarif"]) == 1
    log = json.loads((bad.parent / "log.sarif").read_text("utf-8"))
    place = log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == "a%20b.yaml"


def test_two_trials_of_one_protocol_tell_it_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "p.yaml").write_text(BAD, encoding="utf-8")
    for name in "ab":
        (tmp_path / f"{name}.yaml").write_text(
            f"trial: {name}\nprotocol: p.yaml\nconfigurations: {{x: {{}}, y: {{}}}}\n"
            "sessions: [{id: S1, configuration: x, date: 2026-05-04}]\nruns: later.csv\n",
            encoding="utf-8",
        )
    assert main(["check", *(str(tmp_path / f"{n}.yaml") for n in "ab"), "--format", "json"]) == 1
    found = json.loads(capsys.readouterr().out)["findings"]
    assert [each["rule"] for each in found].count("one-way-runs") == 1
    # Before the trial there are no runs, and that is no fault.
    yet = [each for each in found if each["rule"] == "no-runs-yet"]
    assert [each["severity"] for each in yet] == ["advice", "advice"]


def test_runs_that_cannot_be_read_are_told_beside_the_rules(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "p.yaml").write_text(BAD, encoding="utf-8")
    (tmp_path / "t.yaml").write_text(
        "trial: t\nprotocol: p.yaml\nconfigurations: {x: {}, y: {}}\n"
        "sessions: [{id: S1, configuration: x}]\n",
        encoding="utf-8",
    )
    (tmp_path / "runs.csv").write_text(
        "session,set_point [rpm],double_run,speed_over_ground [kn]\nS1,2000,1,fast\n",
        encoding="utf-8",
    )
    assert main(["check", str(tmp_path / "t.yaml"), "--format", "json"]) == 1
    rules = {each["rule"] for each in json.loads(capsys.readouterr().out)["findings"]}
    assert {"cell-not-number", "session-undated", "sessions-missing", "one-way-runs"} <= rules


def test_broken_yaml_is_unusable(bad: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad.write_text(BAD + "runs: {}\n", encoding="utf-8")
    assert main(["check", str(bad)]) == 2
    assert "[duplicate-key]" in capsys.readouterr().out


EXAMPLES = Path(__file__).parents[2] / "examples"
CLEAN = [EXAMPLES / "workboat-interceptors" / name for name in ("trial.yaml", "protocol.yaml")]


@pytest.mark.skipif(not EXAMPLES.is_dir(), reason="no checkout")
@pytest.mark.parametrize("path", CLEAN, ids=lambda path: path.name)
def test_the_sound_example_is_clean(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(path)]) == 0
    said = capsys.readouterr().out
    if path.name == "trial.yaml":
        assert said == "nothing found in 1 file\n"
    else:  # silence is not taken for a pass
        assert "[shallow-water]" in said
        assert "[underpowered]" in said
        assert said.endswith("nothing found in 1 file; 2 rules could not look at everything\n")


@pytest.mark.skipif(not EXAMPLES.is_dir(), reason="no checkout")
def test_the_usual_example_shows_what_is_weak(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(EXAMPLES / "one-morning-each" / "trial.yaml")]) == 1
    said = capsys.readouterr().out
    for rule in ("one-session-each", "no-repeats", "baseline-not-repeated", "no-wind-limit"):
        assert f"[{rule}]" in said


def test_every_shipped_protocol_is_clean(capsys: pytest.CaptureFixture[str]) -> None:
    from slackwater.protocol.library import shipped

    for path in shipped().values():
        assert main(["check", str(path)]) == 0, capsys.readouterr().out


def test_explain_prints_the_whole_rule(capsys: pytest.CaptureFixture[str]) -> None:
    for id, rule in all_rules().items():
        assert main(["explain", id]) == 0
        flat = " ".join(capsys.readouterr().out.split())
        assert flat.startswith(f"{id} ({rule.severity.value})")
        for text in (rule.title, rule.why, rule.fix, rule.source):
            assert " ".join(text.split()) in flat


def test_explain_lists_all(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain"]) == 0
    said = capsys.readouterr().out
    listed = [line.split()[0] for line in said.splitlines() if line.startswith("  ")]
    assert listed[: len(all_rules())] == [
        rule.id
        for kind in ("protocol", "trial", "runs")
        for rule in all_rules().values()
        if _subject(rule) == kind
    ]
    assert main(["explain", "--format", "json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["rules"]) == len(all_rules())


def _subject(rule: Any) -> str:
    from slackwater.analysis.checking.explaining import subject

    return subject(rule)


def test_explain_knows_what_reading_tells(capsys: pytest.CaptureFixture[str]) -> None:
    for id, about in ALL_FAULTS.items():
        assert main(["explain", f"[{id}]"]) == 0
        said = " ".join(capsys.readouterr().out.split())
        assert about in said
        assert REASONS[id] in said


def test_every_id_is_explained_in_more_than_its_title() -> None:
    assert REASONS.keys() == ALL_FAULTS.keys()
    for id, reason in REASONS.items():
        assert len(reason.split()) >= 10, id
        assert reason.rstrip().endswith("."), id
        assert reason != ALL_FAULTS[id]


@pytest.mark.parametrize("name", ["speeds", "cruise", "looks", "better", "expected", "directions"])
def test_explain_knows_the_keys_of_the_files(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", name]) == 0
    assert f"{name}   (in a " in capsys.readouterr().out
    assert main(["explain", name, "--format", "json"]) == 0
    assert all(key["about"] for key in json.loads(capsys.readouterr().out)["keys"])


def test_every_key_says_what_it_is_for() -> None:
    from slackwater.analysis.checking.explaining_keys import all_keys

    assert len(all_keys()) > 150
    assert [key.path for key in all_keys() if len(key.about.split()) < 2] == []


def test_explain_knows_the_shipped_protocols(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "one-day-abba"]) == 0
    assert "slackwater new protocol --from one-day-abba" in " ".join(
        capsys.readouterr().out.split()
    )


def test_explain_guesses(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "one-blok"]) == 2
    assert "did you mean 'one-block'?" in capsys.readouterr().err


def test_every_id_of_the_table_reader_is_explained() -> None:
    from importlib.resources import files

    call = re.compile(
        r"(?:\.(?:error|warning|advice|add)|CellError|tell|Fault|FileError)\(\s*\"([a-z]+(?:-[a-z]+)*)\""
    )
    used = {
        id
        for entry in files("slackwater.analysis.intake").iterdir()
        if entry.name.endswith(".py")
        for id in call.findall(entry.read_text(encoding="utf-8"))
    }
    assert len(used) > 50
    assert used <= {*TABLE_FAULTS, *CLAIMS_TABLE_FAULTS}


def test_every_id_of_logs_and_of_cutting_is_explained() -> None:
    from importlib.resources import files

    call = re.compile(r"(?:Finding|refused|problems\.[a-z]+)\(\s*(?:[a-z.]+,\s*)?\"([a-z-]+)\"")
    used = {
        id
        for room in ("logs", "steady")
        for entry in files(f"slackwater.analysis.{room}").iterdir()
        if entry.name.endswith(".py")
        for id in call.findall(entry.read_text(encoding="utf-8"))
    }
    assert len(used) > 15
    assert used <= {*ALL_FAULTS, *all_rules()}


def test_ids_of_rules_and_faults_do_not_meet() -> None:
    assert not set(all_rules()) & set(ALL_FAULTS)


def test_a_protocol_is_checked_without_heavy_libraries(bad: Path) -> None:
    code = (
        "import sys; from slackwater.analysis.cli import main; code = main(['check', sys.argv[1]]); "
        "print('loaded', *sys.modules); raise SystemExit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(bad)],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 1
    loaded = set(done.stdout.splitlines()[-1].split())
    assert "slackwater.protocol.rules.one_block" in loaded
    heavy = {"pandas", "scipy.special", "scipy.stats", "matplotlib", "rich", "jinja2"}
    assert not heavy & loaded
    assert "slackwater.analysis.checking.run_rules.clock_jump" not in loaded


EXPECTED = """\
expected:
  speed: [8 kn, 12 kn, 16 kn]
  fuel_flow: [12 L/h, 25 L/h, 45 L/h]
"""


def test_expected_speeds_let_the_depth_be_looked_at(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "p.yaml"
    assert main(["new", "protocol", "--output", str(path)]) == 0
    assert main(["check", str(path)]) == 0
    assert "not looked at: nothing tells how fast she goes" in capsys.readouterr().out
    path.write_text(path.read_text("utf-8") + EXPECTED, encoding="utf-8")
    assert main(["check", str(path)]) == 1
    said = capsys.readouterr().out
    assert "6 m of water at 16 kn" in said
    assert "how fast she goes" not in said


def test_what_could_not_be_looked_at_is_in_the_json(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "p.yaml"
    assert main(["new", "protocol", "--output", str(path)]) == 0
    capsys.readouterr()
    assert main(["check", str(path), "--format", "json"]) == 0
    blind = json.loads(capsys.readouterr().out)["not_looked_at"]
    assert [row["rules"] for row in blind] == [["shallow-water"], ["underpowered"]]
    assert all(row["why"] and row["lets"] for row in blind)
