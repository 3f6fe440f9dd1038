"""Trials whose set points are speeds: these are the speeds compared at, and no others are asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

from slackwater.analysis import analyse
from slackwater.analysis.report.trial.blocks import blocks
from slackwater.analysis.report.trial.bottom_line import bottom_line
from slackwater.analysis.result.result import Result

SPEEDS = (6.0, 8.0, 10.0, 12.0)


def lay(folder: Path, analysis: str) -> Path:
    """An invented trial at four speeds by log; the second configuration burns a tenth less."""
    rows = [
        (
            "session,set_point [kn],double_run,direction,start,duration [s],"
            "speed_over_ground [kn],speed_through_water [kn],fuel_flow [L/h]"
        )
    ]
    for s, letter in enumerate("ABBA", 1):
        clock = 0
        for speed in SPEEDS:
            for number in (1, 2):
                for way in ("out", "back"):
                    along = 0.4 if way == "out" else -0.4
                    hair = 1 + 0.001 * ((7 * clock + 3 * s) % 5 - 2)
                    flow = 0.2 * speed**2.2 * (0.9 if letter == "B" else 1.0) * hair
                    rows.append(
                        f"S{s},{speed:g},{number},{way},2026-05-0{s}T{9 + clock // 60:02d}:"
                        f"{clock % 60:02d}:00,60,{speed + along:.2f},{speed:.2f},{flow:.3f}"
                    )
                    clock += 3
    (folder / "runs.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    path = folder / "trial.yaml"
    path.write_text(
        f"""trial: held-speed
protocol:
  protocol: held-speed
  runs:
    set_points: {{of: speed_through_water, values: [{", ".join(f"{v:g} kn" for v in SPEEDS)}]}}
    double_runs: 2
  sessions: {{order: ABBA}}
  measures:
    speed_over_ground: {{unit: kn, shared: true}}
    speed_through_water: {{unit: kn, shared: true}}
    fuel_flow: {{unit: L/h, shared: true}}
  analysis: {analysis}
boat: {{fuel_capacity: 700 L, fuel_reserve: 10 %}}
configurations: {{old: {{propeller: old}}, new: {{propeller: new}}}}
sessions:
  - {{id: S1, configuration: old}}
  - {{id: S2, configuration: new}}
  - {{id: S3, configuration: new}}
  - {{id: S4, configuration: old}}
runs: runs.csv
""",
        encoding="utf-8",
    )
    return path


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Result:
    folder = tmp_path_factory.mktemp("held")
    return analyse(lay(folder, "{decides: economy, worthwhile: {economy: 3 %}}"))


def test_every_figure_is_compared_at_the_set_points_and_once(result: Result) -> None:
    for block in blocks(result):
        if not block.is_figure:
            assert [row.position for row in block.rows] == list(SPEEDS), block.title
    assert "gain at all 4 speeds" in bottom_line(result).found[0].lower()


def test_no_top_speed_of_a_speed_that_was_held(result: Result) -> None:
    told = {row.quantity for row in result.compared}
    assert "top_speed" not in told
    assert {"economy", "fuel_flow", "range"} <= told


def test_at_held_speeds_all_is_fair_whatever_the_propeller(
    result: Result,
) -> None:
    words = {row.quantity: str(row.verdict) for row in result.compared}
    assert words["economy"] == words["fuel_flow"] == "gain"
    assert not any("asks different things" in remark for remark in result.remarks)
