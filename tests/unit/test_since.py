"""Two versions of a protocol: which way each change goes, and what becomes of trials."""

from __future__ import annotations

import json
import math
import shutil
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator
from laid_examples import PROTOCOL

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.report.schemas import ANSWERS
from slackwater.analysis.versions.changes import Change, changes
from slackwater.protocol.declared.protocol import Protocol

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "workboat-interceptors"


def sound(**parts: Any) -> Protocol:
    """The sound protocol, with some of its parts laid over; None takes a key away."""
    data = yaml.load(PROTOCOL, yaml.BaseLoader)
    for key, value in parts.items():
        *way, last = key.split("__")
        holder = data
        for step in way:
            holder = holder.setdefault(step, {})
        if value is None:
            del holder[last]
        else:
            holder[last] = value
    return Protocol.model_validate(data)


def one(before: dict[str, Any], after: dict[str, Any]) -> Change:
    (found,) = changes(sound(**before), sound(**after))
    return found


STRICTER: list[tuple[dict[str, Any], dict[str, Any], str]] = [
    ({"runs__double_runs": "2"}, {"runs__double_runs": "3"}, "runs.double_runs"),
    ({}, {"runs__steady__settle": "30 s"}, "runs.steady.settle"),
    ({}, {"runs__set_points__hold": "0.5 %"}, "runs.set_points.hold"),
    ({"runs__directions": "one_way"}, {}, "runs.directions"),
    ({"runs__set_point_order": "ascending"}, {}, "runs.set_point_order"),
    ({}, {"runs__reciprocal_within": "5 deg"}, "runs.reciprocal_within"),
    ({}, {"analysis__confidence": "99 %"}, "analysis.confidence"),
    ({"analysis__limits_broken": "report"}, {}, "analysis.limits_broken"),
    ({}, {"conditions__wind_speed": {"at_most": "6 kn"}}, "conditions.wind_speed"),
    ({}, {"conditions__wind_speed": {"at_most": "4 m/s"}}, "conditions.wind_speed"),
    ({}, {"conditions__water_depth": {"at_least": "30 m"}}, "conditions.water_depth"),
    ({}, {"loading__fuel": {"between": ["50 %", "90 %"]}}, "loading.fuel"),
    ({}, {"loading__displacement": {"within": "0.5 %"}}, "loading.displacement"),
    ({}, {"loading__displacement": {"same": "true"}}, "loading.displacement"),
    ({"conditions__current": None}, {}, "conditions.current"),
    ({"measures__fuel_flow": None, "analysis__worthwhile": {"speed": "1 %"}},
     {"analysis__worthwhile": {"speed": "1 %"}}, "measures.fuel_flow"),
    ({}, {"measures__fuel_flow": {"unit": "L/h", "standard_uncertainty": "0.5 %", "shared": "true"}},
     "measures.fuel_flow.standard_uncertainty"),
    ({"waive": [{"rule": "one-block", "reason": "Paint stays."}]}, {}, "waive.one-block"),
    ({}, {"runs__set_points__values": ["1000 rpm", "1500 rpm", "2000 rpm"]},
     "runs.set_points.values"),
]  # fmt: skip


@pytest.mark.parametrize(("before", "after", "key"), STRICTER, ids=lambda each: str(each)[:40])
def test_stricter_one_way_is_looser_the_other(
    before: dict[str, Any], after: dict[str, Any], key: str
) -> None:
    forth, back = one(before, after), one(after, before)
    assert (forth.key, forth.sense) == (key, "stricter")
    assert (back.key, back.sense) == (key, "looser")
    assert (forth.old, forth.new) == (back.new, back.old)


@pytest.mark.parametrize(
    ("after", "sense"),
    [
        ({"sessions__order": "ABABAB"}, "different"),
        ({"analysis__current": "mean_of_means"}, "different"),
        ({"analysis__worthwhile": {"speed": "2 %", "economy": "3 %"}}, "different"),
        ({"loading__fuel": {"between": ["50 %", "100 %"]}}, "stricter"),
        ({"loading__fuel": {"between": ["30 %", "90 %"]}}, "different"),
        ({"conditions__wind_speed": {"within": "2 kn"}}, "different"),
        ({"runs__set_points__values": ["1000 rpm", "2500 rpm"]}, "different"),
        (
            {
                "ratings": {
                    "items": {"ride": {"points": "7", "anchors": {"1": "hard", "7": "soft"}}}
                }
            },
            "different",
        ),
        ({"title": "Another title (invented)"}, "words only"),
        ({"runs__steady__record": "1 min"}, "words only"),
        ({"conditions__water_depth": {"at_least": "0.02 km"}}, "words only"),
    ],
)
def test_neither(after: dict[str, Any], sense: str) -> None:
    assert one({}, after).sense == sense


def test_every_key_of_the_model_is_compared() -> None:
    """A key that nobody compares would change in silence."""
    from slackwater.analysis.versions import changes as module

    listed = {
        key.split(".")[0]
        for key in (
            *module.WORDS,
            *module.MORE_IS_STRICTER,
            *module.LESS_IS_STRICTER,
            *module.ASKING_MORE,
            *module.DIFFERENT,
        )
    }
    by_part = {"loading", "conditions", "measures", "noise", "waive"}
    assert set(Protocol.model_fields) - listed - by_part <= {"protocol"}
    keys = {*module.WORDS, *module.MORE_IS_STRICTER, *module.LESS_IS_STRICTER}
    keys |= {*module.ASKING_MORE, *module.DIFFERENT}
    for part in ("runs", "sessions", "analysis"):
        fields = type(getattr(sound(), part)).model_fields
        told = {key.split(".")[1] for key in keys if key.startswith(f"{part}.")}
        assert set(fields) - told <= {"worthwhile"}, part


# --- the command ---------------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(EXAMPLE, tmp_path / "trial")
    return tmp_path / "trial"


def newer(folder: Path, *changes_: tuple[str, str]) -> Path:
    text = (folder / "protocol.yaml").read_text("utf-8")
    for old, new in changes_:
        assert old in text
        text = text.replace(old, new)
    path = folder / "newer.yaml"
    path.write_text(text, "utf-8")
    return path


def test_the_smallest_difference_goes_with_the_root_of_the_double_runs(folder: Path) -> None:
    """Where runs alone scatter, four double runs for three: the root of 3/4, by algebra."""
    path = newer(folder, ("double_runs: 3", "double_runs: 4"))
    found = slackwater.since(path, folder / "protocol.yaml")
    ratios = {each.noise: each.ratio for each in found.smallest}
    assert ratios["runs"] == pytest.approx(math.sqrt(3 / 4), abs=0.02)  # simulated floors
    assert ratios["sessions"] == pytest.approx(1.0, abs=0.02)
    assert found.sense == "stricter"


def test_which_trials_satisfy_the_newer(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    old, trial = str(folder / "protocol.yaml"), str(folder / "trial.yaml")
    # The windiest session had 7 kn.
    kept = newer(folder, ("wind_speed: {at_most: 8 kn}", "wind_speed: {at_most: 7 kn}"))
    assert main(["check", str(kept), trial, "--since", old]) == 0
    assert "satisfies the new version" in capsys.readouterr().out
    lost = newer(folder, ("wind_speed: {at_most: 8 kn}", "wind_speed: {at_most: 6 kn}"))
    assert main(["check", str(lost), trial, "--since", old]) == 1
    said = capsys.readouterr().out
    assert "does not satisfy the new version" in said
    assert "condition-outside-limit" in said
    assert main(["check", str(lost), trial, "--since", old, "--format", "json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["sense"] == "stricter"
    assert data["trials"][0]["run_to_the_old"] is True
    assert {each["rule"] for each in data["trials"][0]["broken"]} == {"condition-outside-limit"}
    assert Draft202012Validator(ANSWERS["since.schema.json"]()).is_valid(data)


def test_a_measure_that_the_trial_lacks(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = newer(folder, ("measures:\n", "measures:\n  trim: {unit: deg}\n"))
    words = ["check", str(path), str(folder / "trial.yaml"), "--since"]
    assert main([*words, str(folder / "protocol.yaml")]) == 1
    assert "[measure-missing]" in capsys.readouterr().out


def test_the_same_bytes(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    old = str(folder / "protocol.yaml")
    assert main(["check", old, "--since", old]) == 0
    assert "the very same bytes" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["trial.yaml", "--since", "protocol.yaml"], "this is a trial"),
        (["protocol.yaml", "--since", "gone.yaml"], "no such file"),
        (["protocol.yaml", "runs.csv", "--since", "protocol.yaml"], ""),
        (["protocol.yaml", "--since", "protocol.yaml", "--format", "sarif"], "text or JSON"),
    ],
)
def test_what_cannot_be_held_is_refused(
    words: list[str],
    said: str,
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(folder)
    assert main(["check", *words]) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "Traceback" not in told
