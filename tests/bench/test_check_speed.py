"""`check` on a protocol: at once, and a long one in proportion to a short one.

Times are compared within one run, since machines differ.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

from slackwater.analysis.checking.examine import examine

SHORT, LONG = 50, 1000  # lines
HEAD = """\
protocol: long
sources: [Common practice]
cautions: [The skipper may call off any run.]
loading: {displacement: {within: 1 %}, fuel: {between: [40 %, 100 %]}, crew: {same: true}}
runs:
  directions: reciprocal
  double_runs: 3
  steady: {settle: 20 s, record: 60 s}
sessions: {per_configuration: 3, order: ABBAAB}
analysis: {worthwhile: {speed: 1 %, economy: 3 %}, decides: speed}
conditions:
  wind_speed: {at_most: 8 kn}
  wave_height: {at_most: 0.3 m}
  water_depth: {at_least: 20 m}
  current: {at_most: 1.5 kn}
  water_temperature: {within: 5 delta_degC}
"""
MEASURES = """\
measures:
  speed_over_ground: {unit: kn, standard_uncertainty: 0.05 kn, shared: true}
  engine_speed: {unit: rpm, standard_uncertainty: 5 rpm, shared: true}
  fuel_flow: {unit: L/h, standard_uncertainty: 1 %, shared: true}
"""


def protocol(lines: int) -> str:
    """A protocol of so many lines: further conditions, measures and set points in equal parts."""
    left = lines - HEAD.count("\n") - MEASURES.count("\n") - 3
    points = min(left // 5, 190)
    conditions = (left - points) // 2
    measures = left - points - conditions
    text = HEAD
    text += "".join(f"  condition_{i}: {{at_most: {i + 1} m}}\n" for i in range(conditions))
    text += MEASURES
    text += "".join(
        f"  reading_{i}: {{unit: kPa, standard_uncertainty: 1 %, shared: true}}\n"
        for i in range(measures)
    )
    rows = "".join(f"      - {1000 + 10 * i} rpm\n" for i in range(points))
    return text.replace(
        "  directions: reciprocal\n",
        f"  directions: reciprocal\n  set_points:\n    of: engine_speed\n    values:\n{rows}",
    )


def _write(folder: Path, lines: int) -> Path:
    path = folder / f"p{lines}.yaml"
    path.write_text(protocol(lines), encoding="utf-8")
    assert path.read_text("utf-8").count("\n") == lines
    return path


def _command(path: Path) -> float:
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "slackwater.analysis.cli", "check", str(path)],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    taken = time.perf_counter() - started
    assert done.stdout.splitlines()[-1].startswith("nothing found in 1 file")
    assert done.returncode == 0
    return taken


def _inside(path: Path) -> float:
    started = time.perf_counter()
    assert examine(str(path)).usable
    return time.perf_counter() - started


def test_a_long_protocol_takes_its_share(tmp_path: Path) -> None:
    """Twice the time of a short one, and a fifth of it for each further 100 lines."""
    short, long = _write(tmp_path, SHORT), _write(tmp_path, LONG)
    _command(short)  # so that what Python compiles is compiled
    times = [(_command(short), _command(long)) for _ in range(4)]
    allowed = min(one for one, _ in times) * (2 + 0.2 * (LONG - SHORT) / 100)
    assert min(one for _, one in times) <= allowed


def test_the_time_goes_with_the_lines(tmp_path: Path) -> None:
    """Twice the lines take twice the time and not four times, start-up left out."""
    half, whole = _write(tmp_path, LONG // 2), _write(tmp_path, LONG)
    _inside(whole)
    times = [(_inside(half), _inside(whole)) for _ in range(5)]
    assert min(one for _, one in times) <= 3 * min(one for one, _ in times)
