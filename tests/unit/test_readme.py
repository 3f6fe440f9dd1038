"""README and DEVELOPERS say what is so: commands, their output, files and folders."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from slackwater.analysis.cli import COMMANDS, main

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def test_the_output_shown_is_what_the_command_prints(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = re.search(
        r"<!-- begin: slackwater (.*?) -->\n```\n(.*?)```\n<!-- end -->", README, re.DOTALL
    )
    assert found is not None
    monkeypatch.chdir(ROOT)
    words = [str(tmp_path / w) if w.endswith(".html") else w for w in found[1].split()]
    assert main(words) == 0
    assert capsys.readouterr().out == found[2]


def test_the_audit_begins_as_shown(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = re.search(
        r"`slackwater (audit [^`]*)` begins:\n\n<!-- begin: audit -->\n```\n(.*?)```\n<!-- end -->",
        README,
        re.DOTALL,
    )
    assert found is not None
    monkeypatch.chdir(ROOT)
    assert main(found[1].split()) == 1
    assert capsys.readouterr().out.startswith(found[2])


def test_the_trial_of_logs_says_what_is_shown(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = re.search(
        r"`slackwater (analyse [^`]*)` goes all the way.*?<!-- begin: logs -->\n```\n(.*?)```\n<!-- end -->",
        README,
        re.DOTALL,
    )
    assert found is not None
    monkeypatch.chdir(ROOT)
    assert main(found[1].split()) == 0
    assert f"\n\n{found[2]}\n" in capsys.readouterr().out


def test_every_command_is_in_the_table_and_none_besides() -> None:
    named = re.findall(r"^\| `(\w+)", README, re.MULTILINE)
    assert sorted(named) == sorted(COMMANDS)


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_files_named_are_there(text: str) -> None:
    named = set(re.findall(r"`((?:protocol|analysis|tests|protocols|examples)/[\w./-]*)`", text))
    assert named
    missing = [name for name in named if not (ROOT / name).exists()]
    assert not missing


def test_the_first_hour_runs_as_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every line of README's sequence, in an empty folder: no stop, nothing that a newcomer has to mend."""
    found = re.search(r"<!-- begin: first hour -->\n```sh\n(.*?)```", README, re.DOTALL)
    assert found is not None
    lines = [shlex.split(line, comments=True) for line in found[1].splitlines()]
    assert [line[:2] for line in lines[1:4]] == [
        ["slackwater", "new"],
        ["slackwater", "check"],
        ["slackwater", "plan"],
    ]
    monkeypatch.chdir(tmp_path)
    for line in lines:
        assert main(line[1:]) == 0, (line, capsys.readouterr())
    made = {path.name for path in tmp_path.iterdir()}
    assert {"protocol.yaml", "sheet.html", "rehearsal", "trial.yaml", "runs.csv"} <= made
    assert (tmp_path / "rehearsal" / "report.html").is_file()
