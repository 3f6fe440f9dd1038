"""Where the rows of a table of tries come from: found beside it, shown, drawn, and held against table and logs."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from invented_handling import write_handling
from jsonschema import Draft202012Validator

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.handling.tries_read import tried_table
from slackwater.analysis.report.drawing.canvas import text_width
from slackwater.analysis.report.drawing.turning_tracks import extent
from slackwater.analysis.report.schemas import render
from slackwater.analysis.report.trial.pictures import WIDTH
from slackwater.protocol.declared.trial import load_trial

LOGS = ("day1.log", "day2.log", "day3.log", "day4.log")


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tries")
    write_handling(folder)
    result = slackwater.tries(folder / "trial.yaml", *(folder / name for name in LOGS))
    (folder / "tries.csv").write_text(result.to_csv(), encoding="utf-8")
    told = result.to_json().replace(f"{folder}/", "")
    (folder / "tries.provenance.json").write_text(told, encoding="utf-8")
    return folder


def told(folder: Path) -> dict[str, str]:
    """What is found beside the table, by id."""
    table = tried_table(load_trial(folder / "trial.yaml"))
    assert table is not None
    return {each.rule: each.message for each in table.findings}


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


class TestShown:
    def test_as_written_nothing_is_found(self, folder: Path) -> None:
        assert told(folder) == {}

    def test_on_the_page_behind_the_deciding_figure(self, folder: Path) -> None:
        result = slackwater.analyse("trial.yaml")
        page = result.to_html()
        assert page.index('id="answer"') < page.index("Tracks of all turns, to one scale")
        part = page[page.index('id="manoeuvres"') :]
        assert part.count("m, approach upwards") == 2  # a picture for each configuration
        assert "24 tries were found in day1.log, day2.log, day3.log and day4.log." in part
        assert "Try by try, with the lines that each comes from" in part

    def test_no_title_of_an_axis_is_cut_off(self, folder: Path) -> None:
        page = slackwater.analyse("trial.yaml").to_html()
        titles = re.findall(
            r'<text x="([\d.]+)"[^>]*text-anchor="middle"[^>]*>(change in [^<]*)<', page
        )
        assert len(titles) == 7
        for middle, title in titles:
            assert text_width(title) / 2 <= min(float(middle), WIDTH - float(middle)), title

    def test_in_text_and_json(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["analyse", "trial.yaml", "--full"]) == 0
        assert "24 tries were found in" in " ".join(capsys.readouterr().out.split())
        data = slackwater.analyse("trial.yaml").to_dict()
        assert [len(each["tries"]) for each in data["tries_provenance"]["sessions"]] == [6] * 4
        Draft202012Validator(json.loads(render("result.schema.json"))).validate(data)

    def test_without_one_nothing_is_said(self, folder: Path) -> None:
        (folder / "tries.provenance.json").unlink()
        result = slackwater.analyse("trial.yaml")
        assert result.to_dict()["tries_provenance"] is None
        assert "Tracks of all turns" not in result.to_html()

    def test_tracks_are_those_of_the_turns(self, folder: Path) -> None:
        provenance = slackwater.analyse("trial.yaml").tries_provenance
        assert provenance is not None
        wide = [one.track for _, one in provenance.tries if one.track]
        assert len(wide) == 8
        left, right, *_ = extent(wide[:2], freed=True)
        diameter = provenance.tries[4][1].values["steady_diameter"].value
        assert diameter is not None
        assert right - left == pytest.approx(
            2 * diameter, rel=0.04
        )  # port and starboard beside each other

    def test_a_try_set_aside_is_not_drawn(self, folder: Path) -> None:
        before = slackwater.analyse("trial.yaml").to_html().count('stroke-width="1.5"')
        edit(folder / "tries.csv", ',,"from logs 08:09:59', ',she slowed,"from logs 08:09:59')
        after = slackwater.analyse("trial.yaml").to_html().count('stroke-width="1.5"')
        assert after == before - 1


class TestHeld:
    @pytest.mark.parametrize(
        ("change", "rule", "message"),
        [
            (
                lambda f: edit(f / "tries.csv", "S1,turn,starboard,1,,,,,91", "S1,turn,starboard,1,,,,,81"),
                "row-edited",
                "S1 turn starboard 1 (steady_diameter 81",
            ),
            (
                lambda f: edit(f / "tries.csv", ',,"from logs 08:09:59', ',she slowed,"from logs 08:09:59'),
                "row-set-aside-by-hand",
                "S1 turn starboard 1",
            ),
            (
                lambda f: (f / "tries.csv").write_text(
                    "".join(line for line in (f / "tries.csv").open() if not line.startswith("S4,turn,port"))
                ),
                "row-taken-out",
                "S4 turn port 1",
            ),
            (
                lambda f: (f / "tries.csv").open("a").write("S4,turn,port,2,,,,,90,91,50,,by tape\n"),
                "row-not-cut",
                "S4 turn port 2",
            ),
            (lambda f: (f / "day2.log").open("a").write("$\n"), "log-changed", "day2.log"),
            (lambda f: (f / "day3.log").unlink(), "log-missing", "that tries were cut from"),
            (
                lambda f: (f / "tries.provenance.json").write_text("{}"),
                "provenance-unreadable",
                "does not tell where the tries of the table come from",
            ),
            (
                lambda f: edit(f / "tries.provenance.json", '"trial": "invented-handling"', '"trial": "other"'),
                "provenance-foreign",
                "the trial 'other'",
            ),
        ],
    )  # fmt: skip
    def test_against_table_and_logs(
        self, folder: Path, change: Callable[[Path], Any], rule: str, message: str
    ) -> None:
        change(folder)
        found = told(folder)
        assert list(found) == [rule]
        assert message in found[rule]

    def test_rows_in_another_order_are_the_same(self, folder: Path) -> None:
        head, *rows = (folder / "tries.csv").read_text(encoding="utf-8").splitlines()
        (folder / "tries.csv").write_text("\n".join([head, *sorted(rows)]) + "\n", encoding="utf-8")
        assert told(folder) == {}

    def test_check_tells_it_too(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        edit(folder / "tries.csv", "S1,turn,starboard,1,,,,,91", "S1,turn,starboard,1,,,,,81")
        main(["check", "trial.yaml"])
        assert "row-edited" in capsys.readouterr().out


class TestLogsInPlaceOfTables:
    """A trial that names logs, and neither runs nor tries, has both taken from the logs."""

    @pytest.fixture
    def logged(self, folder: Path) -> Path:
        edit(folder / "trial.yaml", "manoeuvres: tries.csv", f"logs: [{', '.join(LOGS)}]")
        (folder / "tries.csv").unlink()
        (folder / "tries.provenance.json").unlink()
        return folder

    def test_the_same_figures_as_by_way_of_the_table(self, folder: Path, laid: Path) -> None:
        by_table = slackwater.analyse("trial.yaml").to_dict()
        edit(folder / "trial.yaml", "manoeuvres: tries.csv", f"logs: [{', '.join(LOGS)}]")
        by_logs = slackwater.analyse("trial.yaml").to_dict()
        assert by_logs["comparisons"] == by_table["comparisons"]
        assert [each["role"] for each in by_logs["inputs"]] == ["trial", *["log"] * 4]
        assert len(by_logs["tries_provenance"]["sessions"]) == 4
        Draft202012Validator(json.loads(render("result.schema.json"))).validate(by_logs)

    def test_that_there_are_no_runs_is_said(self, logged: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        found = {each.rule: each.message for each in slackwater.analyse("trial.yaml").findings}
        assert "the logs hold no run" in found["manoeuvres-alone"]
        assert "tries-missing" not in found
        main(["check", "trial.yaml"])
        told = capsys.readouterr().out
        assert "manoeuvres-alone" in told
        assert (
            "there are no tries that can be read" not in told
        )  # rules on tries look at those found

    def test_what_is_not_told_is_asked_for(self, logged: Path, capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
        edit(logged / "trial.yaml", "directions: reciprocal", "directions: with_and_against_wind")
        assert main(["analyse", "trial.yaml"]) == 2
        told = " ".join(capsys.readouterr().err.split())
        assert "the try has no direction" in told
        assert "--tries --output tries.csv" in told

    def test_logs_with_neither(self, logged: Path, capsys: pytest.CaptureFixture[str]) -> None:
        for name in LOGS:
            text = (logged / name).read_text(encoding="ascii").splitlines(keepends=True)
            (logged / name).write_text("".join(text[:60]), encoding="ascii")
        assert main(["analyse", "trial.yaml"]) == 2
        assert "no run of session S1" in " ".join(capsys.readouterr().err.split())
        found = tried_table(load_trial(logged / "trial.yaml"))
        assert found is not None
        assert [each.rule for each in found.findings] == ["tries-not-found"]
