"""Two engines with a column each in the run table, cut from what their instruments wrote."""

from __future__ import annotations

import csv
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from invented_log import LEG, MORNINGS, PLAN, TRIAL, write_trial

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.logs.engines import engines_in_order
from slackwater.protocol.findings import InputError

PORT, STARBOARD = 10.0, 12.0  # [L/h]
COLUMNS = "columns: {fuel_flow: [Port, Stbd]}\n"
TWO = TRIAL.replace(
    "unit: rpm, shared: true}}", "unit: rpm, shared: true}, fuel_flow: {unit: L/h, combine: sum}}"
)
SECONDS = LEG * len(PLAN)


def bus(begins: str, engines: tuple[tuple[int, float], ...]) -> str:
    """Messages 127489 of each engine, one a second, as joined lines: of all fields the fuel rate alone."""
    lines = []
    for second in range(SECONDS):
        stamp = (datetime.fromisoformat(begins) + timedelta(seconds=second)).isoformat()
        for number, flow in engines:
            body = bytes([number, *[255] * 8, *round(flow * 10).to_bytes(2, "little"), *[255] * 15])
            lines.append(f"{stamp}.000Z,2,127489,3,255,26,{body.hex(',')}\n")
    return "".join(lines)


def table(begins: str) -> str:
    """The same as a logger's table, starboard first."""
    moments = (datetime.fromisoformat(begins) + timedelta(seconds=s) for s in range(SECONDS))
    rows = "".join(f"{moment.isoformat()}Z,{STARBOARD},{PORT}\n" for moment in moments)
    return f"time,Stbd [L/h],Port [L/h]\n{rows}"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    write_trial(tmp_path)
    return tmp_path


def lay(folder: Path, texts: list[str], more: str = COLUMNS) -> None:
    for number, text in enumerate(texts):
        (folder / f"fuel{number}.log").write_text(text, encoding="ascii")
    logs = "logs: [day1.log, day2.log, fuel0.log, fuel1.log]\n"
    (folder / "trial.yaml").write_text(TWO + logs + more, encoding="utf-8")


BOTH = ((1, STARBOARD), (0, PORT))


@pytest.mark.parametrize("form", ["bus", "table"])
def test_each_engine_has_its_column_and_the_analysis_their_sum(folder: Path, form: str) -> None:
    lay(folder, [bus(m, BOTH) if form == "bus" else table(m) for m in MORNINGS])
    assert main(["logs", "--trial", "trial.yaml", "--output", "runs.csv"]) == 0
    rows = list(csv.DictReader((folder / "runs.csv").open(encoding="utf-8")))
    assert {(row["Port [L/h]"], row["Stbd [L/h]"]) for row in rows} == {("10", "12")}
    assert burnt() == pytest.approx([22.0, 22.0])
    text = (folder / "trial.yaml").read_text().replace("logs: [", "runs: runs.csv #")
    (folder / "trial.yaml").write_text(text)
    assert burnt() == pytest.approx([22.0, 22.0])


def burnt() -> list[float]:
    """What the trial says of the baseline's fuel flow at the two set points. [L/h]"""
    table = slackwater.analyse("trial.yaml").comparisons
    at_points = (table["quantity"] == "fuel_flow") & table["at"].str.endswith("rpm")
    return list(table[at_points]["baseline_mean"])


def test_as_many_sources_as_columns_are_asked_for(folder: Path) -> None:
    lay(folder, [bus(m, BOTH[:1]) for m in MORNINGS])
    with pytest.raises(
        InputError, match="the 2 columns Port, Stbd, and the logs have 1 source of it"
    ) as caught:
        slackwater.analyse("trial.yaml")
    assert "sources: {fuel_flow: [source of Port, source of Stbd]}" in caught.value.findings[0].fix


def test_sources_named_in_the_trial_are_in_its_order(folder: Path) -> None:
    three = (*BOTH, (2, 50.0))
    named = "cut: {sources: {fuel_flow: ['127489 from 3 no. 1', '127489 from 3 no. 0']}}\n"
    lay(folder, [bus(m, three) for m in MORNINGS], COLUMNS)
    with pytest.raises(InputError, match="the logs have 3 sources of it"):
        slackwater.cut("trial.yaml")
    lay(folder, [bus(m, three) for m in MORNINGS], COLUMNS + named)
    made = slackwater.cut("trial.yaml").table
    assert set(zip(made["Port [L/h]"], made["Stbd [L/h]"], strict=True)) == {("12", "10")}


def test_one_of_two_engines_is_not_taken_for_both_in_silence(folder: Path) -> None:
    lay(folder, [bus(m, BOTH) for m in MORNINGS], "")
    result = slackwater.cut("trial.yaml")
    assert set(result.table["fuel_flow [L/h]"]) == {"10"}
    assert any("fuel flow is that of '127489 from 3 no. 0' alone" in note for note in result.notes)


def test_several_columns_of_what_no_engine_reads(folder: Path) -> None:
    lay(folder, [bus(m, BOTH) for m in MORNINGS], "columns: {start: [from, begin]}\n")
    with pytest.raises(InputError, match="several columns"):
        slackwater.cut("trial.yaml").to_csv()


@pytest.mark.parametrize(
    ("sources", "columns", "order"),
    [
        (["b no. 10", "a no. 2"], ["x", "y"], ["a no. 2", "b no. 10"]),
        (["Stbd [L/h]", "Port [L/h]"], ["Port", "Stbd"], ["Port [L/h]", "Stbd [L/h]"]),
        (["II RPM 2", "II RPM 1"], ["x", "y"], ["II RPM 1", "II RPM 2"]),
    ],
)  # fmt: skip
def test_order(sources: list[str], columns: list[str], order: list[str]) -> None:
    assert engines_in_order("fuel_flow", sources, columns) == order
