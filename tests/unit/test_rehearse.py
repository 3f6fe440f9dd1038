"""A rehearsal: a whole trial that goes the way of a real one, marked as invented wherever it shows."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from slackwater.analysis.checking.examine import examine
from slackwater.analysis.cli import main
from slackwater.analysis.rehearsal.rehearsing import rehearse
from slackwater.analysis.rehearsal.world import BETWEEN, GAINS
from slackwater.protocol.declared.protocol import build_protocol, load_protocol
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.library import shipped
from slackwater.protocol.starting import document_from

EACH = pytest.mark.parametrize("base", list(shipped()))
MARK = "INVENTED"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("practice") / "rehearsal"
    assert main(["rehearse", "two-way-sweep", "--output", str(made)]) == 0
    return made


def test_every_file_that_holds_figures_is_marked(folder: Path) -> None:
    assert {path.name for path in folder.iterdir()} == {
        *("protocol.yaml", "trial.yaml", "runs.csv", "sheet.csv", "sheet.html", "truth.txt"),
        "read-me-first.txt",
    }
    for path in folder.iterdir():
        if path.name != "sheet.csv":  # blank
            assert MARK in path.read_text("utf-8"), path.name
    rows = (folder / "runs.csv").read_text("utf-8").splitlines()[1:]
    assert all(row.endswith(f",{MARK}") for row in rows)


@EACH
def test_each_shipped_protocol_is_run_as_it_declares(base: str, tmp_path: Path) -> None:
    for name, text in rehearse(load_protocol(base), 1).items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    found = examine(str(tmp_path / "trial.yaml")).checked.findings
    assert [each.rule for each in found] == ["invented-data"]
    trial = load_trial(tmp_path / "trial.yaml")
    order = trial.protocol.sessions.order
    assert len(trial.sessions) == len(order)
    for name in trial.protocol.limits:
        assert name in trial.protocol.measures or all(s.value(name) for s in trial.sessions), name


@pytest.mark.parametrize("form", ["text", "json", "html"])
def test_every_report_says_that_it_is_invented(
    folder: Path, form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["analyse", str(folder / "trial.yaml"), "--format", form]) == 0
    said = capsys.readouterr().out
    assert MARK in said[: 1500 if form == "text" else len(said)]
    if form == "json":
        result = json.loads(said)
        assert MARK in result["title"]
        assert [f["rule"] for f in result["findings"]] == ["invented-data"]


def test_the_mark_is_put_on_by_the_key_alone(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (folder / "trial.yaml").read_text("utf-8").replace(f" ({MARK})", "")
    for name in ("protocol.yaml", "runs.csv"):
        (tmp_path / name).write_text((folder / name).read_text("utf-8"), encoding="utf-8")
    (tmp_path / "trial.yaml").write_text(text, encoding="utf-8")
    assert main(["analyse", str(tmp_path / "trial.yaml")]) == 0
    assert f"modified ({MARK}) against baseline ({MARK})" in capsys.readouterr().out


def test_what_was_put_in_is_what_the_runs_have() -> None:
    """The mean speeds of many rehearsals differ by the gain of each, within their scatter."""
    protocol = load_protocol("speed-trial-double-runs")
    off = []
    for seed in range(1, 13):
        texts = rehearse(protocol, seed)
        gain = _gain(texts["truth.txt"])
        assert gain in GAINS
        off.append(_ratio(texts) - 1 - gain)
    # Three sessions each and more: the mean of twelve is known to about a twelfth of a per cent.
    assert abs(sum(off) / len(off)) < 3 * BETWEEN * (2 / 3) ** 0.5 / 12**0.5


def _gain(truth: str) -> float:
    line = next(line for line in truth.splitlines() if line.startswith("modified"))
    return 0.0 if "no change" in line else float(line.split("gain of ")[1].split(" %")[0]) / 100


def _ratio(texts: dict[str, str]) -> float:
    trial = texts["trial.yaml"]
    fitted = {
        part.split(",")[0]: part.split("configuration: ")[1].split(",")[0]
        for part in trial.split("{id: ")[1:]
    }
    means: dict[str, list[float]] = {"baseline": [], "modified": []}
    head, *rows = (line.split(",") for line in texts["runs.csv"].splitlines())
    at = head.index("speed_over_ground [kn]")
    for row in rows:
        means[fitted[row[0]]].append(float(row[at]))
    sides = [sum(values) / len(values) for values in means.values()]
    return sides[1] / sides[0]


def test_expected_levels_are_what_she_does(tmp_path: Path) -> None:
    words = ["--speeds", "7 kn, 11 kn, 15 kn", "--configurations", "old,new"]
    path = tmp_path / "p.yaml"
    assert main(["new", "protocol", *words, "--output", str(path)]) == 0
    texts = rehearse(load_protocol(path), 3)
    _, *rows = (line.split(",") for line in texts["runs.csv"].splitlines())
    for set_point, speed in (("1000", 7.0), ("2000", 15.0)):
        seen = [float(row[6]) for row in rows if row[1] == set_point]
        assert abs(sum(seen) / len(seen) / speed - 1) < 0.05
    assert "configuration: old" in texts["trial.yaml"]
    assert f"title: old ({MARK})" in texts["trial.yaml"]


def test_the_same_seed_gives_the_same_files() -> None:
    protocol = load_protocol("one-day-abba")
    assert rehearse(protocol, 4) == rehearse(protocol, 4)
    assert rehearse(protocol, 4)["runs.csv"] != rehearse(protocol, 5)["runs.csv"]


def test_measures_of_every_kind_can_be_rehearsed(tmp_path: Path) -> None:
    text = shipped()["two-way-sweep"].read_text("utf-8").replace(
        "  fuel_flow: {unit: L/h, standard_uncertainty: 1 %, shared: true}\n",
        "  fuel_mass_flow: {unit: kg/h}\n  exhaust_temperature: {unit: degF}\n  electric_power: {}\n"
        "  spray_height: {unit: cm}\n  speed_through_water: {unit: km/h}\n  timed_distance: {}\n",
    ).replace("decides: economy at equal speed", "decides: speed").replace(", economy: 3 %", "")  # fmt: skip
    protocol, faults = build_protocol(document_from(text, tmp_path / "p.yaml"))
    assert protocol is not None, faults
    for name, made in rehearse(protocol, 1).items():
        (tmp_path / name).write_text(made, encoding="utf-8")
    found = {each.rule for each in examine(str(tmp_path / "trial.yaml")).checked.findings}
    assert not {rule for rule in found if rule.startswith(("cell", "unit", "column", "value"))}


def test_nothing_is_written_over(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = (folder / "trial.yaml").read_text("utf-8")
    assert main(["rehearse", "one-day-abba", "--output", str(folder)]) == 2
    assert "[output-exists]" in capsys.readouterr().err
    assert (folder / "trial.yaml").read_text("utf-8") == before


def test_a_folder_that_cannot_be_made_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    there = tmp_path / "file"
    there.write_text("x")
    for target in (there, tmp_path / "none" / "deeper"):
        assert main(["rehearse", "one-day-abba", "--output", str(target)]) == 2
        assert "cannot be made" in capsys.readouterr().err


def test_a_speed_that_was_held_is_no_result(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """At held speeds everything is told at them; neither the speed nor the fastest of them is compared."""
    for name, text in rehearse(load_protocol("fuel-economy-fixed-speeds"), 5).items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert main(["analyse", str(tmp_path / "trial.yaml"), "--format", "json"]) == 0
    rows = json.loads(capsys.readouterr().out)["comparisons"]
    quantities = {row["quantity"] for row in rows}
    assert {"economy", "fuel_flow", "engine_speed"} <= quantities
    assert not {"speed", "speed_over_ground", "speed_through_water", "top_speed"} & quantities
    at = [row["at"] for row in rows if row["quantity"] == "economy"]
    assert at == ["6 kn", "8 kn", "10 kn", "12 kn"]
