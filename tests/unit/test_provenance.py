"""Where the rows of a run table come from: found beside it, shown, and held against table, logs and protocol."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from invented_log import write_trial

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.report.logs import provenance_words
from slackwater.analysis.steady.trial_runs import runs_of
from slackwater.protocol.declared.trial import load_trial


@pytest.fixture(scope="module")
def cut(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A trial with its logs, and the table and provenance that the command wrote of them."""
    folder = tmp_path_factory.mktemp("cut")
    trial = write_trial(folder, "runs: runs.csv")
    result = slackwater.cut(trial, folder / "day1.log", folder / "day2.log")
    (folder / "runs.csv").write_text(result.to_csv(), encoding="utf-8")
    from_here = result.to_json().replace(
        f"{folder}/", ""
    )  # as the command writes it that is given there
    (folder / "runs.provenance.json").write_text(from_here, encoding="utf-8")
    return folder


@pytest.fixture
def folder(cut: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for file in cut.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def told(folder: Path) -> dict[str, str]:
    """What is found in the table and beside it, by id."""
    found = runs_of(load_trial(folder / "trial.yaml")).findings
    return {each.rule: f"{each.place}: {each.severity.value}: {each.message}" for each in found}


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


class TestShown:
    def test_in_text_short_and_full(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["analyse", "trial.yaml"]) == 0
        short = " ".join(capsys.readouterr().out.split())
        assert "Runs cut from logs 8 runs were cut from day1.log and day2.log." in short
        assert "Every planned run was found." in short
        assert "speed over ground from GP RMC" in short
        assert main(["analyse", "trial.yaml", "--full"]) == 0
        full = " ".join(capsys.readouterr().out.split())
        assert "day1.log NMEA 0183 920" in full
        assert "08:00:20 120 0 day1.log" in full

    def test_in_json_and_on_the_page_behind_the_answer(self, folder: Path) -> None:
        result = slackwater.analyse(folder / "trial.yaml")
        data = result.to_dict()["provenance"]
        assert [len(each["runs"]) for each in data["sessions"]] == [4, 4]
        assert [(each.role, each.name) for each in result.inputs][-1] == ("runs", "runs.csv")
        page = result.to_html()
        assert page.index('id="answer"') < page.index('id="logs"')
        assert "Run by run, with the lines that each comes from" in page
        assert "8 runs were cut from day1.log and day2.log." in page

    def test_double_runs_over_other_water_are_told_and_found(
        self, folder: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        path = folder / "runs.provenance.json"
        told = json.loads(path.read_text(encoding="utf-8"))
        assert {run["paired_by"] for each in told["sessions"] for run in each["runs"]} == {"water"}
        for run in told["sessions"][1]["runs"][2:]:
            run |= {"paired_by": "order", "water_shared": 0.29}
        path.write_text(json.dumps(told), encoding="utf-8")
        result = slackwater.analyse(folder / "trial.yaml")
        words = "S2: double run 1 at 2000 rpm shares 29% of its water"
        assert words in " ".join(provenance_words.sentences(result.provenance))
        assert words in result.to_html()
        main(["check", "trial.yaml"])
        found = " ".join(capsys.readouterr().out.split())
        assert "paired-by-order" in found
        assert "session S2: double run 1 at 2000 rpm shares 29% of its water" in found

    def test_without_one_nothing_is_said(self, folder: Path) -> None:
        (folder / "runs.provenance.json").unlink()
        result = slackwater.analyse(folder / "trial.yaml")
        assert result.to_dict()["provenance"] is None
        assert 'id="logs"' not in result.to_html()
        assert "Runs cut from logs" not in str(result)


class TestHeldAgainstTheTable:
    def test_as_it_was_cut_nothing_is_found(self, folder: Path) -> None:
        assert told(folder) == {}

    def test_saved_by_a_spreadsheet_it_is_the_same(self, folder: Path) -> None:
        edit(folder / "runs.csv", "S1,1000,1,out", '"S1",1000.0,1,OUT')
        assert told(folder) == {}

    def test_a_figure_edited_by_hand(self, folder: Path) -> None:
        edit(folder / "runs.csv", "8.40067", "8.9")
        found = told(folder)
        assert list(found) == ["row-edited"]
        assert found["row-edited"].endswith(
            "runs.csv:2: warning: row 2 is not what was cut from the logs: "
            "speed_over_ground 8.9, cut was 8.40067"
        )

    def test_set_aside_by_hand(self, folder: Path) -> None:
        table = folder / "runs.csv"
        lines = table.read_text().splitlines()
        lines[2] = lines[2].removesuffix(",,") + ",the wash of a ferry,"
        table.write_text("\n".join(lines) + "\n")
        found = told(folder)
        assert "row-edited" not in found
        assert (
            "advice: row 3 was set aside after it was cut: the wash of a ferry"
            in found["row-set-aside-by-hand"]
        )

    def test_a_row_taken_out_and_one_put_in(self, folder: Path) -> None:
        edit(folder / "runs.csv", "2026-05-04T08:00:20", "2026-05-04T08:00:24")
        found = told(folder)
        assert "row 2 is no run that was cut" in found["row-not-cut"]
        assert "session S1, 2026-05-04 08:00:20, 1000 out" in found["row-taken-out"]

    def test_sorted_otherwise_it_is_the_same(self, folder: Path) -> None:
        table = folder / "runs.csv"
        head, *rows = table.read_text().splitlines()
        table.write_text("\n".join([head, *rows[4:], *rows[:4]]) + "\n")
        assert told(folder) == {}


class TestHeldAgainstTheLogsAndTheProtocol:
    def test_a_log_that_is_not_there_is_said(self, folder: Path) -> None:
        (folder / "day1.log").unlink()
        found = told(folder)
        assert list(found) == ["log-missing"]
        assert "advice: the log '" in found["log-missing"]

    def test_a_log_that_has_changed(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        with (folder / "day2.log").open("a") as log:
            log.write("\n")
        assert list(told(folder)) == ["log-changed"]
        main(["check", "trial.yaml"])
        assert (
            "put the log back as the instrument wrote it, or cut the runs anew"
            in capsys.readouterr().out
        )

    def test_terms_that_differ_today(self, folder: Path) -> None:
        edit(folder / "trial.yaml", "settle: 20 s", "settle: 25 s")
        edit(folder / "trial.yaml", "hold: 2 %", "hold: 1.5 %")
        assert told(folder)["cut-otherwise"].endswith(
            "set points or how closely they are held; settle 20 then, 25 today"
        )

    def test_sessions_renamed_today(self, folder: Path) -> None:
        for name in ("trial.yaml", "runs.csv"):
            path = folder / name
            path.write_text(path.read_text().replace("S1", "M1"))
        assert (
            "cannot be read by the trial as it stands today"
            in told(folder)["provenance-unreadable"]
        )

    def test_missing_runs_are_told_by_check(
        self, folder: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        edit(
            folder / "trial.yaml",
            "values: [1000 rpm, 2000 rpm]",
            "values: [1000 rpm, 2000 rpm, 2500 rpm]",
        )
        edit(folder / "trial.yaml", "runs: runs.csv", "logs: [day1.log, day2.log]")
        main(["check", "trial.yaml"])
        out = " ".join(capsys.readouterr().out.split())
        assert "session S1: 2 planned runs not found in the logs: 1 at 2500 rpm out" in out


class TestForeignAndBroken:
    CASES: tuple[tuple[str, Callable[[str], str]], ...] = (
        ("no JSON", lambda text: text[: len(text) // 2]),
        ("another JSON", lambda text: '{"schema": 1}'),
        ("a list", lambda text: "[]"),
        ("nothing", lambda text: ""),
        ("infinity", lambda text: text.replace('"settle": 20.0', '"settle": Infinity')),
        ("a text for a number", lambda text: text.replace('"settle": 20.0', '"settle": "20"')),
        ("its own table edited", lambda text: text.replace("8.40067", "8.9")),
        ("deep", lambda text: "[" * 100_000),
        ("a long number", lambda text: "9" * 10_000),
    )  # fmt: skip

    @pytest.mark.parametrize(("name", "spoil"), CASES, ids=[name for name, _ in CASES])
    def test_is_a_finding(
        self,
        folder: Path,
        name: str,
        spoil: Callable[[str], str],
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        path = folder / "runs.provenance.json"
        path.write_text(spoil(path.read_text(encoding="utf-8")), encoding="utf-8")
        edit(folder / "runs.csv", "8.40067", "8.41")
        assert "warning" in told(folder)["provenance-unreadable"]
        assert main(["analyse", "trial.yaml"]) == 0
        assert main(["check", "trial.yaml"]) == 1
        assert "Traceback" not in capsys.readouterr().err

    def test_bytes_that_are_no_text_and_a_folder(self, folder: Path) -> None:
        path = folder / "runs.provenance.json"
        path.write_bytes(b"\xff\xfe\x00")
        assert "provenance-unreadable" in told(folder)
        path.unlink()
        path.mkdir()
        assert "it is no regular file" in told(folder)["provenance-unreadable"]

    def test_changed_where_it_hurts(self, folder: Path) -> None:
        """40 files drawn from a seed, each with up to three values put in, or one taken out, at random."""
        path = folder / "runs.provenance.json"
        text = path.read_text(encoding="utf-8")
        rng = random.Random(14)
        found, shown = set(), 0
        for _ in range(40):
            data = json.loads(text)
            for _ in range(rng.randint(1, 3)):
                _spoil(data, rng)
            path.write_text(json.dumps(data), encoding="utf-8")
            table = runs_of(load_trial(folder / "trial.yaml"))
            found |= {each.rule for each in table.findings}
            if table.provenance is not None:
                shown += 1
                provenance_words.sentences(table.provenance)
                provenance_words.run_sheet(table.provenance)
                json.dumps(table.provenance.to_dict(), allow_nan=False)
        assert "provenance-unreadable" in found
        assert shown > 0

    def test_of_another_trial(self, folder: Path) -> None:
        path = folder / "runs.provenance.json"
        data = json.loads(path.read_text())
        path.write_text(json.dumps({**data, "trial": "other"}))
        assert list(told(folder)) == ["provenance-foreign"]
        assert slackwater.analyse(folder / "trial.yaml").provenance is None


_VALUES = (
    None,
    "",
    0,
    -1,
    1e308,
    "x" * 5000,
    [],
    {},
    True,
    "\x00\x1b[31m",
    10**30,
    "/dev/zero",
    "S1",
    7.5,
)


def _spoil(data: Any, rng: random.Random) -> None:
    """Put something else in a place drawn at random, or take away what is there."""
    node = data
    while True:
        keys = list(node) if isinstance(node, dict) else range(len(node))
        if not keys:
            return
        key = rng.choice(keys)
        if not isinstance(node[key], dict | list) or rng.random() < 0.1:
            break
        node = node[key]
    if rng.random() < 0.2:
        del node[key]
    else:
        node[key] = rng.choice(_VALUES)
