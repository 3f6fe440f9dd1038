"""A plan over 400 designs against a plan of one: the whole command, measured in turn."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time

PROTOCOL = "two-way-sweep"
ASKED = ["--quantity", "speed", "--effect", "1 %", "--between", "0.5 %", "--within", "0.4 %"]
ONE = ["--sessions", "3", "--double-runs", "3"]
MANY = ["--sessions", "2-21", "--double-runs", "1-20"]


def _plan(*designs: str) -> tuple[float, int]:
    """Seconds that the command takes, and the designs it answers for."""
    command = [sys.executable, "-m", "slackwater", "plan", PROTOCOL, *ASKED, *designs]
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    begin = time.perf_counter()
    done = subprocess.run(
        [*command, "--format", "json"], check=True, capture_output=True, env=environment
    )
    return time.perf_counter() - begin, len(json.loads(done.stdout)["options"])


def test_400_designs_take_at_most_twice_the_time_of_one() -> None:
    # In turn, the fastest of each: load only ever adds time.
    rounds = [(_plan(*MANY), _plan(*ONE)) for _ in range(2)]
    assert {(many[1], one[1]) for many, one in rounds} == {(400, 1)}
    ratio = min(many[0] for many, _ in rounds) / min(one[0] for _, one in rounds)
    assert ratio <= 2.0, f"400 designs took {ratio:.2f} times as long as one"
