"""Looks at a trial part-way: which are declared, what they ask, what is called final."""

from __future__ import annotations

from pathlib import Path

import pytest

from slackwater.analysis.pipeline import analyse
from slackwater.analysis.verdict.looks import Look, confidence_at, look_at
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.findings import InputError

EXAMPLE = Path(__file__).parents[2] / "examples" / "workboat-interceptors"

PROTOCOL = """\
protocol: four-sessions
runs:
  set_points: {of: engine_speed, values: [1000 rpm, 1400 rpm, 1800 rpm, 2000 rpm, 2200 rpm, 2500 rpm, 3000 rpm, 3500 rpm]}
sessions: {per_configuration: COUNT, order: ORDER}
measures: {speed_over_ground: {unit: kn, shared: true}}
analysis: {LOOKS}
"""


def protocol_file(folder: Path, count: int, looks: str = "") -> Path:
    order = ("ABBA" * count)[: 2 * count]
    text = PROTOCOL.replace("COUNT", str(count)).replace("ORDER", order).replace("LOOKS", looks)
    path = folder / "protocol.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def trial_file(folder: Path, sessions: int = 6) -> Path:
    """The example trial under the protocol of this folder, with its first sessions only."""
    text = (EXAMPLE / "trial.yaml").read_text(encoding="utf-8")
    text = text.replace("protocol: two-way-sweep", "protocol: protocol.yaml")
    lines = (EXAMPLE / "runs.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    kept = {f"S{number}" for number in range(1, sessions + 1)}
    runs = [lines[0], *(line for line in lines[1:] if line.split(",")[0] in kept)]
    (folder / "runs.csv").write_text("".join(runs), encoding="utf-8")
    path = folder / "trial.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_declared_end_is_final(tmp_path: Path) -> None:
    protocol_file(tmp_path, 3)
    result = analyse(trial_file(tmp_path))
    assert result.comparisons["final"].all()
    assert not [each for each in result.findings if "look" in each.rule]
    assert "not final" not in str(result)


def test_an_undeclared_look_is_not_called_final(tmp_path: Path) -> None:
    protocol_file(tmp_path, 4)
    result = analyse(trial_file(tmp_path))
    assert not result.comparisons["final"].any()
    found = [each for each in result.findings if each.rule == "undeclared-look"]
    assert len(found) == 1
    assert "3 of 4 sessions" in found[0].message
    assert "so far, and not final: gain" in str(result).replace("\n", " ")
    speed = result.comparisons.query("quantity == 'speed' and verdict != 'untestable'")
    assert speed["reason"].str.contains("declares no look here").all()


def test_more_sessions_than_declared_is_no_declared_end(tmp_path: Path) -> None:
    protocol_file(tmp_path, 2)
    result = analyse(trial_file(tmp_path))
    assert not result.comparisons["final"].any()
    assert any("declares 2" in each.message for each in result.findings)


def test_a_declared_look_is_final_where_it_passes_its_boundary(tmp_path: Path) -> None:
    protocol_file(tmp_path, 5, "looks: {at_sessions: [3, 5], boundary: pocock}")
    result = analyse(trial_file(tmp_path))
    rows = result.comparisons
    established = rows["verdict"].isin(["gain", "loss", "higher", "lower"])
    assert established.any()
    assert not established.all()
    assert (rows["final"] == established).all()
    assert any(each.rule == "declared-look" for each in result.findings)


def test_a_look_asks_more_than_the_end_does(tmp_path: Path) -> None:
    protocol_file(tmp_path, 3)
    plain = analyse(trial_file(tmp_path)).comparisons
    floors = {}
    for boundary in ("pocock", "obrien_fleming"):
        protocol_file(tmp_path, 6, f"looks: {{at_sessions: [3, 6], boundary: {boundary}}}")
        looked = analyse(trial_file(tmp_path)).comparisons
        floors[boundary] = looked["noise_floor"]
        assert (looked["confidence"] == 0.95).all()
    assert (floors["pocock"] > plain["noise_floor"]).all()
    assert (floors["obrien_fleming"] > floors["pocock"]).all()


def test_between_two_looks_the_earlier_boundary_holds(tmp_path: Path) -> None:
    protocol = load_protocol(protocol_file(tmp_path, 6, "looks: {at_sessions: [2, 6]}"))
    at = {n: look_at(protocol, "A" * n + "B" * n, "AB") for n in (1, 2, 4, 6)}
    assert at[4] == Look(sessions=4, planned=6, number=0, of=2)
    held = {n: confidence_at(protocol, look, 0.95, 8) for n, look in at.items()}
    assert held[1] == held[2] == held[4] > held[6] > 0.95


def test_without_looks_the_confidence_is_the_declared_one(tmp_path: Path) -> None:
    protocol = load_protocol(protocol_file(tmp_path, 3))
    assert confidence_at(protocol, look_at(protocol, "AB", "AB"), 0.9, 8) == 0.9


@pytest.mark.parametrize(
    ("looks", "told"),
    [
        ("[2, 5]", "the last look is at 5 sessions, but the trial ends at 4"),
        ("[3, 2, 4]", "a look at 2 sessions after one at 3"),
        ("[2, 2, 4]", "a look at 2 sessions after one at 2"),
        ("[0, 4]", "at_sessions"),
        ("[]", "an empty list"),
    ],
)
def test_looks_that_cannot_be(tmp_path: Path, looks: str, told: str) -> None:
    path = protocol_file(tmp_path, 4, f"looks: {{at_sessions: {looks}}}")
    with pytest.raises(InputError) as caught:
        load_protocol(path)
    text = str(caught.value)
    assert told in text
    assert "protocol.yaml:6:" in text


def test_a_configuration_not_yet_run_is_no_fault_of_the_program(tmp_path: Path) -> None:
    protocol_file(tmp_path, 3)
    result = analyse(trial_file(tmp_path, sessions=1))
    assert set(result.comparisons["verdict"]) == {"untestable"}
    assert not result.comparisons["final"].any()
    assert any("0 of 3 sessions" in each.message for each in result.findings)
