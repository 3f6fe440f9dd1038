"""What is expected at the set points, and the names of the order's letters: checked, carried over, used."""

from __future__ import annotations

from pathlib import Path

import pytest

from slackwater.analysis.cli import main
from slackwater.analysis.planning.effort import effort_of
from slackwater.analysis.planning.power import Design
from slackwater.analysis.planning.question import question_of
from slackwater.analysis.planning.wanted import Wanted
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.findings import InputError

ASKED = ["--set-points", "1200 rpm, 1800 rpm", "--speeds", "8 kn, 14 kn"]


def _new(folder: Path, *words: str) -> Path:
    path = folder / "p.yaml"
    assert main(["new", "protocol", *words, "--output", str(path)]) == 0
    return path


def test_expected_values_are_asked_for_and_read(tmp_path: Path) -> None:
    protocol = load_protocol(_new(tmp_path, *ASKED, "--fuel-flows", "200 cm^3/min, 30 L/h"))
    assert protocol.expected_values("speed", "kn") == (8.0, 14.0)
    assert protocol.expected_values("speed_over_ground", "kn") == (8.0, 14.0)
    assert protocol.expected_values("fuel_flow", "L/h") == pytest.approx((12.0, 30.0))
    assert protocol.expected_values("shaft_power", "kW") is None


def test_a_speed_that_is_held_is_expected_as_it_is_held() -> None:
    protocol = load_protocol("fuel-economy-fixed-speeds")
    assert protocol.expected_values("speed", "kn") == protocol.set_point_values


def test_a_plan_counts_distance_and_fuel_by_them(tmp_path: Path) -> None:
    protocol = load_protocol(_new(tmp_path, *ASKED, "--fuel-flows", "12 L/h, 30 L/h"))
    question = question_of(protocol, Wanted())
    assert question.effort.speeds == (8.0, 14.0)
    assert question.effort.flows == (12.0, 30.0)
    assert question_of(protocol, Wanted(speed="9 kn")).effort.speeds == (9.0, 9.0)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("expected: {speed: [8 kn, 9 kn]}", "2 values of speed are expected at 3 set points"),
        ("expected: {speed: [8 kn, 9 kn, 9 L/h]}", "a speed"),
        ("expected: {speed: [8 kn, 9 kn, 0 kn]}", "not above zero"),
        ("expected: {sped: [8 kn, 9 kn, 10 kn]}", "did you mean 'speed'?"),
        ("expected: {shaft_power: [8 kW, 9 kW, 10 kW]}", "known here: speed, speed_over_ground"),
    ],
)
def test_what_does_not_fit_is_told(tmp_path: Path, text: str, said: str) -> None:
    path = _new(tmp_path)
    path.write_text(path.read_text("utf-8") + text + "\n", encoding="utf-8")
    with pytest.raises(InputError, match=said.replace("?", r"\?")):
        load_protocol(path)


def test_names_of_the_letters_go_from_protocol_to_trial(tmp_path: Path) -> None:
    path = _new(tmp_path, "--configurations", "old-prop,new-prop")
    assert load_protocol(path).sessions.fitted == {"A": "old-prop", "B": "new-prop"}
    target = tmp_path / "t.yaml"
    assert main(["new", "trial", "--from", str(path), "--output", str(target)]) == 0
    assert list(load_trial(target).configurations) == ["old-prop", "new-prop"]


@pytest.mark.parametrize(
    ("fitted", "said"),
    [
        ("{A: old, C: new}", "has no C"),
        ("{A: old}", "no name is given for it"),
        ("{A: old, B: old}", "is the name of A already"),
        ("{A: old, b: new}", "a capital letter"),
    ],
)
def test_letters_that_do_not_fit(tmp_path: Path, fitted: str, said: str) -> None:
    path = _new(tmp_path)
    text = path.read_text("utf-8").replace("  block: none", f"  fitted: {fitted}\n  block: none")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said):
        load_protocol(path)


def test_a_change_made_afloat_takes_no_outing_of_its_own() -> None:
    effort = effort_of(load_protocol("change-made-afloat"))
    assert effort.change == 300.0
    # 16 sessions of 8 runs of 140 s, and 5 min each for the change, fit into a day of 8 h; of 16
    # runs each, ten do.
    assert [effort.outings(Design(8, double_runs)) for double_runs in (2, 4)] == [1, 2]
    assert effort.changes(Design(8, 4)) == 15
    assert effort.hours(Design(8, 4)) == pytest.approx(16 * 16 * 140 / 3600 + 2 * 0.5)
