"""Work given to several processes or to a cluster: the same bytes whoever works, and how it ends."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import slackwater
from slackwater.analysis.cli import main
from slackwater.analysis.planning.power import Design, Noise, Setting
from slackwater.analysis.planning.surface import LOADS, Cell, drawn
from slackwater.analysis.working import workers as working
from slackwater.analysis.working.elsewhere import Elsewhere
from slackwater.analysis.working.giving_out import in_order
from slackwater.analysis.working.workers import cluster, hired_if_asked, processes
from slackwater.protocol.findings import InputError

CALIBRATION = Path(__file__).parents[1] / "calibration"
CELLS = [
    Cell(Design(n, m), Noise(0.006, 0.002, 0.004), Setting(4), 7) for n in (2, 4) for m in (1, 3)
]
ASKED: dict[str, Any] = {"between": "0.6 %", "effect": "1.5 %", "sessions": (2, 3)}


@pytest.fixture(scope="module")
def client() -> Any:
    """Two workers on this machine, each a process."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=":0", silence_logs=50
        ) as found,
        distributed.Client(found) as asked,
    ):
        yield asked


@pytest.fixture(scope="module")
def alone() -> str:
    return slackwater.plan("two-way-sweep", **ASKED).to_json()


def test_floors_are_the_same_whoever_draws(client: Any) -> None:
    here = list(in_order(drawn, CELLS, None))
    counted: list[int] = []
    for workers in (processes(2, LOADS), cluster(client, LOADS)):
        counted.clear()
        there = list(in_order(drawn, CELLS, workers, counted.append))
        assert counted == [1, 2, 3, 4]
        for one, other in zip(here, there, strict=True):
            np.testing.assert_array_equal(one, other)
    assert not np.array_equal(here[0], here[1])


def test_a_plan_is_the_same_bytes_whoever_simulates(client: Any, alone: str) -> None:
    assert slackwater.plan("two-way-sweep", client=client, **ASKED).to_json() == alone
    assert slackwater.plan("two-way-sweep", workers=2, **ASKED).to_json() == alone


def test_a_grid_of_worlds_is_the_same_whoever_simulates(client: Any) -> None:
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from run import asked_cells, tallies\n"
        "from slackwater.analysis.working.workers import hired_if_asked\n"
        "cells = asked_cells('oracle', 3)[0][:2]\n"
        "if __name__ == '__main__':\n"
        "    for count, address in ((1, None), (1, sys.argv[2])):\n"
        "        with hired_if_asked(count, address, None, 'slackwater.analysis.pipeline') as workers:\n"
        "            print(list(tallies(cells, workers)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(CALIBRATION), client.scheduler.address],
        stdout=subprocess.PIPE,
        check=True,
        encoding="utf-8",
    )
    here, there = done.stdout.splitlines()
    assert here == there
    assert "trials=3" in here


def takes_it_along(job: int) -> int:
    """The second job takes its process along, however often."""
    if job == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    return job


def test_a_job_that_workers_die_of_breaks_the_work_off() -> None:
    work = Elsewhere(str(Path(__file__).parent), Path(__file__).stem, "takes_it_along")
    with pytest.raises(InputError, match="ended without an answer, twice"):
        list(in_order(work, map(work.packed, range(4)), processes(2, LOADS)))


def test_nobody_is_hired_for_nothing() -> None:
    with (
        hired_if_asked(None, None, None, LOADS) as first,
        hired_if_asked(1, None, None, LOADS) as one,
    ):
        assert first is one is None


def test_a_scheduler_that_cannot_be_reached_is_one_clear_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr(working, "PATIENCE", 0.2)
    assert main(["plan", "two-way-sweep", "--scheduler", "tcp://127.0.0.1:9"]) == 2
    first, *rest = capsys.readouterr().err.strip().splitlines()
    assert "no Dask scheduler answered" in first
    assert "Traceback" not in "".join(rest)


def test_ctrl_c_leaves_no_worker_behind() -> None:
    # Whoever is started in the background is deaf to it, and so would this be.
    code = (
        "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "from slackwater.analysis.cli import command\n"
        "command()\n"
    )
    words = ["plan", "two-way-sweep", "--between", "0.6 %", "--sessions", "2-200", "--workers", "2"]
    running = subprocess.Popen(
        [sys.executable, "-c", code, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        encoding="utf-8",
    )
    deadline = time.monotonic() + 60
    while not (mine := _of_group(running.pid)) or len(mine) < 4:  # itself, a server, two workers
        assert time.monotonic() < deadline
        assert running.poll() is None, "it was done before it could be broken off"
        time.sleep(0.05)
    os.killpg(running.pid, signal.SIGINT)  # as a terminal does
    _, told = running.communicate(timeout=60)
    assert running.returncode == 130
    assert "Traceback" not in told
    while _of_group(running.pid) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert _of_group(running.pid) == []


def _of_group(leader: int) -> list[int]:
    """The processes of a group, those that have ended left out."""
    found = []
    for each in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, group = each.read_text("utf-8").rpartition(")")[2].split()[:3]
        except OSError:
            continue
        if int(group) == leader and state != "Z":
            found.append(int(each.parent.name))
    return found
