"""The runs of a trial file, read by what its protocol declares."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from slackwater.analysis.intake.tables import read_runs
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.findings import InputError

# An invented trial.
TRIAL = """
trial: invented-launch
protocol:
  protocol: invented-sweep
  version: "1.0"
  title: Invented, for tests
  runs:
    set_points: {of: engine_speed, values: [1000 rpm, 2000 rpm]}
    directions: DIRECTIONS
  measures:
    speed_over_ground: {unit: m/s}
    engine_speed: {}
    trim: {}
boat: {title: Invented launch}
configurations: {bare: {}, fitted: {}}
sessions:
  - {id: "007", configuration: bare}
  - {id: NA, configuration: fitted}
runs: data/runs.csv
units: {speed_over_ground: kn}
columns: {speed_over_ground: GPS speed}
"""
TABLE = """\
session,set_point [rpm],double_run,direction,start,GPS speed,engine_speed [rpm],trim [deg]
007,1000,1,out,2026-05-04T09:00:00,8.31,1002,-0.5
007,1000,1,back,2026-05-04T09:03:00,7.62,1001,0
NA,2000,1,out,2026-05-05T09:00:00,15.13,1998,0.2
NA,2000,1,back,2026-05-05T09:03:00,15.94,2003,
"""


def write(folder: Path, table: str, directions: str = "reciprocal") -> Any:
    (folder / "data").mkdir(exist_ok=True)
    (folder / "data" / "runs.csv").write_text(table, encoding="utf-8")
    path = folder / "trial.yaml"
    path.write_text(TRIAL.replace("DIRECTIONS", directions), encoding="utf-8")
    return load_trial(path)


def test_the_trial_says_how_its_runs_are_read(tmp_path: Path) -> None:
    table = read_runs(write(tmp_path, TABLE))
    assert [(f.rule, f.run) for f in table.findings] == [("value-missing", "row 5")]
    assert table.file == str(tmp_path / "data" / "runs.csv")
    assert table.units["speed_over_ground"] == "m/s"
    assert table.units["trim"] == "deg"
    assert table.frame["session"].tolist() == ["007", "007", "NA", "NA"]
    assert table.frame["configuration"].tolist() == ["bare", "bare", "fitted", "fitted"]
    # 1 kn = 1852/3600 m/s (NIST SP 811, appendix B.8)
    assert table.frame["speed_over_ground"][0] == pytest.approx(8.31 * 1852 / 3600, rel=1e-12)
    assert table.frame["trim"].tolist()[:3] == [-0.5, 0, 0.2]
    assert math.isnan(table.frame["trim"][3])


def test_directions_follow_the_protocol(tmp_path: Path) -> None:
    lines = [line.split(",") for line in TABLE.splitlines()]
    table = "\n".join(",".join([*c[:2], *c[4:]]) for c in lines)
    with pytest.raises(InputError, match="direction-missing"):
        read_runs(write(tmp_path, table))
    frame = read_runs(write(tmp_path, table, "one_way")).frame
    assert frame["double_run"].tolist() == [1, 2, 1, 2]


def test_set_points_of_the_protocol_tell_thousands(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="the protocol has 2000"):
        read_runs(write(tmp_path, TABLE.replace(",2000,", ",2.000,")))


def test_a_missing_table_is_told_with_its_path(tmp_path: Path) -> None:
    trial = write(tmp_path, TABLE)
    (tmp_path / "data" / "runs.csv").unlink()
    with pytest.raises(InputError, match="there is no such file") as caught:
        read_runs(trial)
    (finding,) = caught.value.findings
    assert finding.place is not None
    assert finding.place.file.endswith("runs.csv")


def test_importing_the_reader_loads_no_heavy_library() -> None:
    code = (
        "import sys, slackwater.analysis.intake.tables\n"
        "print([m for m in ('pandas', 'openpyxl', 'pyarrow', 'pint') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
