"""How often the rules that go by statistics speak of an honest trial.

The trials are invented: the workboat of the examples, run again with other seeds.
"""

from __future__ import annotations

import importlib.util
import shutil
from collections import Counter
from datetime import datetime
from pathlib import Path
from types import ModuleType

from score import EXAMPLES

from slackwater.analysis.checking.examine import examine

TRIALS = 40
SOURCE = EXAMPLES / "workboat-interceptors"
MORNINGS = (
    ("S1", "bare", "2026-05-04", 0.9, 1.0),
    ("S2", "fitted", "2026-05-06", 1.1, 2.6),
    ("S3", "fitted", "2026-05-11", 1.2, 4.1),
    ("S4", "bare", "2026-05-13", 1.0, 5.4),
    ("S5", "bare", "2026-05-19", 0.8, 0.2),
    ("S6", "fitted", "2026-05-21", 1.0, 3.0),
)
POINTS = [1000, 1400, 1800, 2000, 2200, 2500, 3000, 3500]


def _generator() -> ModuleType:
    """What the examples' tables are made with."""
    spec = importlib.util.spec_from_file_location("invented_trials", EXAMPLES / "invented.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    import sys

    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_honest_trials_are_seldom_suspected(tmp_path: Path) -> None:
    make = _generator()
    bare = make.Boat(make.semi_planing, make.diesel)
    fitted = make.changed(bare, make.bump(2250, 420, 0.055), make.bump(2250, 500, -0.02))
    days = [
        make.Day(id, on, datetime.fromisoformat(f"{date}T08:30:00"), tide, phase)
        for id, on, date, tide, phase in MORNINGS
    ]
    for name in ("trial.yaml", "protocol.yaml"):
        shutil.copy(SOURCE / name, tmp_path / name)
    boats = {"bare": bare, "fitted": fitted}
    alarms: Counter[str] = Counter()
    for seed in range(TRIALS):
        make.sweep(tmp_path / "runs.csv", days, boats, POINTS, 3, 5000 + seed, 0.005)
        found = examine(str(tmp_path / "trial.yaml")).checked.findings
        alarms.update({finding.rule for finding in found})
    # The generator lets the throttle stray by more than 1 % now and then: that is no false alarm.
    assert set(alarms) <= {"set-point-not-held", "value-outlier", "direction-doubtful"}
    # Some 430 values are looked at in each trial. Over 100 trials 4 and 5 % had one suspected;
    # more than 7 of 40 at 5 % comes about in less than one draw of a thousand.
    assert alarms["value-outlier"] <= 7
    assert alarms["direction-doubtful"] <= 7
