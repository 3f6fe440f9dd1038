"""What an archive tells of the method: the reference boat's shift, precision, noise for plans."""

from __future__ import annotations

import gc
import json
from pathlib import Path

import pytest
import yaml
from fleet_trials import fleet
from three_crews import DRIFT, THIRSTIER

import slackwater
from slackwater.analysis.archive import method as archive_method
from slackwater.analysis.archive.answer import ArchiveResult
from slackwater.analysis.archive.store import reading
from slackwater.analysis.cli import main
from slackwater.analysis.many.noise_groups import PlansGathered, for_plans
from slackwater.analysis.many.outcome import Outcome
from slackwater.analysis.many.outcome_making import outcome_of
from slackwater.analysis.many.reference_boat import reference_chart, series_of
from slackwater.analysis.pipeline import compute
from slackwater.protocol.declared.trial import load_trial

BOAT = "Reference boat (invented)"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The reference boat's trials alone: nine before her engine changed and three since."""
    folder = tmp_path_factory.mktemp("method") / "trials"
    for path in fleet(folder, 30):
        if not path.name.startswith("reference"):
            path.unlink()
    return folder


@pytest.fixture(scope="module")
def result(folder: Path) -> ArchiveResult:
    return slackwater.archive(folder, reference=BOAT.lower())


@pytest.fixture(scope="module")
def outcomes(folder: Path) -> list[Outcome]:
    """The same without a store."""
    paths = sorted(folder.glob("*/*.yaml"))
    found = [outcome_of(compute(load_trial(path))) for path in paths]
    return sorted(found, key=lambda each: each.first_day)


def test_the_shift_of_the_reference_boat_is_found_and_dated(result: ArchiveResult) -> None:
    fuel = next(each for each in result.method.charts if each.series.quantity == "fuel_flow")
    first = min(point.day for point in fuel.series.points if point.day >= DRIFT.date().isoformat())
    assert fuel.shift_begins == first
    assert fuel.chart.shift is not None
    assert fuel.chart.shift.low < THIRSTIER < fuel.chart.shift.high
    for text in (str(result), result.to_html()):
        assert f"from the session of {first} on" in " ".join(text.split())
    told = json.loads(result.to_json())["method"]["charts"]
    assert first in [each["shift"]["begins"] for each in told if each["shift"]]


def test_what_comes_out_of_the_store_is_what_the_trials_tell(
    result: ArchiveResult, outcomes: list[Outcome]
) -> None:
    for each in result.method.charts:
        again = reference_chart(series_of(outcomes, BOAT.lower(), each.series.quantity))
        assert again.to_dict() == each.to_dict()
    assert result.method.plans.noise.to_dict() == for_plans(outcomes).noise.to_dict()


def test_no_trial_is_held_longer_than_it_takes_to_add_it(
    result: ArchiveResult, monkeypatch: pytest.MonkeyPatch
) -> None:
    alive: list[int] = []
    add = PlansGathered.add

    def counted(gathered: PlansGathered, outcome: Outcome) -> None:
        gc.collect()
        alive.append(sum(isinstance(each, Outcome) for each in gc.get_objects()))
        add(gathered, outcome)

    monkeypatch.setattr(PlansGathered, "add", counted)
    with reading(result.store) as store:
        found = archive_method.method_of(store, "", "")
    assert len(alive) > 10
    assert max(alive) - alive[0] <= 1  # this one, and the one before
    assert found.plans.noise.to_dict() == result.method.plans.noise.to_dict()


def test_the_noise_of_all_is_written_for_plans(folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "noise.yaml"
    assert main(["archive", str(folder), "--noise", str(target)]) == 0
    found = yaml.safe_load(target.read_text("utf-8"))["noise"]
    assert {"speed", "fuel_flow"} <= set(found)
    assert found["speed"]["sessions"] > 10
    assert main(["archive", str(folder), "--noise", str(folder / "change.yaml")]) == 2


def test_what_is_invented_is_no_evidence_beside_what_was_measured(
    folder: Path, tmp_path: Path
) -> None:
    import shutil

    mixed = tmp_path / "mixed"
    shutil.copytree(folder, mixed)
    one = min(mixed.glob("*/*.yaml"))
    one.write_text(one.read_text("utf-8").replace("invented: true\n", ""), encoding="utf-8")
    found = slackwater.archive(mixed, reference=BOAT).method
    assert len(found.plans.noise.trials) == 1
    assert {why for _, why in found.plans.left_out} == {"it is invented, and others were measured"}
    assert found.charts == ()
    assert any("2 values" in each for each in found.not_told)


def test_a_boat_that_is_not_there_is_told(folder: Path) -> None:
    found = slackwater.archive(folder, reference="Marlin").method
    assert found.charts == ()
    assert found.not_told == (f"no trial is of the boat 'Marlin'; there are {BOAT}",)
    assert "no trial is of the boat" in str(slackwater.archive(folder, reference="Marlin"))
