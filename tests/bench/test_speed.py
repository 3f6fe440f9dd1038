"""Speed as ratios: the two sides of each are measured side by side, in turn, in this run.

The yardstick is what an analyst would write first: a short script with pandas and pingouin that
makes one t-test a set point on the same file.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
import warnings
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np

from slackwater.analysis.statistics.comparison import compare
from slackwater.analysis.statistics.contrasts import contrasts

EXAMPLE = Path(__file__).parents[2] / "examples" / "workboat-interceptors"

YARDSTICK = """
import sys
import pandas as pd
import pingouin as pg

runs = pd.read_csv(sys.argv[1])
runs = runs[runs["set_aside"].isna()]
runs["fitted"] = runs["session"].map(dict(S1="A", S2="B", S3="B", S4="A", S5="A", S6="B"))
for point, here in runs.groupby("set_point [rpm]"):
    a = here.loc[here["fitted"] == "A", "speed_over_ground [kn]"]
    b = here.loc[here["fitted"] == "B", "speed_over_ground [kn]"]
    print(point, pg.ttest(b, a).round(3).to_string())
"""


TRIAL = """
trial: three-hundred-runs
protocol:
  protocol: speed-and-fuel
  runs:
    set_points:
      of: engine_speed
      values: [1000 rpm, 1400 rpm, 1800 rpm, 2000 rpm, 2200 rpm, 2500 rpm, 3000 rpm, 3500 rpm]
  measures: {speed_over_ground: {unit: kn, shared: true}, fuel_flow: {unit: L/h, shared: true}}
  sessions: {order: ABBAAB}
  analysis: {worthwhile: {speed: 1 %, economy: 3 %}}
configurations: {bare: {}, fitted: {}}
sessions:
  - {id: S1, configuration: bare}
  - {id: S2, configuration: fitted}
  - {id: S3, configuration: fitted}
  - {id: S4, configuration: bare}
  - {id: S5, configuration: bare}
  - {id: S6, configuration: fitted}
runs: runs.csv
"""


def _seconds(command: list[str]) -> float:
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    begin = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, env=environment)
    return time.perf_counter() - begin


def _fastest(each: list[Callable[[], float]], rounds: int = 4) -> list[float]:
    """The fastest of each, measured in turn after one warm-up: load only ever adds time."""
    for one in each:
        one()
    times = [[one() for one in each] for _ in range(rounds)]
    return [min(found) for found in zip(*times, strict=True)]


def _yardstick(tmp_path: Path) -> Callable[[], float]:
    script = tmp_path / "one_t_test_a_set_point.py"
    script.write_text(YARDSTICK, encoding="utf-8")
    return lambda: _seconds([sys.executable, str(script), str(EXAMPLE / "runs.csv")])


MOST = {
    "analyse {trial}": 0.7,  # 288 runs, the quantities of an ordinary sweep
    "analyse {example}": 0.9,  # and with every figure that can be asked
    "check {protocol}": 0.25,
    "check {example}": 0.35,  # with its 288 runs
    "--help": 0.1,
}


def test_commands_against_a_script(tmp_path: Path) -> None:
    """All beside one and the same run of the script, in turn."""
    from importlib.resources import as_file, files

    trial = tmp_path / "trial.yaml"
    trial.write_text(TRIAL, encoding="utf-8")
    shutil.copy(EXAMPLE / "runs.csv", tmp_path)
    with as_file(files("slackwater.protocols") / "two-way-sweep.yaml") as protocol:
        paths = {"trial": trial, "example": EXAMPLE / "trial.yaml", "protocol": protocol}
        taken = [_yardstick(tmp_path)]
        taken += [
            partial(
                _seconds,
                [sys.executable, "-m", "slackwater", *(p.format(**paths) for p in asked.split())],
            )
            for asked in MOST
        ]
        script, *fastest = _fastest(taken)
    ratios = {asked: time / script for asked, time in zip(MOST, fastest, strict=True)}
    late = {asked: round(ratio, 3) for asked, ratio in ratios.items() if ratio > MOST[asked]}
    assert not late, f"parts of the script's time: {late}"


def test_comparison_against_a_mixed_model() -> None:
    """At least 300 simulated trials for each that a mixed model fits in the same time."""
    import pandas as pd
    import statsmodels.formula.api as smf

    sessions, points, trials = "ABBAAB", 8, 4000
    rng = np.random.default_rng(11)
    shape = (trials, len(sessions), points)
    values = rng.normal(0, 0.006, (*shape[:2], 1)) + rng.normal(0, 0.004, shape)
    runs = np.full((trials, points), 0.002**2)
    layout = contrasts(list(sessions), "A", "B", np.ones(shape[1:], dtype=bool))
    table = pd.DataFrame(
        [
            (s, fitted, f"p{p}", values[0, s, p])
            for s, fitted in enumerate(sessions)
            for p in range(points)
        ],
        columns=["session", "fitted", "point", "value"],
    )

    def core() -> float:
        begin = time.perf_counter()
        found = compare(values, runs, layout)
        assert found is not None
        assert found.established.shape == (trials, points)
        return (time.perf_counter() - begin) / trials

    def mixed_model() -> float:
        begin = time.perf_counter()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            smf.mixedlm("value ~ point * fitted", table, groups="session").fit()
        return time.perf_counter() - begin

    model, one = _fastest([mixed_model, core])
    ratio = model / one
    assert ratio >= 300, f"only {ratio:.0f} trials for one mixed model"
