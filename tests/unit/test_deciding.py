"""The figure that a protocol declares to decide."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from slackwater.analysis import analyse
from slackwater.protocol.declared.deciding import decides, plain_figure, quantity_of
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.findings import InputError

PROTOCOL = """
trial: invented
protocol:
  protocol: own
  runs: {set_points: {of: engine_speed, values: [1000 rpm, 1500 rpm, 2000 rpm, 2500 rpm]}}
  measures: {speed_over_ground: {unit: kn, shared: true}, fuel_flow: {unit: L/h, shared: true}}
  sessions: {order: ABBAAB}
  analysis: {%s}
configurations: {bare: {}, fitted: {}}
sessions:
%s
runs: runs.csv
"""


def trial(tmp_path: Path, analysis: str) -> Path:
    lines = [
        "session,set_point [rpm],double_run,direction,speed_over_ground [kn],fuel_flow [L/h]",
    ]
    sessions = []
    for s, letter in enumerate("ABBAAB", start=1):
        name = {"A": "bare", "B": "fitted"}[letter]
        sessions.append(f"  - {{id: S{s}, configuration: {name}}}")
        for rpm in (1000, 1500, 2000, 2500):
            speed = rpm / 125 * (1 + 0.003 * ((s * 7 + rpm // 500) % 5 - 2))
            flow = (rpm / 500) ** 3 * (1.0 if letter == "A" else 0.9)
            flow *= 1 + 0.004 * ((s * 3 + rpm // 500) % 5 - 2)
            for way, current in (("out", 0.5), ("back", -0.5)):
                lines.append(f"S{s},{rpm},1,{way},{speed + current:.3f},{flow:.4f}")
    (tmp_path / "runs.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    path = tmp_path / "trial.yaml"
    path.write_text(PROTOCOL % (analysis, "\n".join(sessions)), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("text", "plain", "quantity"),
    [
        ("economy at equal speed", "economy at equal speed", "economy"),
        ("fuel flow at equal speed", "fuel_flow at equal speed", "fuel_flow"),
        ("fuel_flow", "fuel_flow", "fuel_flow"),
        ("top speed", "top_speed", "top_speed"),
    ],
)
def test_names(text: str, plain: str, quantity: str) -> None:
    assert plain_figure(text) == plain
    assert quantity_of(text) == quantity


def test_a_figure_of_the_whole_sweep_is_known_by_its_quantity() -> None:
    assert decides("top speed", "top_speed by top speed", "top_speed", "whole sweep")
    assert not decides("economy", "economy at equal speed", "economy", "equal speed")
    assert not decides(None, "economy", "economy", "set points")


def test_it_leads_and_keeps_its_own_error(tmp_path: Path) -> None:
    text = "decides: fuel flow at equal speed, family: all"
    result = analyse(trial(tmp_path, text))
    rows = [row for row in result.compared if row.deciding]
    assert {(row.quantity, row.confidence) for row in rows} == {("fuel_flow", 0.95)}
    others = [row for row in result.compared if not row.deciding]
    assert all(row.deciding is False and row.confidence > 0.95 for row in others)
    assert result.deciding is not None
    assert result.deciding.told
    assert result.deciding.error == pytest.approx(0.05)
    assert 0 < result.deciding.further_error <= 0.05
    shown = str(result)
    assert "fuel flow at equal speed (declared to decide): " in shown
    first = shown.index("fuel flow at equal speed")
    assert first < shown.index("  speed: ")
    assert result.to_dict()["deciding"]["figure"] == "fuel flow at equal speed"


def test_further_figures_state_what_they_may_be_wrong_in(tmp_path: Path) -> None:
    result = analyse(trial(tmp_path, "decides: speed"))
    assert result.deciding is not None
    found = result.deciding
    assert found.further > 3
    assert found.further_error == pytest.approx(min(0.05 * found.further, 1.0))
    for shown in (str(result), result.to_html()):
        words = " ".join(shown.replace("\xa0", " ").split())
        assert re.search(rf"name a false difference in one of {found.further}\b", words)


def test_without_one_nothing_is_said(tmp_path: Path) -> None:
    result = analyse(trial(tmp_path, "confidence: 95 %"))
    assert result.deciding is None
    assert {row.deciding for row in result.compared} == {None}
    assert "declared to decide" not in str(result)


def test_one_that_the_trial_does_not_give_is_a_finding(tmp_path: Path) -> None:
    result = analyse(trial(tmp_path, "decides: slip"))
    assert "deciding-figure-missing" in {each.rule for each in result.findings}
    assert result.deciding is not None
    assert not result.deciding.told


def test_a_misspelt_one_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError) as error:
        analyse(trial(tmp_path, "decides: ekonomy"))
    assert "ekonomy" in str(error.value.findings[0].message)
    with pytest.raises(InputError) as error:
        analyse(trial(tmp_path, "decides: economy at equal sped"))
    assert error.value.findings[0].fix == "did you mean 'economy at equal speed'?"


@pytest.mark.parametrize(
    "name",
    [
        "change-made-afloat",
        "fuel-economy-fixed-speeds",
        "hull-coating-before-after",
        "one-day-abba",
        "speed-trial-double-runs",
        "two-way-sweep",
    ],
)
def test_protocols_shipped_declare_one(name: str) -> None:
    assert load_protocol(name).analysis.decides
