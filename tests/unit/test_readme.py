"""README and DEVELOPERS say what is so: commands, their output, files and folders."""

from __future__ import annotations

import re
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


def test_every_command_is_in_the_table_and_none_besides() -> None:
    named = re.findall(r"^\| `(\w+)", README, re.MULTILINE)
    assert sorted(named) == sorted(COMMANDS)


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_files_named_are_there(text: str) -> None:
    named = set(re.findall(r"`((?:protocol|analysis|tests|protocols|examples)/[\w./-]*)`", text))
    assert named
    missing = [name for name in named if not (ROOT / name).exists()]
    assert not missing
