"""What every command says of logs that cannot be used, from a folder that holds nothing else: what is wrong, where,
what to do; never a traceback, never a file left behind."""

from __future__ import annotations

import gzip
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from invented_log import MORNINGS, TRIAL, outing, summed

from slackwater.analysis.cli import main
from slackwater.analysis.logs import opening

CLAIMS = """\
title: What was published (invented)
trial: trial.yaml
selection: {set_points: 2}
claims:
  - {id: C1, quantity: speed, baseline: bare, modified: fitted, at: 2000 rpm, stated: {change: no change}}
"""
COMMANDS = {
    "analyse": ["analyse", "trial.yaml"],
    "analyse to a page": ["analyse", "trial.yaml", "--output", "report.html"],
    "statement": ["statement", "trial.yaml", "--output", "statement.md"],
    "noise": ["noise", "trial.yaml"],
    "audit": ["audit", "claims.yaml"],
    "new claims": ["new", "claims", "--from", "trial.yaml", "--output", "new.yaml"],
    "logs": ["logs", "day1.log"],
    "logs to a page": ["logs", "day1.log", "--output", "logs.html"],
    "logs of a trial": ["logs", "--trial", "trial.yaml"],
    "logs to a table": ["logs", "day1.log", "--trial", "trial.yaml", "--output", "runs.csv"],
}


def _nothing(path: Path) -> None:
    """There is no such file."""


def _archive(path: Path, inside: bytes, times: int = 1) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(times):
            archive.writestr(f"{number}.log", inside)


KINDS: dict[str, tuple[Callable[[Path], object], str]] = {
    "missing": (_nothing, "cannot be read: No such file"),
    "a folder": (Path.mkdir, "is no regular file"),
    "empty": (lambda path: path.write_bytes(b""), "is empty"),
    "a letter": (lambda path: path.write_bytes(b"Dear Sir,\nit blew.\n"), "'Dear Sir,'"),
    "bytes": (lambda path: path.write_bytes(bytes(range(256)) * 4), "has no form that is read"),
    "torn gzip": (lambda path: path.write_bytes(gzip.compress(b"x" * 99)[:9] + b"\xff" * 9), "gzip"),
    "torn zip": (lambda path: path.write_bytes(b"PK\3\4" + b"x" * 99), "cannot be unpacked"),
    "an empty zip": (lambda path: _archive(path, b""), "is an archive without a file"),
    "a zip of many": (lambda path: _archive(path, b"x", opening.MOST_MEMBERS + 1), "files;"),
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "trial.yaml").write_text(f"{TRIAL}logs: [day1.log]\n", encoding="utf-8")
    (tmp_path / "claims.yaml").write_text(CLAIMS, encoding="utf-8")
    return tmp_path


def refused(folder: Path, command: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> str:
    """The command stops with what is wrong and leaves no file."""
    before = sorted(folder.iterdir())
    assert main(command) == 2
    out, err = capsys.readouterr()
    assert said in err
    assert "Traceback" not in out + err
    assert "fix:" in err
    assert sorted(folder.iterdir()) == before
    return err


@pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS)
@pytest.mark.parametrize("kind", ["missing", "torn gzip"])
def test_every_command(
    folder: Path, command: list[str], kind: str, capsys: pytest.CaptureFixture[str]
) -> None:
    spoil, said = KINDS[kind]
    spoil(folder / "day1.log")
    err = refused(folder, command, said, capsys)
    own = command[0] != "logs" or "day1.log" not in command
    assert ("trial.yaml:16:8: error: the log 'day1.log'" if own else "day1.log: error:") in err


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind(folder: Path, kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    spoil, said = KINDS[kind]
    spoil(folder / "day1.log")
    refused(folder, ["analyse", "trial.yaml"], said, capsys)
    if kind != "missing":  # which before a trial is as it should be
        assert main(["check", "trial.yaml"]) == 1
        assert said in capsys.readouterr().out


def test_longer_than_is_read(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(opening, "MOST", 1000)
    (folder / "day1.log").write_text(outing(MORNINGS[0]))
    refused(folder, ["analyse", "trial.yaml"], "more than a day of trials writes", capsys)
    (folder / "day1.log").write_bytes(gzip.compress(outing(MORNINGS[0]).encode()[:4000]))
    refused(folder, ["logs", "day1.log"], "more than a day of trials writes", capsys)


def test_all_that_is_wrong_with_any_log_is_told(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "trial.yaml").write_text(f"{TRIAL}logs: [a.log, b.log, c.log]\n")
    (folder / "b.log").write_text(outing(MORNINGS[0]))
    err = refused(folder, ["analyse", "trial.yaml"], "the log 'a.log'", capsys)
    assert "the log 'c.log'" in err
    assert "the log 'b.log'" not in err


def test_a_log_is_no_trial(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "day1.log").write_text(outing(MORNINGS[0]))
    assert main(["check", "day1.log"]) == 2
    out = "".join(capsys.readouterr())
    assert "day1.log: error: this is a log (NMEA 0183)" in out
    assert "'slackwater logs FILE' tells what is in it" in out


def test_no_date_and_no_way(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = folder / "day1.log"
    log.write_text(summed("GPVTG,084.0,T,,M,6.2,N,11.5,K,A") * 30)
    refused(folder, ["analyse", "trial.yaml"], "day1.log: error: has no date", capsys)
    log.write_text(outing(MORNINGS[0], of=["RPM"]))
    refused(folder, ["analyse", "trial.yaml"], "neither speed and course over ground", capsys)


def test_sessions_that_cannot_be_told_apart(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    trial = folder / "trial.yaml"
    text = trial.read_text().replace(', start: "08:00", end: "09:00"', "")
    trial.write_text(text.replace("2026-05-05", "2026-05-04"))
    (folder / "day1.log").write_text(outing(MORNINGS[0]))
    refused(folder, ["analyse", "trial.yaml"], "cannot be told apart in the logs", capsys)
    assert main(["check", "trial.yaml"]) == 1
    assert "session-start-missing" in capsys.readouterr().out


@pytest.mark.parametrize("option", ["--plan", "--source", "--ahead-of-utc"])
def test_options_without_a_value_that_fits(
    folder: Path, option: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "day1.log").write_text(outing(MORNINGS[0]))
    command = ["logs", "day1.log", "--trial", "trial.yaml", option, "nonsense"]
    refused(folder, command, "nonsense", capsys)


@pytest.mark.parametrize("name", ["runs.csv", "runs.provenance.json"])
def test_no_log_and_no_table_is_written_over(
    folder: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "day1.log").write_text(outing(MORNINGS[0]))
    (folder / name).write_text("mine")
    command = ["logs", "day1.log", "--trial", "trial.yaml", "--output"]
    refused(folder, [*command, "runs.csv"], name, capsys)
    refused(folder, [*command, "day1.log", "--format", "csv"], "day1.log", capsys)
    refused(folder, ["logs", "--trial", "trial.yaml", "--format", "html", "--output", "day1.log"],
            "day1.log", capsys)  # fmt: skip
    assert (folder / name).read_text() == "mine"
