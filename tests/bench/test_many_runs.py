"""A trial of 22,400 runs beside one of 252: at most four times the time.

To check the many is held to the analysis of the few: to check the few takes little but the start of
the program.

Whole commands are timed in turn in this run, the fastest of each, since load only ever adds time.
"""

from __future__ import annotations

import math
import random
import subprocess
import sys
import time
from datetime import datetime, timedelta
from pathlib import Path

POINTS = tuple(range(1000, 3101, 350))
MOST = 4.0
ROUNDS = 2


def lay(folder: Path, sessions: int, double_runs: int) -> Path:
    """An invented trial of seven set points in so many sessions."""
    folder.mkdir()
    dice = random.Random(1)
    order = ("ABBA" * sessions)[:sessions]
    rows = [
        (
            "session,set_point [rpm],double_run,direction,start,duration [s],speed_over_ground [kn],"
            "engine_speed [rpm],fuel_flow [L/h],set_aside,note"
        )
    ]
    declared = []
    for s, letter in enumerate(order, 1):
        clock = begun = datetime(2026, 1, 1, 6) + timedelta(days=s)
        fitted = "bare" if letter == "A" else "fitted"
        declared.append(f"  - {{id: S{s}, configuration: {fitted}, date: {begun:%Y-%m-%d}}}")
        shared = dice.gauss(0, 0.006)
        for number in range(1, double_runs + 1):
            for point in dice.sample(POINTS, len(POINTS)):
                for sign in (1, -1):
                    tide = 0.6 * math.sin((clock - begun).seconds / 9000)
                    speed = (4 + point / 200) * math.exp(shared) + sign * tide
                    rows.append(
                        f"S{s},{point},{number},{'out' if sign > 0 else 'back'},"
                        f"{clock:%Y-%m-%dT%H:%M:%S},60,{speed + dice.gauss(0, 0.05):.2f},"
                        f"{point + dice.gauss(0, 4):.0f},{3 + point / 60 + dice.gauss(0, 0.1):.2f},,"
                    )
                    clock += timedelta(seconds=75)
    (folder / "runs.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    path = folder / "trial.yaml"
    path.write_text(
        f"""trial: many-runs
protocol:
  protocol: many-runs
  runs:
    set_points: {{of: engine_speed, values: [{", ".join(f"{p} rpm" for p in POINTS)}]}}
    double_runs: {double_runs}
  sessions: {{order: {order}}}
  measures: {{speed_over_ground: {{unit: kn}}, engine_speed: {{unit: rpm}}, fuel_flow: {{unit: L/h}}}}
  analysis: {{worthwhile: {{speed: 1 %, economy: 3 %}}}}
configurations: {{bare: {{}}, fitted: {{}}}}
sessions:
"""
        + "\n".join(declared)
        + "\nruns: runs.csv\n",
        encoding="utf-8",
    )
    assert len(rows) - 1 == sessions * double_runs * len(POINTS) * 2
    return path


def taken(command: str, path: Path) -> float:
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "slackwater.analysis.cli", command, str(path)],
        capture_output=True,
        check=False,
        timeout=300,
    )
    assert done.returncode in (0, 1), done.stderr[-2000:]
    return time.perf_counter() - started


def test_many_runs_take_their_share(tmp_path: Path) -> None:
    few, many = lay(tmp_path / "few", 6, 3), lay(tmp_path / "many", 40, 40)
    asked = [("analyse", few), ("analyse", many), ("check", many)]
    taken(*asked[0])
    rounds = [[taken(*each) for each in asked] for _ in range(ROUNDS)]
    unit, analysed, checked = (min(times) for times in zip(*rounds, strict=True))
    assert analysed <= MOST * unit
    assert checked <= MOST * unit
