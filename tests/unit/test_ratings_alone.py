"""A trial of ratings alone, without a table of runs, through the commands."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from slackwater.analysis import analyse
from slackwater.analysis.cli import main

EXAMPLE = Path(__file__).parents[2] / "examples" / "ride-felt-blind"
RUNS = "runs: runs.csv\n"


def alone(folder: Path, words: str = "") -> Path:
    """The example without its runs, its trial's line that names them put in other words."""
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("runs.csv"))
    path = folder / "trial.yaml"
    text = path.read_text(encoding="utf-8")
    assert RUNS in text
    path.write_text(text.replace(RUNS, words), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return alone(tmp_path_factory.mktemp("alone") / "trial")


def run(*arguments: str, capsys: pytest.CaptureFixture[str], code: int = 0) -> str:
    found = main([*arguments])
    told = capsys.readouterr()
    assert found == code, told
    return " ".join((told.out + told.err).split())


def scored(result: object) -> list[dict[str, object]]:
    return [
        row
        for row in result.to_dict()["comparisons"]  # type: ignore[attr-defined]
        if row["quantity"] in ("ride", "steering_effort", "noise_felt")
    ]


def test_verdicts_on_scores_are_those_beside_runs(trial: Path) -> None:
    result = analyse(trial)
    assert scored(result) == scored(analyse(EXAMPLE / "trial.yaml"))
    assert result.runs.read == 0
    assert {row.quantity for row in result.compared} == {"ride", "steering_effort", "noise_felt"}
    assert {each.role for each in result.inputs} == {"trial", "protocol", "ratings"}
    assert result.method[0].endswith("from its ratings alone.")


def test_that_there_are_no_runs_is_said(trial: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in (("analyse", "--full"), ("check",), ("statement",)):
        told = run(command[0], str(trial), *command[1:], capsys=capsys, code=command[0] == "check")
        assert "its ratings are told alone, without the speed" in told
        assert "0 runs" not in told
    page = analyse(trial).to_html()
    assert '<section id="ratings">' in page
    assert "No runs." in page


def test_noise_of_scores_plans_the_next(trial: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    noise = tmp_path / "noise.yaml"
    told = run("noise", str(trial), capsys=capsys)
    assert "with sessions in the place of laboratories and raters in that of replicates" in told
    run("noise", str(trial), "--format", "yaml", "--output", str(noise), capsys=capsys)
    plan = json.loads(run("plan", "blind-rating", "--noise", str(noise), "--effect", "1.5 points", "--format", "json", capsys=capsys))  # fmt: skip
    assert (plan["quantity"], plan["repeats"]) == ("ride", "raters")
    assert 0.2 < plan["power"] < 1.0


def test_a_claim_is_held_against_scores(trial: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    claims = tmp_path / "claims.yaml"
    claims.write_text(
        f'trial: {trial}\nclaims:\n  - {{id: C1, quantity: ride, baseline: "off", modified: "on", '
        "stated: {difference: 4 points}}\n",
        encoding="utf-8",
    )
    found = json.loads(run("audit", str(claims), "--format", "json", capsys=capsys, code=1))
    assert found["claims"][0]["verdict"] == "overstated"


def test_a_rehearsal_and_a_sheet_go_without_runs_as_well(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    folder = tmp_path / "practice"
    run("rehearse", "blind-rating", "--output", str(folder), capsys=capsys)
    (folder / "runs.csv").unlink()
    path = folder / "trial.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace(RUNS, ""), encoding="utf-8")
    assert "Ride" in run("analyse", str(path), capsys=capsys)
    assert "Scored by 5 raters after every session, each alone, who are not told" in run("sheet", str(path), capsys=capsys)  # fmt: skip


def test_tries_and_ratings_stand_together(tmp_path: Path) -> None:
    from invented_tries import PROTOCOL, lay

    items = "ratings:\n  raters: 2\n  items:\n    ride: {points: 7, anchors: {1: hard, 7: soft}, better: more}\n"
    path = lay(tmp_path, trial=lambda text: text.replace("manoeuvres: tries.csv", "manoeuvres: tries.csv\nratings: ratings.csv"))  # fmt: skip
    (path.parent / "protocol.yaml").write_text(PROTOCOL + items, encoding="utf-8")
    rows = [f"S{s},ride,{rater},{2 + s % 3 + (rater == 'R2')}" for s in range(1, 7) for rater in ("R1", "R2")]  # fmt: skip
    (path.parent / "ratings.csv").write_text("session,item,rater,score\n" + "\n".join(rows), encoding="utf-8")  # fmt: skip
    result = analyse(path)
    assert {"ride", "time_to_plane"} <= {row.quantity for row in result.compared}
    told = next(each for each in result.findings if each.rule == "manoeuvres-alone")
    assert "its manoeuvres and ratings are told alone" in told.message


def test_a_session_without_runs_keeps_its_scores(tmp_path: Path) -> None:
    """One run more says nothing less: scores count with runs, without any, and with some."""
    folder = tmp_path / "some"
    shutil.copytree(EXAMPLE, folder)
    runs = (folder / "runs.csv").read_text(encoding="utf-8").splitlines()
    kept = [line for line in runs if not line.startswith("F8,")]
    assert len(kept) < len(runs)
    (folder / "runs.csv").write_text("\n".join(kept) + "\n", encoding="utf-8")
    result = analyse(folder / "trial.yaml")
    told = next(each for each in result.findings if each.rule == "ratings-without-runs")
    assert "15 ratings of F8" in told.message
    assert scored(result) == scored(analyse(EXAMPLE / "trial.yaml"))


@pytest.mark.parametrize(
    ("words", "gone", "rule"),
    [
        (RUNS, "", "file-unreadable"),  # runs that are named and not there
        ("logs: [day.log]\n", "", "log-not-readable"),
        ("", "ratings.csv", "file-unreadable"),
    ],
)
def test_what_is_named_has_to_be_there(tmp_path: Path, words: str, gone: str, rule: str, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    path = alone(tmp_path / "trial", words)
    if gone:
        (path.parent / gone).unlink()
    for command in ("analyse", "noise", "statement"):
        assert f"[{rule}]" in run(command, str(path), capsys=capsys, code=2)
    assert "no-runs-yet" in run("check", str(path), capsys=capsys)


def test_scores_that_are_all_set_aside_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    path = alone(tmp_path / "trial")
    table = path.parent / "ratings.csv"
    head, *rows = table.read_text(encoding="utf-8").splitlines()
    rows = [f"{row},seasick" for row in rows]
    table.write_text("\n".join([f"{head},set_aside", *rows]) + "\n", encoding="utf-8")
    told = run("analyse", str(path), capsys=capsys)
    assert "there is no verdict" in told
    assert "all 120 rows are set aside, so that no rating counts [no-ratings]" in told
    assert "[unknown-quantity]" in run("noise", str(path), capsys=capsys, code=2)
