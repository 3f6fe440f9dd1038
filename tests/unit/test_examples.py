"""The invented trials: made by their script, and taken through every command without a complaint."""

from __future__ import annotations

import gzip
import importlib.util
import shutil
import sys
from pathlib import Path
from types import ModuleType

import pytest

from slackwater.analysis.api import analyse
from slackwater.analysis.checking.examine import examine

EXAMPLES = Path(__file__).parents[2] / "examples"
SOUND = (
    "workboat-interceptors",
    "finer-pitch-propeller",
    "twin-rudder-toe-in",
    "electric-launch",
    "metric-river-boat",
)
RATED = "ride-felt-blind"
TRIED = "tabs-off-the-mark"
FROM_LOGS = "spray-rails-from-logs"
TURNED = "deeper-skeg-from-logs"
ALL = (*SOUND, "one-morning-each", FROM_LOGS, RATED, TRIED, TURNED)
FLEET = tuple(f"five-launches/{name}" for name in ("first", "second", "third", "fourth", "fifth"))


def generator() -> ModuleType:
    """examples/generate.py, as a module that is not left behind."""
    sys.path.insert(0, str(EXAMPLES))
    try:
        spec = importlib.util.spec_from_file_location("generate", EXAMPLES / "generate.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        return module
    finally:
        sys.path.remove(str(EXAMPLES))


def test_the_script_makes_the_tables_that_are_shipped(tmp_path: Path) -> None:
    make = generator()
    for name in ALL:
        (tmp_path / name).mkdir()
    make.make_all(tmp_path)
    for name in (*SOUND, "one-morning-each", RATED, TRIED, *FLEET):  # logs have a test of their own
        for path in (EXAMPLES / name).glob("*.csv"):
            assert (tmp_path / name / path.name).read_bytes() == path.read_bytes(), path


def test_every_trial_says_that_it_is_invented() -> None:
    found = sorted(path.parent.name for path in EXAMPLES.glob("*/trial.yaml"))
    assert found == sorted(ALL)
    for name in (*ALL, *FLEET):
        text = (EXAMPLES / name / "trial.yaml").read_text(encoding="utf-8")
        assert text.startswith("# An invented trial"), name
        assert "(invented)" in text.split("title: ", 1)[1].splitlines()[0], name


@pytest.mark.parametrize("name", [*SOUND, FROM_LOGS])
def test_a_sound_example_draws_no_warning(name: str) -> None:
    for file in ("protocol.yaml", "trial.yaml"):
        found = examine(str(EXAMPLES / name / file)).checked.findings
        assert [str(each) for each in found] == []
    result = analyse(EXAMPLES / name / "trial.yaml")
    assert result.deciding is not None
    assert result.deciding.told
    assert [each for each in result.findings if each.severity.value != "advice"] == []


def test_scores_and_runs_draw_no_warning() -> None:
    trial = EXAMPLES / RATED / "trial.yaml"
    found = examine(str(trial)).checked.findings
    assert {each.rule for each in found} == {"invented-data"}
    result = analyse(trial)
    assert result.deciding is not None
    assert result.deciding.told
    assert {each.rule for each in result.findings} == {"invented-data"}


def test_tries_draw_no_warning_but_for_the_one_that_was_spoiled() -> None:
    trial = EXAMPLES / TRIED / "trial.yaml"
    found = examine(str(trial)).checked.findings
    assert {each.rule for each in found} == {"invented-data", "tries-fewer"}
    result = analyse(trial)
    verdicts = {row.quantity: str(row.verdict) for row in result.compared}
    assert verdicts["time_to_plane"] == "gain"  # an eighth was put in
    assert "gain" not in (verdicts["stopping_distance"], verdicts["stopping_time"])
    assert {each.rule for each in result.findings} == {"invented-data", "tries-unbalanced"}


def test_turns_come_out_of_logs_alone() -> None:
    """Neither runs nor tries were written: the script put in 32 of each, and a circle that is a sixteenth wider."""
    trial = EXAMPLES / TURNED / "trial.yaml"
    result = analyse(trial)
    assert {each.rule for each in result.findings} == {"invented-data"}
    assert result.deviations == ()
    assert result.runs.used == 32
    assert len(set(result.tries[["session", "direction", "try"]].itertuples(index=False))) == 32
    (row,) = [each for each in result.compared if each.quantity == "tactical_diameter"]
    assert str(row.verdict) == "loss"
    assert row.low < 1 / 16 < row.high
    assert "Tracks of all turns" in result.to_html()


def test_the_script_makes_the_logs_of_turns(tmp_path: Path) -> None:
    generator().deeper_skeg(tmp_path)
    shipped = sorted((EXAMPLES / TURNED / "logs").iterdir())
    assert len(shipped) == 8
    for path in shipped:
        made = tmp_path / TURNED / "logs" / path.name
        assert gzip.decompress(made.read_bytes()) == gzip.decompress(path.read_bytes()), path.name


def test_both_engines_count() -> None:
    """Flows of two engines are added, their speeds averaged: as the two columns of the file are."""
    result = analyse(EXAMPLES / "twin-rudder-toe-in" / "trial.yaml")
    runs = (EXAMPLES / "twin-rudder-toe-in" / "runs.csv").read_text().splitlines()
    mine = [line.split(",") for line in runs[1:] if line.startswith("D1a,2600,")]
    total = sum(float(cells[9]) + float(cells[10]) for cells in mine) / len(mine)
    values = result.session_values
    row = values[(values.session == "D1a") & (values["at"] == "2600 rpm")]
    found = dict(zip(row.quantity, row.value, strict=True))
    assert found["fuel_flow"] == pytest.approx(total, rel=2e-4)


def test_a_displacement_boat_is_not_told_about_planing() -> None:
    told = {
        name: [
            q
            for q in analyse(EXAMPLES / name / "trial.yaml").comparisons.quantity
            if "planing" in q
        ]
        for name in ("metric-river-boat", "twin-rudder-toe-in")
    }
    assert told["metric-river-boat"] == []
    assert told["twin-rudder-toe-in"]


def test_metric_units_stay_metric(tmp_path: Path) -> None:
    """The same table with points in place of decimal commas gives the same answer, in km/h."""
    source = EXAMPLES / "metric-river-boat"
    shutil.copytree(source, tmp_path / "boat")
    text = (source / "runs.csv").read_text()
    (tmp_path / "boat" / "runs.csv").write_text(text.replace(",", ".").replace(";", ","))
    ours, theirs = analyse(source / "trial.yaml"), analyse(tmp_path / "boat" / "trial.yaml")
    assert ours.records("comparisons") == theirs.records("comparisons")
    assert set(ours.set_points[ours.set_points.quantity == "speed"].unit) == {"km/h"}
