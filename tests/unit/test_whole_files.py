"""Whole files, whoever is stopped, whatever is full and whoever else writes: the old one or the new."""

from __future__ import annotations

import random
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from slackwater.analysis.cli import main
from slackwater.analysis.commands.writing import write_whole
from slackwater.protocol.findings import InputError

EXAMPLES = Path(__file__).parents[2] / "examples"
EXAMPLE = EXAMPLES / "workboat-interceptors"
Capture = pytest.CaptureFixture[str]

OLD, NEW = b"old\n" * 50_000, b"new\n" * 50_000
WRITE = """
import sys
from pathlib import Path
from slackwater.analysis.commands.writing import write_whole
old, new = b"old\\n" * 50_000, b"new\\n" * 50_000
rounds = int(sys.argv[2])
print("ready", flush=True)
for number in range(rounds):
    write_whole((old, new)[(number + int(sys.argv[3])) % 2], Path(sys.argv[1]), True)
"""


def _writer(target: Path, rounds: int, first: int = 0) -> subprocess.Popen[bytes]:
    running = subprocess.Popen(
        [sys.executable, "-c", WRITE, str(target), str(rounds), str(first)], stdout=subprocess.PIPE
    )
    assert running.stdout is not None
    assert running.stdout.readline() == b"ready\n"
    return running


def test_killed_while_writing_leaves_the_old_file_or_the_new(tmp_path: Path) -> None:
    target, dice = tmp_path / "r.txt", random.Random(4)
    target.write_bytes(OLD)
    for _ in range(8):
        running = _writer(target, 1_000_000)
        time.sleep(dice.uniform(0, 0.05))
        running.kill()
        running.communicate()
        assert target.read_bytes() in (OLD, NEW)


def test_two_writers_make_no_mixture(tmp_path: Path) -> None:
    target = tmp_path / "r.txt"
    target.write_bytes(OLD)
    both = [_writer(target, 300, first) for first in (0, 1)]
    while any(each.poll() is None for each in both):
        assert target.read_bytes() in (OLD, NEW)
    assert [each.wait() for each in both] == [0, 0]
    for each in both:
        each.communicate()
    assert [path.name for path in tmp_path.iterdir()] == ["r.txt"]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 kB, where the system lets one be made."""
    disk = tmp_path / "disk"
    disk.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)],
        capture_output=True,
        check=False,
    )
    if made.returncode != 0:
        pytest.skip("this system lets nobody make a small disk here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_full_disk_leaves_the_old_file(small_disk: Path, capsys: Capture) -> None:
    target = small_disk / "r.txt"
    target.write_bytes(b"old\n")
    with pytest.raises(InputError, match="No space left"):
        write_whole(OLD, target, replace=True)
    assert target.read_bytes() == b"old\n"
    assert [path.name for path in small_disk.iterdir()] == ["r.txt"]
    assert (
        main(["analyse", str(EXAMPLE / "trial.yaml"), "--output", str(small_disk / "r.html")]) == 2
    )
    assert [path.name for path in small_disk.iterdir()] == ["r.txt"]


# What each writing command is asked, in a folder with a trial, claims and a log; what it writes.
KILLED = {
    "analyse": "analyse trial.yaml --output target.json",
    "analyse, page": "analyse trial.yaml --output target.html",
    "audit": "audit claims.yaml --output target.json",
    "audit, claims": "audit table.csv --quantity speed --to-claims target.yaml",
    "check": "check trial.yaml --output target.json",
    "explain": "explain --output target.json",
    "logs": "logs receiver.txt --output target.json",
    "new": "new protocol --output target.yaml",
    "noise": "noise trial.yaml --output target.json",
    "plan": "plan two-way-sweep --speed '8 kn' --sessions 2-3 --output target.json",
    "pool": "pool trial.yaml --output target.json",
    "rehearse": "rehearse two-way-sweep --output target",
    "seal": "seal protocol.yaml --output target.seal.yaml",
    "sheet": "sheet two-way-sweep --output target.json",
    "sheet, tablet": "sheet trial.yaml --for tablet --output target.html",
    "sheet, raters": "sheet blind-rating --for raters --output target.html",
    "statement": "statement trial.yaml --output target.html",
    "statement, folder": "statement trial.yaml --folder target",
}
# Enough to be taken for a file of this program's own, which it may replace.
OLD_FILE = b"# slackwater\n" * 40
LOG = "\n".join(
    f"$GPRMC,0900{second:02d},A,5000.00{second},N,00100.000,W,08.{second % 10},090.0,040526,,"
    for second in range(60)
)


def _written(folder: Path) -> dict[str, bytes]:
    """What stands under the name of the target, without the times of day that it may tell."""
    target = next(folder.glob("target*"), None)
    if target is None:
        return {}
    files = sorted(target.rglob("*")) if target.is_dir() else [target]
    return {
        path.relative_to(folder).as_posix(): re.sub(
            rb"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d[^\s\"]*", b"TIME", path.read_bytes()
        )
        for path in files
        if path.is_file() and not path.name.startswith(".")
    }


@pytest.mark.parametrize(
    ("name", "kills"),
    [
        *(pytest.param(name, 200, marks=pytest.mark.full) for name in KILLED),
        ("new", 3),
    ],
)
def test_each_command_killed_at_random_moments(name: str, kills: int, tmp_path: Path) -> None:
    """From the start of the process to a little after its end, over what stood there and anew."""
    import shlex

    articles = EXAMPLES / "published-article"
    for each in (EXAMPLE / "trial.yaml", EXAMPLE / "protocol.yaml", EXAMPLE / "runs.csv"):
        shutil.copy(each, tmp_path)
    shutil.copy(articles / "table.csv", tmp_path)
    shutil.copy(articles / "careless-without-runs.yaml", tmp_path / "claims.yaml")
    (tmp_path / "receiver.txt").write_text(LOG + "\n", "ascii")
    words = [sys.executable, "-m", "slackwater", *shlex.split(KILLED[name])]
    dice = random.Random(name)

    def empty() -> None:
        for path in tmp_path.glob("target*"):
            shutil.rmtree(path) if path.is_dir() else path.unlink()

    began = time.monotonic()
    done = subprocess.run(words, cwd=tmp_path, check=False, capture_output=True, timeout=300)
    took, new = time.monotonic() - began, _written(tmp_path)
    assert new, done.stderr
    for number in range(kills):
        empty()
        old = dict.fromkeys(new, OLD_FILE) if number % 2 else {}
        for file, data in old.items():
            (tmp_path / file).parent.mkdir(exist_ok=True)
            (tmp_path / file).write_bytes(data)
        running = subprocess.Popen(
            [*words, *(["--replace"] if old else [])],
            cwd=tmp_path, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        # Most of the time goes into starting; the second half is where files are written.
        time.sleep(dice.uniform(0.4 if number % 4 < 3 else 0.0, 1.1) * took)
        running.kill()
        running.wait()
        for file, data in _written(tmp_path).items():
            assert file in new
            assert data in (old.get(file), new[file]), f"{file} is neither the old nor the new"
