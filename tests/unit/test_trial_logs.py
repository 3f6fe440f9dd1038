"""A trial that names logs in place of a table of runs: cut, read as every table is, and refused with why."""

from __future__ import annotations

import gzip
import json
import textwrap
from pathlib import Path

import pytest
from invented_log import MORNINGS, PLAN, TRIAL, outing, write_trial

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.intake.tables import read_runs
from slackwater.analysis.steady.trial_runs import runs_of
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.findings import InputError

RUNS = 2 * len(PLAN)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


class TestTheWholeWay:
    def test_the_rows_are_those_of_the_table_that_the_command_writes(self, folder: Path) -> None:
        trial = write_trial(folder)
        cut = runs_of(load_trial(trial))
        assert main(["logs", "--trial", "trial.yaml", "--output", "runs.csv"]) == 0
        trial.write_text(TRIAL + "runs: runs.csv\n")
        table = read_runs(load_trial(trial))
        assert len(cut) == RUNS
        assert cut.sha256 == table.sha256
        assert repr(cut.columns) == repr(table.columns)  # headings are NaN in both

    def test_the_result_names_the_logs_and_no_folder(self, folder: Path) -> None:
        write_trial(folder)
        told = slackwater.analyse(folder / "trial.yaml").to_dict()
        assert [(one["role"], one["name"]) for one in told["inputs"]] == [
            ("trial", "trial.yaml"), ("log", "day1.log"), ("log", "day2.log")
        ]  # fmt: skip
        assert [log["file"] for log in told["provenance"]["logs"]] == ["day1.log", "day2.log"]
        assert str(folder) not in json.dumps([told["inputs"], told["provenance"]])
        runs = [run for each in told["provenance"]["sessions"] for run in each["runs"]]
        assert [run["row"] for run in runs] == list(range(2, 2 + RUNS))
        assert told["runs"] == {"read": RUNS, "used": RUNS, "set_aside": 0}

    @pytest.mark.parametrize(
        "command",
        ["analyse", "analyse --full", "analyse --format json", "analyse --format html",
         "statement", "noise", "sheet", "check"],
    )  # fmt: skip
    def test_every_command_that_reads_runs(
        self, folder: Path, command: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        write_trial(folder)
        name, *options = command.split()
        assert main([name, "trial.yaml", *options]) == (1 if name == "check" else 0)
        out, err = capsys.readouterr()
        assert out
        assert "Traceback" not in err

    def test_a_change_of_the_log_changes_the_result(self, folder: Path) -> None:
        trial = write_trial(folder)
        before = slackwater.analyse(trial).comparisons["change"].tolist()
        faster = outing(MORNINGS[1], seed=1, gain=1.06)
        (folder / "day2.log").write_text(faster, encoding="ascii")
        after = slackwater.analyse(trial).comparisons["change"].tolist()
        assert after[0] - before[0] == pytest.approx(0.04, abs=0.004)

    def test_held_against_another_version_of_its_protocol(self, folder: Path) -> None:
        """The runs are cut anew by the terms of the newer one."""
        trial = write_trial(folder)
        text = trial.read_text()
        begin, end = text.index("protocol:\n"), text.index("configurations:")
        inline = textwrap.dedent(text[begin + len("protocol:\n") : end])
        (folder / "old.yaml").write_text(inline)
        (folder / "new.yaml").write_text(inline.replace("settle: 20 s", "settle: 60 s"))
        trial.write_text(text[:begin] + "protocol: old.yaml\n" + text[end:])
        (held,) = slackwater.since("new.yaml", "old.yaml", trial).trials
        assert held.run_to
        assert not held.satisfies  # no leg is held for two minutes
        (same,) = slackwater.since("old.yaml", "old.yaml", trial).trials
        assert same.satisfies

    def test_packed(self, folder: Path) -> None:
        trial = write_trial(folder, "logs: [day1.log.gz, day2.log]")
        plain = folder / "day1.log"
        (folder / "day1.log.gz").write_bytes(gzip.compress(plain.read_bytes(), mtime=0))
        plain.unlink()
        assert len(runs_of(load_trial(trial))) == RUNS


class TestSeveralInstruments:
    """One log each of a receiver and an engine, joined by time."""

    def write(self, folder: Path, order: str) -> str:
        for number, begins in enumerate(MORNINGS):
            for name, of in (("gps", "RMC"), ("engine", "RPM")):
                text = outing(begins, seed=number, gain=1 + 0.02 * number, of=[of])
                (folder / f"{name}{number}.log").write_text(text, encoding="ascii")
        trial = folder / "trial.yaml"
        trial.write_text(f"{TRIAL}logs: [{order}]\n", encoding="utf-8")
        table = runs_of(load_trial(trial))
        assert len(table) == RUNS
        assert table.provenance is not None
        return table.sha256 + table.provenance.model_dump_json()

    def test_joined_in_any_order(self, folder: Path) -> None:
        one = self.write(folder, "gps0.log, engine0.log, gps1.log, engine1.log")
        other = self.write(folder, "engine1.log, gps1.log, engine0.log, gps0.log")
        assert one == other

    def test_the_command_in_any_order(self, folder: Path) -> None:
        self.write(folder, "gps0.log, engine0.log, gps1.log, engine1.log")
        logs = ["gps0.log", "engine0.log", "gps1.log", "engine1.log"]
        for name, given in (("one", logs), ("other", logs[::-1])):
            assert main(["logs", *given, "--trial", "trial.yaml", "--output", f"{name}.csv"]) == 0
        for kind in ("csv", "provenance.json"):
            assert (folder / f"one.{kind}").read_bytes() == (folder / f"other.{kind}").read_bytes()


class TestSaidInTheTrial:
    def test_a_clock_ahead_of_utc(self, folder: Path) -> None:
        sources = 'logs: [day1.log, day2.log]\ncut: {ahead_of_utc: "02:00"}'
        trial = write_trial(folder, sources)
        text = trial.read_text().replace('"08:00"', '"10:00"').replace('"09:00"', '"11:00"')
        trial.write_text(text)
        starts = runs_of(load_trial(trial)).columns["start"]
        assert starts[0].hour == 10

    def test_a_source(self, folder: Path) -> None:
        trial = write_trial(
            folder, "logs: [day1.log, day2.log]\ncut: {sources: {engine_speed: II RPM 1}}"
        )
        table = runs_of(load_trial(trial))
        assert table.provenance is not None
        asked = [each.quantity for each in table.provenance.sources if each.by_user]
        assert asked == ["engine_speed"]

    @pytest.mark.parametrize(
        ("sources", "said"),
        [
            ("logs: [day1.log]\nruns: runs.csv", "trial.yaml:16:1: error: the trial names a table"),
            ("logs: []", "trial.yaml:16"),
            ("logs: day1.log", "trial.yaml:16:7"),
            ("logs: [day1.log, day1.log]", "trial.yaml:16:18: error: 'day1.log' is named twice"),
            (
                'logs: [day1.log]\ncut: {ahead_of_utc: "25:00"}',
                "is not a time from -14:00 to 14:00",
            ),
            ("logs: [day1.log]\ncut: {source: {}}", "trial.yaml:17:7"),
            ("logs: [none.log]", "trial.yaml:16:8: error: the log 'none.log' cannot be read"),
            ("logs: [sub]", "trial.yaml:16:8: error: the log 'sub' is no regular file"),
            ("logs: [empty.log]", "trial.yaml:16:8: error: the log 'empty.log' is empty"),
            ("logs: [letter.txt]", "trial.yaml:16:8: error: the log 'letter.txt' has no form"),
            ("logs: [day1.log, copy.log]", "holds the same as"),
            ("logs: [day1.log]\ncut: {plan: none.csv}", "none.csv"),
            ("logs: [day1.log]\ncut: {sources: {engine_speed: other}}", "no source 'other'"),
        ],
    )
    def test_what_cannot_be_used(
        self, folder: Path, sources: str, said: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        write_trial(folder, sources)
        (folder / "sub").mkdir()
        (folder / "empty.log").write_bytes(b"")
        (folder / "copy.log").write_bytes((folder / "day1.log").read_bytes())
        (folder / "letter.txt").write_text("Dear Sir,\nit blew hard.\n")
        for command in ("analyse", "statement", "noise"):
            assert main([command, "trial.yaml"]) == 2
            assert said in capsys.readouterr().err
        if "none.log" not in sources:  # before a trial there are no logs yet, as there is no table
            assert main(["check", "trial.yaml"]) == 1
            assert said in capsys.readouterr().out

    def test_before_the_trial_there_are_no_logs_yet(
        self, folder: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        write_trial(folder, "logs: [none.log]")
        main(["check", "trial.yaml"])
        assert (
            "trial.yaml:16:7: advice: there are no runs in 'none.log' yet"
            in capsys.readouterr().out
        )


class TestNoRuns:
    def test_each_session_and_planned_run_says_why(
        self, folder: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        trial = write_trial(folder)
        for number, begins in enumerate(MORNINGS):
            away = outing(begins, [(1400.0, "out"), (1400.0, "back")], seed=number)
            (folder / f"day{number + 1}.log").write_text(away)
        with pytest.raises(InputError, match="hold no run of session S1") as caught:
            slackwater.analyse(trial)
        planned = [each for each in caught.value.findings if each.rule == "run-not-found"]
        assert len(planned) == 8
        assert {each.session for each in planned} == {"S1", "S2"}
        assert "1 at 1000 rpm out; no steady stretch fits a set point" in planned[0].message
        assert main(["analyse", "trial.yaml"]) == 2
        assert "trial.yaml:16:7: error" in capsys.readouterr().err

    def test_a_session_without_a_log_is_missed_by_the_rules(self, folder: Path) -> None:
        trial = write_trial(folder, "logs: [day1.log]")
        result = slackwater.analyse(trial)
        assert result.provenance is not None
        why = [each.why_none for each in result.provenance.sessions]
        assert why == [None, "no log has anything of this session"]
        assert "session-without-runs" in {each.rule for each in result.findings}

    def test_a_trial_without_logs_and_a_command_without(
        self, folder: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        write_trial(folder, "runs: runs.csv")
        assert main(["logs", "--trial", "trial.yaml"]) == 2
        assert "the trial names no logs" in capsys.readouterr().err
        assert main(["logs"]) == 2
        assert "no log is given" in capsys.readouterr().err
