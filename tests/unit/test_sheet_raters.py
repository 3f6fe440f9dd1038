"""The raters' page: nothing on it says what is fitted, and what it hands back goes into the table of ratings."""

from __future__ import annotations

import csv
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from test_sheet_merge import entry, hand_in, table

from slackwater.analysis import analyse
from slackwater.analysis.cli import main

Capture = pytest.CaptureFixture[str]
EXAMPLE = Path(__file__).parents[2] / "examples" / "ride-felt-blind"
KEYS = ("session", "item", "rater", "score", "guess", "set_aside", "note")


@pytest.fixture
def trial(tmp_path: Path) -> Path:
    """The example without its ratings, its configurations under names that are no words."""
    text = (EXAMPLE / "trial.yaml").read_text("utf-8")
    text = text.replace("configuration: off", "configuration: zab")
    text = text.replace("configuration: on", "configuration: qox")
    text = text.replace("off: {title: Ride control off}", "zab: {title: Zabbed}")
    text = text.replace("on: {title: Ride control on}", "qox: {title: Qoxed}")
    folder = tmp_path / "trial"
    folder.mkdir()
    shutil.copy(EXAMPLE / "runs.csv", folder)
    path = folder / "trial.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def page(trial: Path, *words: str) -> str:
    target = trial.parent / "raters.html"
    command = ["sheet", str(trial), "--for", "raters", "--output", str(target), *words]
    assert main(command) == 0
    return target.read_text("utf-8")


def data_of(text: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="sheet">(.*?)</script>', text)
    assert found is not None
    data: dict[str, Any] = json.loads(found[1])
    return data


def test_nothing_in_the_file_says_what_a_session_has_fitted(trial: Path) -> None:
    """Not in its data either: the names stand among the guesses alone, in an order of their own."""
    text = page(trial)
    data = data_of(text)
    assert data["ratings"].pop("guess") == [["qox", "Qoxed"], ["zab", "Zabbed"]]
    for name in ("zab", "qox"):
        assert name not in json.dumps(data).casefold()
        assert len(re.findall(name, text, re.IGNORECASE)) == 2  # name and title of a guess
    assert all(set(each) == {"id", "day", "runs"} for each in data["sessions"])
    assert (data["order"], data["legend"], data["seed"]) == ("", [], 0)
    assert data["title"] == "Launch (invented)"  # that of the trial may name the change


def test_the_same_file_whichever_way_round_the_boat_was_fitted(trial: Path) -> None:
    """Every session with the other configuration: the page is the same, byte for byte."""
    first = page(trial, "--seed", "7")
    text = trial.read_text("utf-8").replace("configuration: zab", "configuration: tmp")
    text = text.replace("configuration: qox", "configuration: zab")
    text = text.replace("configuration: tmp", "configuration: qox")
    trial.write_text(text, encoding="utf-8")
    (trial.parent / "raters.html").unlink()
    assert page(trial, "--seed", "7") == first


def test_without_guesses_no_name_is_there_at_all(trial: Path) -> None:
    protocol = Path(__file__).parents[2] / "protocols" / "blind-rating.yaml"
    text = re.sub(r"\n  guess: true.*", "\n  guess: false", protocol.read_text("utf-8"))
    (trial.parent / "mine.yaml").write_text(text, encoding="utf-8")
    own = trial.read_text("utf-8").replace("protocol: blind-rating", "protocol: mine.yaml")
    trial.write_text(own, encoding="utf-8")
    found = page(trial)
    assert not re.search("zab|qox", found, re.IGNORECASE)
    assert "guess" not in [key for key, _ in data_of(found)["ratings"]["head"]]


def test_a_session_that_names_what_it_has_fitted_is_told(trial: Path, capsys: Capture) -> None:
    text = trial.read_text("utf-8").replace("id: F2,", "id: qox-1,")
    trial.write_text(text, encoding="utf-8")
    page(trial)
    assert "the id of session 'qox-1' names a configuration" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["tabs-off-the-mark", "--for", "raters"], "asks nobody to score"),
        (["ride-felt-blind", "--for", "raters", "--format", "csv"], "is a page, not csv"),
        (["ride-felt-blind", "--rows", "ratings", "--format", "csv"], "goes with --merge"),
    ],
)
def test_what_does_not_go_together(words: list[str], said: str, capsys: Capture) -> None:
    name, *options = words
    assert main(["sheet", str(EXAMPLE.parent / name / "trial.yaml"), *options]) == 2
    assert said in capsys.readouterr().err


def test_the_crews_page_points_to_the_raters(trial: Path, capsys: Capture) -> None:
    out = str(trial.parent / "aboard.html")
    assert main(["sheet", str(trial), "--for", "tablet", "--output", out]) == 0
    assert "--for raters" in capsys.readouterr().err
    assert data_of(Path(out).read_text("utf-8"))["then_scored"]


# --- what is handed back ---------------------------------------------------------------------------


def aboard(device: str, ratings: list[dict[str, str]], **more: Any) -> dict[str, Any]:
    return {
        "schema": 1, "tool": {"name": "slackwater", "version": "0"}, "kind": "aboard",
        "sheet": "0123456789abcdef", "trial": "ride-felt-blind",
        "protocol": {"id": "blind-rating", "version": "1.0"}, "rehearsal": False, "device": device,
        "written": "2026-05-04T12:00:00.000Z", "head": {}, "rows": [],
        "ratings": {"head": {key: key for key in KEYS}, "rows": ratings}, "sessions": [],
        "journal": [entry(1, "device", device, "")], **more,
    }  # fmt: skip


def merge(trial: Path, *handed: dict[str, Any], more: tuple[str, ...] = ()) -> int:
    files = hand_in(trial.parent, *handed)
    return main(["sheet", "--merge", *files, "--trial", str(trial), *more])


@pytest.fixture
def example(tmp_path: Path) -> Path:
    folder = tmp_path / "example"
    folder.mkdir()
    for name in ("trial.yaml", "runs.csv"):
        shutil.copy(EXAMPLE / name, folder)
    return folder / "trial.yaml"


def test_devices_of_the_raters_make_the_table_that_analyse_reads(example: Path) -> None:
    """A device a rater, in any order; the table of the example comes back row for row."""
    with (EXAMPLE / "ratings.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    names = sorted({row["rater"] for row in rows})
    devices = [
        aboard(f"a{place}", [{**row, "set_aside": ""} for row in rows if row["rater"] == name])
        for place, name in enumerate(names)
    ]
    texts = []
    for order in (devices, devices[::-1]):
        (example.parent / "ratings.csv").unlink(missing_ok=True)
        assert merge(example, *order) == 0
        texts.append((example.parent / "ratings.csv").read_text("utf-8"))
    assert texts[0] == texts[1]
    merged = table(example.parent / "ratings.csv")
    assert sorted(str([row[key] for key in rows[0]]) for row in merged) == sorted(
        str(list(row.values())) for row in rows
    )
    got, wanted = analyse(example), analyse(EXAMPLE / "trial.yaml")
    assert [(r.quantity, r.verdict) for r in got.compared] == [
        (r.quantity, r.verdict) for r in wanted.compared
    ]


def score(rater: str, points: str, **more: str) -> dict[str, str]:
    named = {"session": "F1", "item": "ride", "rater": rater, "score": points}
    return {**dict.fromkeys(KEYS, ""), **named, **more}


def test_one_rater_with_two_scores_is_a_conflict(example: Path, capsys: Capture) -> None:
    first, other = aboard("aa", [score("R1", "3")]), aboard("bb", [score("R1", "4")])
    assert merge(example, first, other) == 2
    assert "F1, R1 on ride: score is '3' in device aa and '4' from" in capsys.readouterr().err
    assert not (example.parent / "ratings.csv").exists()
    assert merge(example, first, aboard("cc", [score("R2", "4", guess="on")])) == 0
    assert "F1: 2 ratings added" in capsys.readouterr().out


def test_a_rehearsal_is_refused_whole_and_row_by_row(example: Path, capsys: Capture) -> None:
    text = example.read_text("utf-8").replace("invented: true\n", "")
    example.write_text(text, encoding="utf-8")
    rows = [score("R1", "3", note="INVENTED"), score("R2", "4", note="INVENTED. calm")]
    assert merge(example, aboard("aa", rows, rehearsal=True)) == 2
    assert "row-invented" in capsys.readouterr().err
    lines = [",".join(KEYS), *(",".join(row[key] for key in KEYS) for row in rows)]
    (example.parent / "ratings.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert main(["analyse", str(example)]) == 2
    assert capsys.readouterr().err.count("row-invented") >= 1
