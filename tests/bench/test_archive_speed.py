"""A trial in a warm process, as an archive analyses hundreds, beside a short script and a cold command.

Processor time is compared, since several processes share the machine; the least of several rounds.
"""

from __future__ import annotations

import json
import os
import resource
import shutil
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from archive_run import ALONE, measured, ran
from test_speed import EXAMPLE, TRIAL, YARDSTICK

MOST_OF_SCRIPT, MOST_OF_COLD = 0.12, 0.25
ROUNDS = 2


def _spent(words: list[str]) -> float:
    """Processor time of a command. [s]"""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    subprocess.run([sys.executable, *words], check=True, capture_output=True, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def test_a_warm_trial_beside_a_script_and_a_cold_command(tmp_path: Path) -> None:
    folder = tmp_path / "trials"
    folder.mkdir()
    (folder / "trial.yaml").write_text(TRIAL, encoding="utf-8")  # 288 runs
    shutil.copy(EXAMPLE / "runs.csv", folder)
    script = tmp_path / "one_t_test_a_set_point.py"
    script.write_text(YARDSTICK, encoding="utf-8")
    cold = ["-m", "slackwater", "analyse", str(folder / "trial.yaml"), "--format", "json"]
    rounds = [
        (
            ran(ALONE, folder, str(folder), *["trial.yaml"] * 6)["each"],
            _spent([str(script), str(EXAMPLE / "runs.csv")]),
            _spent(cold),
        )
        for _ in range(ROUNDS)
    ]
    warm, by_script, by_command = (min(each) for each in zip(*rounds, strict=True))
    ratios = {"script": warm / by_script, "cold": warm / by_command}
    assert ratios["script"] <= MOST_OF_SCRIPT, json.dumps(ratios)
    assert ratios["cold"] <= MOST_OF_COLD, json.dumps(ratios)


@pytest.mark.full
def test_a_pass_keeps_two_workers_busy_and_a_second_one_costs_nothing() -> None:
    with TemporaryDirectory() as place:
        found = measured(200, Path(place))
    assert found["efficiency"] >= 0.9, found
    assert found["second"] >= 50, found
    assert found["peak"] <= 1.25 * found["peak_few"], found
