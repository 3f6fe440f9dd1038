"""Files are written whole or not at all, and never over what a command read, by whatever path."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from slackwater.analysis.cli import COMMANDS, Parser, main
from slackwater.analysis.commands.writing import write_whole
from slackwater.protocol.files.reading import remembering
from slackwater.protocol.findings import InputError

EXAMPLE = Path(__file__).parents[2] / "examples" / "workboat-interceptors"
Capture = pytest.CaptureFixture[str]
COMMAND = [sys.executable, "-m", "slackwater"]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of an example with a seal and a file of noise, as the folder one is in."""
    for name in ("trial.yaml", "protocol.yaml", "runs.csv"):
        shutil.copy(EXAMPLE / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    assert main(["seal", "protocol.yaml"]) == 0
    assert main(["noise", "trial.yaml", "--output", "noise.yaml"]) == 0
    return tmp_path


def bytes_of(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir()) if path.is_file()}


READ_AND_OUTPUT = [
    "check trial.yaml --output runs.csv",
    "check trial.yaml --output protocol.yaml",
    "check trial.yaml --output protocol.seal.yaml",
    "check trial.yaml --output ./sub/../runs.csv",
    "check trial.yaml --output linked.csv",
    "check trial.yaml --output hard.csv",
    "analyse trial.yaml --output runs.csv",
    "analyse trial.yaml --output protocol.yaml",
    "noise trial.yaml --output runs.csv",
    "plan protocol.yaml --levels trial.yaml --noise noise.yaml --output runs.csv",
    "plan protocol.yaml --levels trial.yaml --noise noise.yaml --output noise.yaml",
    "sheet trial.yaml --output protocol.yaml",
    "seal --verify protocol.seal.yaml --output protocol.yaml",
    "seal --verify protocol.yaml --output protocol.seal.yaml",
]


@pytest.mark.parametrize("words", READ_AND_OUTPUT)
@pytest.mark.parametrize("more", [[], ["--replace"]])
def test_nothing_that_is_read_is_written_over(
    words: str, more: list[str], folder: Path, capsys: Capture
) -> None:
    (folder / "sub").mkdir()
    (folder / "linked.csv").symlink_to("runs.csv")
    os.link(folder / "runs.csv", folder / "hard.csv")
    before = bytes_of(folder)
    capsys.readouterr()
    assert main([*words.split(), *more]) == 2
    said = capsys.readouterr().err
    kept = not more or words.endswith("protocol.seal.yaml")
    assert "[output-is-an-input]" in said or (kept and "[output-exists]" in said)
    assert bytes_of(folder) == before


def test_claims_and_the_runs_behind_them_are_kept(folder: Path, capsys: Capture) -> None:
    article = EXAMPLE.parent / "published-article"
    for path in article.iterdir():
        shutil.copy(path, folder)
    claims = next(p.name for p in sorted(article.glob("*.yaml")) if "claims:" in p.read_text())
    before = bytes_of(folder)
    for target in before:
        if target != "noise.yaml":
            main(["audit", claims, "--output", target])
    assert bytes_of(folder) == before


@pytest.mark.parametrize(
    "words", ["explain", "check trial.yaml", "analyse trial.yaml", "new trial"]
)
def test_what_others_wrote_is_replaced_only_when_asked(
    words: str, folder: Path, capsys: Capture
) -> None:
    kept = folder / "precious.txt"
    kept.write_text("precious\n")
    assert main([*words.split(), "--output", str(kept)]) == 2
    assert "[output-exists]" in capsys.readouterr().err
    assert kept.read_text() == "precious\n"
    assert main([*words.split(), "--output", str(kept), "--replace"]) in (0, 1)
    assert kept.read_text() != "precious\n"


@pytest.mark.parametrize("ending", ["json", "html"])
def test_what_slackwater_wrote_is_replaced_unasked(ending: str, folder: Path) -> None:
    target = folder / f"result.{ending}"
    assert main(["analyse", "trial.yaml", "--output", str(target)]) == 0
    first = target.read_bytes()
    assert main(["analyse", "trial.yaml", "--output", str(target)]) == 0
    assert target.read_bytes() == first


def test_checks_are_replaced_unasked(folder: Path) -> None:
    for name in ("check.json", "check.sarif", "explain.json"):
        words = ["explain"] if "explain" in name else ["check", "trial.yaml"]
        assert main([*words, "--output", name]) in (0, 1)
        assert main([*words, "--output", name]) in (0, 1)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_that_writes_can_be_asked_to_replace(name: str) -> None:
    from importlib import import_module

    parser = Parser(name)
    import_module(COMMANDS[name][0]).add_arguments(parser)
    options = [word for action in parser._actions for word in action.option_strings]
    assert ("--output" in options) == ("--replace" in options)


# --- whole or not at all ---------------------------------------------------------------------------


def test_a_fault_while_writing_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "r.txt"
    target.write_text("old\n")

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError) as caught:
        write_whole(b"new\n", target, replace=True)
    assert "No space left" in caught.value.findings[0].message
    assert [path.name for path in tmp_path.iterdir()] == ["r.txt"]
    assert target.read_text() == "old\n"


def test_stopped_while_writing_leaves_nothing_half_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(descriptor: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_whole(b"new\n", tmp_path / "r.txt", replace=False)
    assert not list(tmp_path.iterdir())


def test_a_link_stays_a_link_and_permissions_stay(tmp_path: Path) -> None:
    real, link = tmp_path / "real.txt", tmp_path / "link.txt"
    real.write_text("old\n")
    real.chmod(0o640)
    link.symlink_to(real)
    write_whole(b"new\n", link, replace=True)
    assert link.is_symlink()
    assert real.read_text() == "new\n"
    assert real.stat().st_mode & 0o777 == 0o640


def test_what_came_meanwhile_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another program puts a file under the name while the bytes are on their way to the disk."""
    target, flush = tmp_path / "r.txt", os.fsync

    def meanwhile(descriptor: int) -> None:
        target.write_text("precious\n")
        flush(descriptor)

    monkeypatch.setattr(os, "fsync", meanwhile)
    with pytest.raises(InputError, match="output-exists"):
        write_whole(b"new\n", target, replace=False)
    assert target.read_text() == "precious\n"


def test_what_was_read_is_remembered_by_the_file_and_not_by_its_name(tmp_path: Path) -> None:
    from slackwater.protocol.files.reading import read_bytes

    path = tmp_path / "in.txt"
    path.write_text("measured\n")
    with remembering():
        read_bytes(path, 100)
        moved = path.rename(tmp_path / "moved.txt")
        with pytest.raises(InputError, match="output-is-an-input"):
            write_whole(b"new\n", moved, replace=True)


@pytest.mark.parametrize("name", ["n" * 300 + ".txt", "a\0b.txt", "gone/r.txt", "r.txt/"])
def test_names_that_cannot_be(name: str, tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "r.txt").mkdir()
    assert main(["explain", "--output", f"{tmp_path}/{name}"]) == 2
    assert "error:" in capsys.readouterr().err


# --- standard output -------------------------------------------------------------------------------


def _run(*words: str, **how: object) -> subprocess.CompletedProcess[bytes]:
    env = os.environ | {"PYTHONIOENCODING": "ascii"}
    return subprocess.run(  # type: ignore[call-overload,no-any-return]
        [*COMMAND, *words], check=False, timeout=120, env=env, **{"stderr": subprocess.PIPE, **how}
    )


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("words", [["explain"], ["explain", "--format", "json"], ["--help"]])
def test_a_full_standard_output_is_told(words: list[str]) -> None:
    with open("/dev/full", "wb") as full:
        done = _run(*words, stdout=full)
    assert done.returncode == 2, done.stderr
    assert b"No space left on device" in done.stderr
    assert b"Traceback" not in done.stderr


def test_a_closed_standard_output_is_told() -> None:
    done = subprocess.run(
        ["sh", "-c", f'"{sys.executable}" -m slackwater explain >&-'],
        capture_output=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 2
    assert b"standard output: error: cannot be written: it is closed" in done.stderr


def test_what_programs_read_is_utf_8_on_any_terminal(folder: Path) -> None:
    import json

    trial = folder / "trial.yaml"
    trial.write_text(trial.read_text("utf-8").replace("Workboat", "Šlauch ⛵ boat"), "utf-8")
    shown = _run("analyse", "trial.yaml", "--format", "json", stdout=subprocess.PIPE)
    assert "Šlauch ⛵ boat" in json.loads(shown.stdout.decode("utf-8"))["boat"]
    for_people = _run("analyse", "trial.yaml", stdout=subprocess.PIPE)
    assert for_people.stdout.isascii()


@pytest.mark.skipif(sys.platform != "linux", reason="names of other bytes are a matter of Linux")
def test_a_folder_whose_name_is_not_utf_8(folder: Path) -> None:
    odd = os.fsdecode(os.fsencode(folder) + b"/caf\xe9")
    shutil.copytree(folder, odd, dirs_exist_ok=False, ignore=shutil.ignore_patterns("caf*"))
    for form in ("json", "html"):
        done = _run("analyse", f"{odd}/trial.yaml", "--format", form, stdout=subprocess.PIPE)
        assert done.returncode == 0, done.stderr
        done.stdout.decode("utf-8")
    assert _run("check", f"{odd}/trial.yaml", "--output", f"{odd}/c.json").returncode in (0, 1)


# --- seals -----------------------------------------------------------------------------------------


def test_verify_means_the_file_named(folder: Path, capsys: Capture) -> None:
    """A seal that speaks of another file says nothing of this one."""
    other = folder / "other.yaml"
    shutil.copy(folder / "protocol.yaml", other)
    seal = folder / "other.seal.yaml"
    shutil.copy(folder / "protocol.seal.yaml", seal)
    other.write_text(other.read_text("utf-8") + "# changed\n", "utf-8")
    capsys.readouterr()
    assert main(["seal", "--verify", str(other)]) == 1
    said = capsys.readouterr().out
    assert "other.yaml  NOT SEALED; the seal beside it speaks of protocol.yaml" in said


def test_verify_looks_at_the_bytes_of_the_file_named(folder: Path, capsys: Capture) -> None:
    aside = folder / "aside"
    aside.mkdir()
    shutil.copy(folder / "protocol.yaml", aside / "protocol.yaml")
    seal = folder / "protocol.seal.yaml"
    seal.write_text(
        seal.read_text("utf-8").replace("protocol.yaml", "aside/protocol.yaml"), "utf-8"
    )
    changed = folder / "protocol.yaml"
    changed.write_text(changed.read_text("utf-8") + "# changed\n", "utf-8")
    capsys.readouterr()
    assert main(["seal", "--verify", str(changed)]) == 1
    assert "CHANGED" in capsys.readouterr().out


@pytest.mark.parametrize("kind", ["zero", "fifo"])
@pytest.mark.parametrize("role", ["seal", "sealed", "protocol", "beside", "runs"])
def test_devices_and_pipes_are_not_read(kind: str, role: str, folder: Path) -> None:
    name = {
        "seal": "protocol.seal.yaml",
        "sealed": "protocol.yaml",
        "protocol": "protocol.yaml",
        "beside": "zz.seal.yaml",
        "runs": "runs.csv",
    }[role]
    path = folder / name
    path.unlink(missing_ok=True)
    if kind == "fifo":
        os.mkfifo(path)
    else:
        path.symlink_to("/dev/zero")
    words = {
        "seal": ["seal", "--verify", name],
        "sealed": ["seal", "--verify", "protocol.seal.yaml"],
        "protocol": ["check", name],
        "beside": ["check", "trial.yaml"],
        "runs": ["check", "trial.yaml"],
    }[role]
    done = _run(*words, stdout=subprocess.PIPE)
    assert done.returncode in ((0, 1) if role == "beside" else (1, 2)), done.stdout
    assert b"Traceback" not in done.stderr


def test_ended_from_outside_leaves_nothing_half_done(folder: Path) -> None:
    """SIGTERM takes the way of Ctrl-C; nothing is left beside the files that were there."""
    before = sorted(bytes_of(folder))
    running = subprocess.Popen(
        [*COMMAND, "plan", "protocol.yaml", "--noise", "noise.yaml", "--output", "plan.html"],
        stderr=subprocess.PIPE,
    )
    running.send_signal(signal.SIGTERM) if running.poll() is None else None
    running.communicate(timeout=120)
    left = set(bytes_of(folder)) - set(before)
    assert left <= {"plan.html"}
