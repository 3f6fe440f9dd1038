"""An archive that is broken off, doubled, or led through a folder that is in a bad way."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import duckdb
import pytest
from fleet_trials import BROKEN, fleet

import slackwater
from slackwater.analysis.archive import lock, running
from slackwater.analysis.archive.columns import COLUMNS
from slackwater.analysis.archive.kept import Job, Kept, keep
from slackwater.analysis.archive.lock import locked
from slackwater.analysis.archive.looking import is_trial, look_below
from slackwater.analysis.archive.store import store_beside
from slackwater.analysis.cli import main
from slackwater.analysis.working import workers
from slackwater.protocol.findings import InputError

TRIALS = 6


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("laid") / "trials"
    fleet(folder, TRIALS - 1)
    (folder / "broken.yaml").write_text(BROKEN, encoding="utf-8")
    slackwater.archive(folder)
    return folder


@pytest.fixture
def folder(laid: Path, tmp_path: Path) -> Path:
    """The trials without a store."""
    shutil.copytree(laid, tmp_path / "trials")
    return tmp_path / "trials"


def _held(store: Path) -> dict[str, list[Any]]:
    """Every row of a store, but for when it was made and what stands only in the history."""
    out = {}
    with duckdb.connect(str(store), read_only=True) as connection:
        for name, fields in COLUMNS.items():
            if name in ("passes", "differing"):
                continue
            columns = ", ".join(f'"{each.name}"' for each in fields if each.name != "passed")
            out[name] = sorted(
                connection.execute(f"SELECT {columns} FROM {name}").fetchall(), key=str
            )
    return out


def _started(folder: Path, *words: str) -> subprocess.Popen[bytes]:
    # Batches of one, so that a kill falls between two of them as well as into one.
    code = (
        "import sys\n"
        "from slackwater.analysis.archive import archiving\n"
        "archiving.BATCH = 1\n"
        "from slackwater.analysis.cli import main\n"
        "if __name__ == '__main__':\n"
        "    sys.exit(main(sys.argv[1:]))\n"
    )
    script = folder.parent / "archive_in_small_batches.py"
    script.write_text(code, encoding="utf-8")
    return subprocess.Popen(
        [sys.executable, str(script), "archive", str(folder), *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )


def _killed_at(laid: Path, folder: Path, moments: list[float]) -> None:
    """Kill it again and again, and let it finish: what is kept is what one pass keeps."""
    for moment in moments:
        process = _started(folder, "--workers", "2")
        time.sleep(moment)
        process.send_signal(signal.SIGKILL)
        process.communicate()
        store = store_beside(folder)
        if store.exists():
            with duckdb.connect(str(store), read_only=True) as connection:
                found = connection.execute(
                    "SELECT count(*), count(DISTINCT path) FROM trials"
                ).fetchall()[0]
                assert found[0] == found[1] <= TRIALS
                half = connection.execute(
                    "SELECT count(*) FROM trials t WHERE state = 'analysed' AND NOT EXISTS "
                    "(SELECT 1 FROM session_values s WHERE s.path = t.path)"
                ).fetchall()[0][0]
                assert half == 0
    slackwater.archive(folder, workers=1)
    assert _held(store_beside(folder)) == _held(store_beside(laid))


def test_killed_and_taken_up(laid: Path, folder: Path) -> None:
    _killed_at(laid, folder, [0.9, 2.2])


@pytest.mark.full
@pytest.mark.parametrize("seed", range(10))
def test_killed_at_fifty_moments(laid: Path, folder: Path, seed: int) -> None:
    """Ten folders, each killed at five moments drawn from the time that a whole pass takes."""
    spare = folder.parent / "spare" / "trials"
    shutil.copytree(folder, spare)
    begin = time.monotonic()
    assert _started(spare, "--workers", "2").wait() == 0
    whole = time.monotonic() - begin
    drawn = random.Random(seed)
    _killed_at(laid, folder, [drawn.uniform(0, whole) for _ in range(5)])


def test_two_at_once_on_one_store(laid: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with locked(store_beside(laid)):
        assert main(["archive", str(laid)]) == 2
        assert "another archive is writing this store" in capsys.readouterr().err
    assert main(["archive", str(laid)]) == 0


class _Windows:
    """What Windows has for locking, as its documentation tells: one byte, one holder, no waiting.

    It stands in for a module that there is only there; that the system itself does so is not shown.
    """

    LK_NBLCK = 2

    def __init__(self) -> None:
        self.held: dict[tuple[int, int], int] = {}

    def locking(self, file: int, mode: int, length: int) -> None:
        assert (mode, length) == (self.LK_NBLCK, 1)
        at = (os.fstat(file).st_ino, os.lseek(file, 0, os.SEEK_CUR))
        if at in self.held:
            raise PermissionError(13, "Permission denied")
        self.held[at] = file

    def close(self, file: int) -> None:
        os.close(file)  # and what it held is free
        self.held = {at: holder for at, holder in self.held.items() if holder != file}


def test_the_lock_by_what_windows_has(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    there = _Windows()
    monkeypatch.setattr(
        lock, "os", SimpleNamespace(**{**vars(os), "name": "nt", "close": there.close})
    )
    monkeypatch.setattr(lock, "import_module", {"msvcrt": there}.__getitem__)
    store = tmp_path / "trials.duckdb"
    with locked(store):
        assert len(there.held) == 1
        with pytest.raises(InputError, match="another archive is writing"), locked(store):
            pass
    with locked(store):  # what was open is closed, and its lock with it
        assert len(there.held) == 1


def test_a_lock_that_a_kill_left_is_no_lock(folder: Path) -> None:
    code = (
        "import sys, time\nfrom pathlib import Path\n"
        "from slackwater.analysis.archive.lock import locked\n"
        "with locked(Path(sys.argv[1])):\n"
        "    print('held', flush=True)\n"
        "    time.sleep(60)\n"
    )
    store = store_beside(folder)
    holder = subprocess.Popen(
        [sys.executable, "-c", code, str(store)], stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    with pytest.raises(InputError, match="another archive"), locked(store):
        pass
    holder.kill()
    holder.communicate()
    with locked(store):
        assert store.with_name(store.name + ".lock").exists()


def test_names_of_other_bytes_loops_and_strangers(folder: Path) -> None:
    strange = os.fsdecode(b"\xff\xfetrials")
    try:
        (folder / "quay").rename(folder / strange)
    except OSError:
        pytest.skip("this disk takes no names of other bytes")
    (folder / "loop").symlink_to(folder, target_is_directory=True)
    (folder / "nowhere.yaml").symlink_to(folder / "gone.yaml")
    (folder / "circle.yaml").symlink_to(folder / "circle.yaml")
    others = folder / "others"
    others.mkdir()
    for number in range(2000):
        (others / f"note-{number}.{('txt', 'yaml', 'csv')[number % 3]}").write_text("a: 1\n")
    os.mkfifo(others / "pipe.yaml")  # it would never answer
    result = slackwater.archive(folder)
    assert len(result.trials) == TRIALS
    assert result.links == ("loop",)
    assert [each.path for each in result.broken] == ["broken.yaml"]
    assert any(each.path.startswith("\\xff\\xfetrials/") for each in result.trials)
    assert set(result.closed) == {"others/pipe.yaml", "circle.yaml"}
    result.to_json().encode("utf-8")
    result.to_html().encode("utf-8")
    again = slackwater.archive(folder)
    assert again.counts.unchanged == TRIALS


def test_a_folder_without_permission_is_told_and_its_trials_are_kept(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    slackwater.archive(folder)
    true = os.scandir

    def refuses(path: Any) -> Any:  # whoever is root may look everywhere
        if str(path).endswith("north"):
            raise PermissionError(13, "Permission denied", path)
        return true(path)

    monkeypatch.setattr(os, "scandir", refuses)
    result = slackwater.archive(folder)
    assert result.closed == {"north": "permission denied"}
    assert result.counts.gone == 0
    assert "north (permission denied)" in str(result)


def test_a_trial_that_vanishes_in_the_middle_is_none(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from slackwater.analysis.archive import archiving

    true = look_below

    def looks(where: Path) -> Any:
        looked = true(where)
        next(where.glob("north/*.yaml")).unlink()
        return looked

    monkeypatch.setattr(archiving, "look_below", looks)
    result = slackwater.archive(folder, workers=1)
    assert len(result.trials) == TRIALS - 1
    assert result.counts.gone == 1


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        ("trial: a\nprotocol: b\n", True),
        ('"trial": a\n"protocol": b\n', True),
        ("{trial: a, protocol: b}", True),
        ("trial: trial.yaml\nclaims: []\nprotocol: x\n", False),
        ("protocol: a\nruns: {}\n", False),
        ("a:\n  retrial: x\n  protocol: b\n", False),
        ("trial: 5\n", False),
        ("a:\n  trial: x\n  protocol: b\n", False),
    ],
)
def test_what_a_trial_is_known_by(text: str, is_one: bool) -> None:
    assert is_trial(text.encode()) is is_one
    assert is_trial(text.encode("utf-16")) is is_one


def test_what_is_read_in_pieces_or_missed_is_an_input_too(tmp_path: Path) -> None:
    import hashlib

    from slackwater.protocol.files import reading

    log, data = tmp_path / "day.log", b"x" * 30_000_000  # more than a table may have
    log.write_bytes(data)
    with reading.traced() as trace:
        assert sum(len(each) for each in reading.pieces(log, 1 << 20, 1 << 30)) == len(data)
        assert not reading.is_there(tmp_path / "none.log")
    assert trace == {log: reading.UNREAD, tmp_path / "none.log": reading.ABSENT}
    assert reading.hash_of(log) == hashlib.sha256(data).hexdigest()
    assert reading.hash_of(tmp_path / "none.log") == reading.ABSENT
    with reading.traced() as trace:
        reading.read_bytes(log, len(data))
        log.write_bytes(b"y")
        reading.read_bytes(log, len(data))
    assert trace == {log: reading.CHANGING}


def dies(job: Job) -> Kept:
    """Stands for an analysis that takes its process along: `keep`, but for one trial."""
    if job.path.endswith("004.yaml"):
        os.kill(os.getpid(), signal.SIGKILL)
    return keep(job)


def test_a_worker_that_dies_takes_nothing_along_but_its_trial(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(running, "keep", dies)
    result = slackwater.archive(folder, workers=2)
    fatal = [each for each in result.broken if each.path != "broken.yaml"]
    assert [Path(each.path).name[-8:] for each in fatal] == ["004.yaml"]
    assert "ended without an answer" in fatal[0].message
    monkeypatch.undo()
    again = slackwater.archive(folder, workers=1)
    assert (again.counts.changed, len(again.broken)) == (1, 1)


# --- on a cluster -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def client() -> Any:
    """Two workers on this machine, each a process."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=":0", silence_logs=50
        ) as cluster,
        distributed.Client(cluster) as found,
    ):
        yield found


def test_a_cluster_keeps_the_same(laid: Path, folder: Path, client: Any) -> None:
    result = slackwater.archive(folder, client=client)
    assert result.counts.new == TRIALS
    assert _held(store_beside(folder)) == _held(store_beside(laid))


def _kill_the_first_that_works(job: Job) -> Kept:
    """The first job takes its worker along, once."""
    mark = Path(job.folder) / "killed"
    if job.path.endswith("004.yaml") and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return keep(job)


def test_a_worker_of_the_cluster_is_killed_in_mid_run(
    laid: Path, folder: Path, client: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(running, "keep", _kill_the_first_that_works)
    result = slackwater.archive(folder, client=client)
    assert (folder / "killed").exists()
    assert [each.path for each in result.broken] == ["broken.yaml"]
    assert _held(store_beside(folder)) == _held(store_beside(laid))


def test_a_scheduler_by_its_address(folder: Path, client: Any) -> None:
    assert main(["archive", str(folder), "--scheduler", client.scheduler.address]) == 0


def test_workers_that_see_other_disks_are_told(folder: Path, client: Any) -> None:
    moved = folder.parent / "elsewhere"
    with pytest.raises(InputError, match="a worker finds no such file"):
        list(_seen_elsewhere(folder, moved, client))


def _seen_elsewhere(folder: Path, moved: Path, client: Any) -> Any:
    from slackwater.analysis.archive import archiving

    kept = keep(Job(str(moved), "broken.yaml"))
    assert not kept.trial_read
    one = archiving._Pass.__new__(archiving._Pass)
    one._folder = folder
    yield one._stop_if_there("broken.yaml")


def test_a_scheduler_that_cannot_be_reached(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(workers, "PATIENCE", 1.0)
    for address in ("tcp://127.0.0.1:9", "nonsense://x"):
        assert main(["archive", str(folder), "--scheduler", address]) == 2
        said = capsys.readouterr().err
        assert "no Dask scheduler answered" in said
        assert said.count("error:") == 1
