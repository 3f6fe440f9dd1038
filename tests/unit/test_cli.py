"""The command line: exit codes, messages, and that help costs nothing."""

from __future__ import annotations

import json
import subprocess
import sys
import types
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from invented_result import invented

from slackwater import __version__
from slackwater.analysis import cli
from slackwater.analysis.cli import COMMANDS, main
from slackwater.protocol.findings import Finding, InputError, Place, Severity

HEAVY = {"numpy", "pandas", "scipy", "pydantic", "pint", "yaml", "rich", "jinja2", "matplotlib"}
FAULTY = Finding(
    "unknown-key",
    Severity.ERROR,
    "there is no key 'sesions'",
    "write 'sessions'",
    Place("trial.yaml", 4, 1, "sesions:"),
)

Fake = Callable[[Callable[[Any], Any]], None]


@pytest.fixture
def pipeline(monkeypatch: pytest.MonkeyPatch) -> Fake:
    def put(analyse: Callable[[Any], Any]) -> None:
        module = types.ModuleType("slackwater.analysis.api")
        module.__dict__["analyse"] = lambda path, **asked: analyse(path)
        monkeypatch.setitem(sys.modules, "slackwater.analysis.api", module)

    return put


@pytest.fixture
def trial(tmp_path: Path, pipeline: Fake) -> Path:
    pipeline(lambda path: invented())
    path = tmp_path / "trial.yaml"
    path.write_text("trial: invented\n")
    return path


def _raising(error: BaseException) -> Callable[[Any], Any]:
    def analyse(path: Any) -> Any:
        raise error

    return analyse


def test_text_json_html(trial: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", str(trial)]) == 0
    assert capsys.readouterr().out.startswith("Interceptors fitted against As delivered, speed: ")
    assert main(["analyse", str(trial), "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["trial"] == "invented-launch-interceptors"
    assert main(["analyse", str(trial), "--format=html"]) == 0
    assert capsys.readouterr().out.startswith("<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("name", "start"), [("r.json", "{"), ("r.html", "<!DOCTYPE"), ("r.txt", "Interceptors")]
)
def test_output_to_a_file_in_the_format_of_its_ending(
    trial: Path, capsys: pytest.CaptureFixture[str], name: str, start: str
) -> None:
    target = trial.parent / name
    assert main(["analyse", str(trial), "--output", str(target)]) == 0
    said = capsys.readouterr()
    assert said.err == f"wrote {target}\n"
    assert target.read_text("utf-8").startswith(start)
    # The answer, and no more, for whoever waits at the terminal.
    assert "gain at 2 of 8 set points" in said.out
    assert "sha256" not in said.out


@pytest.mark.parametrize("ending", ["docx", "csv", "xlsx", "png", "PDF.odt"])
def test_no_text_under_an_ending_that_promises_another_kind(
    trial: Path, capsys: pytest.CaptureFixture[str], ending: str
) -> None:
    target = trial.parent / f"report.{ending}"
    assert main(["analyse", str(trial), "--output", str(target)]) == 2
    said = capsys.readouterr().err
    assert "it writes text, json, html, pdf" in said
    assert not target.exists()
    # Whoever says what is to stand in it gets that.
    assert main(["analyse", str(trial), "--format", "text", "--output", str(target)]) == 0
    assert target.read_text("utf-8").startswith("Interceptors")


def test_a_text_in_a_file_is_whole_and_on_the_terminal_when_asked(
    trial: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = trial.parent / "report.txt"
    assert main(["analyse", str(trial), "--output", str(target)]) == 0
    capsys.readouterr()
    assert main(["analyse", str(trial), "--full"]) == 0
    assert capsys.readouterr().out == target.read_text("utf-8")
    assert main(["analyse", str(trial)]) == 0
    assert len(capsys.readouterr().out) < len(target.read_text("utf-8")) / 2


def test_a_pdf_without_a_browser_is_refused_before_the_work(
    pipeline: Fake,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    pipeline(_raising(AssertionError("the work was done in vain")))
    trial = tmp_path / "trial.yaml"
    trial.write_text("trial: invented\n")
    monkeypatch.setenv("PATH", str(tmp_path))
    target = tmp_path / "report.pdf"
    assert main(["analyse", str(trial), "--output", str(target)]) == 2
    said = capsys.readouterr().err
    assert "printed by Chromium" in said
    assert "report.html" in said
    assert not target.exists()
    assert main(["analyse", str(trial), "--format", "pdf"]) == 2
    assert "add --output report.pdf" in capsys.readouterr().err


def test_output_that_cannot_be(trial: Path, capsys: pytest.CaptureFixture[str]) -> None:
    gone = trial.parent / "gone" / "r.html"
    assert main(["analyse", str(trial), "--output", str(gone)]) == 2
    assert f"the folder {gone.parent} does not exist" in capsys.readouterr().err
    assert main(["analyse", str(trial), "--output", str(trial.parent)]) == 2
    assert "the output is a folder" in capsys.readouterr().err


def test_input_that_cannot_be_used(
    trial: Path, pipeline: Fake, capsys: pytest.CaptureFixture[str]
) -> None:
    pipeline(_raising(InputError([FAULTY, FAULTY])))
    assert main(["analyse", str(trial)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    lines = said.err.splitlines()
    assert lines[0] == "trial.yaml:4:1: error: there is no key 'sesions' [unknown-key]"
    assert lines[1:4] == ["    sesions:", "    ^", "    fix: write 'sessions'"]
    assert lines[-1] == "2 errors"


def test_a_fault_of_the_program(
    trial: Path, pipeline: Fake, capsys: pytest.CaptureFixture[str]
) -> None:
    pipeline(_raising(KeyError("speed")))
    assert main(["analyse", str(trial)]) == 3
    said = capsys.readouterr().err
    assert "a fault of the program, not of your files: KeyError: 'speed'" in said
    assert __version__ in said
    assert "Traceback" not in said
    assert main(["analyse", str(trial), "--trace"]) == 3
    assert "Traceback" in capsys.readouterr().err


def test_interrupted_quietly(
    trial: Path, pipeline: Fake, capsys: pytest.CaptureFixture[str]
) -> None:
    pipeline(_raising(KeyboardInterrupt()))
    assert main(["analyse", str(trial)]) == 130
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["anlyse", "x"], "unknown command 'anlyse'; did you mean 'analyse'?"),
        (["zzz"], "unknown command 'zzz'; there are check, "),
        (["analyse", "x", "--fromat", "json"], "'--fromat'; did you mean '--format'?"),
        (["analyse", "x", "--format", "docx"], "invalid choice: 'docx'"),
        (["analyse"], "required: TRIAL"),
        (["analyse", "x", "y"], "unknown argument 'y'"),
        (["analyse", "x", "-q"], "unknown option '-q'"),
        (["--verison"], "unknown option '--verison'; did you mean '--version'?"),
        ([], "no command was given"),
    ],
)
def test_usage(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert said in capsys.readouterr().err


def test_control_characters_in_messages_are_shown(
    trial: Path, pipeline: Fake, capsys: pytest.CaptureFixture[str]
) -> None:
    from dataclasses import replace

    pipeline(_raising(InputError([replace(FAULTY, message="a\x1b[2Jb")])))
    assert main(["analyse", str(trial)]) == 2
    said = capsys.readouterr().err
    assert "\x1b" not in said
    assert r"a\x1b[2Jb" in said


def test_every_command_has_a_module_with_its_two_functions() -> None:
    from importlib import import_module

    for name, (where, about) in COMMANDS.items():
        module = import_module(where)
        assert callable(module.add_arguments), name
        assert callable(module.run), name
        assert module.__doc__
        assert len(about) <= 78 - 20


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main([name, "--help"])
    assert left.value.code == 0
    assert f"usage: slackwater {name}" in capsys.readouterr().out


def _run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "slackwater.analysis.cli", *words],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["analyse", "--help"]])
def test_help_loads_nothing_heavy(words: list[str]) -> None:
    done = _run(*words)
    assert done.returncode == 0
    loaded = {line.rpartition("|")[2].strip() for line in done.stderr.splitlines()}
    assert "slackwater.analysis" in loaded
    assert not HEAVY & loaded


def test_version_and_commands_in_help(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--version"])
    assert capsys.readouterr().out == f"slackwater {__version__}\n"
    with pytest.raises(SystemExit):
        main(["--help"])
    said = capsys.readouterr().out
    assert all(name in said and about in said for name, (_, about) in COMMANDS.items())


def test_reader_that_leaves_early(trial: Path) -> None:
    code = (
        "import sys\n"
        "from slackwater.analysis import cli\n"
        "from slackwater.analysis.commands import check\n"
        "def run(args):\n"
        "    sys.stdout.write('line\\n' * 200000)\n"
        "    return 0\n"
        "check.run = run\n"
        "sys.exit(cli.main(['check', 'x']))\n"
    )
    first = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert first.stdout is not None
    assert first.stderr is not None
    first.stdout.readline()
    first.stdout.close()
    assert first.stderr.read() == ""
    first.stderr.close()
    assert first.wait(timeout=60) == cli.DONE


def test_check_of_a_missing_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(tmp_path / "no.yaml")]) == 2
    assert "no.yaml" in capsys.readouterr().out


def test_check_of_something_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "menu.yaml"
    path.write_text("soup: leek\n")
    assert main(["check", str(path)]) == 2
    assert "neither a protocol nor a trial" in capsys.readouterr().out


def test_check_finds_every_fault_of_a_protocol(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "p.yaml"
    path.write_text('protocol: mine\nversion: "1"\ntitel: Mine\nrunz: 3\n')
    assert main(["check", str(path), "--format", "json"]) == 1
    found = json.loads(capsys.readouterr().out)["findings"]
    assert {each["line"] for each in found} >= {3, 4}
    keys = {"rule", "severity", "file", "line", "column", "session", "run", "message", "fix"}
    assert all(keys <= set(each) for each in found)


def test_check_of_a_good_protocol(capsys: pytest.CaptureFixture[str]) -> None:
    from importlib.resources import as_file, files

    with as_file(files("slackwater.protocols") / "two-way-sweep.yaml") as path:
        assert main(["check", str(path)]) == 0
    assert capsys.readouterr().out.endswith(
        "\nnothing found in 1 file; 2 rules could not look at everything\n"
    )
