"""Invented outings of a few minutes as a receiver and an engine would have written them: for tests of files
and commands. How well runs are found is no question here; `tests/calibration` asks that."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import reduce
from pathlib import Path

import numpy as np

SPEEDS = {1000.0: 8.0, 2000.0: 14.0}  # [rpm, kn]
PLAN = ((1000.0, "out"), (1000.0, "back"), (2000.0, "out"), (2000.0, "back"))
LEG = 115  # [s] with what a boat needs to settle and to turn
MORNINGS = ("2026-05-04T08:00:00", "2026-05-05T08:00:00")

TRIAL = """\
trial: invented-logs
invented: true
protocol:
  protocol: invented-logs
  runs:
    set_points: {of: engine_speed, values: [1000 rpm, 2000 rpm], hold: 2 %}
    double_runs: 1
    steady: {settle: 20 s, record: 60 s}
  sessions: {order: AB}
  measures: {speed_over_ground: {unit: kn, shared: true}, engine_speed: {unit: rpm, shared: true}}
  analysis: {worthwhile: {speed: 1 %}}
configurations: {bare: {}, fitted: {}}
sessions:
  - {id: S1, configuration: bare, date: 2026-05-04, start: "08:00", end: "09:00"}
  - {id: S2, configuration: fitted, date: 2026-05-05, start: "08:00", end: "09:00"}
"""


def write_trial(folder: Path, sources: str = "logs: [day1.log, day2.log]") -> Path:
    """The trial and a log for each of its two sessions."""
    for number, begins in enumerate(MORNINGS):
        path = folder / f"day{number + 1}.log"
        path.write_text(outing(begins, seed=number, gain=1.0 + 0.02 * number), encoding="ascii")
    trial = folder / "trial.yaml"
    trial.write_text(f"{TRIAL}{sources}\n", encoding="utf-8")
    return trial


def outing(
    begins: str,
    plan: Sequence[tuple[float, str]] = PLAN,
    *,
    seed: int = 0,
    gain: float = 1.0,
    of: Sequence[str] = ("RMC", "RPM"),
) -> str:
    """The sentences of one outing, a second after the other."""
    rng = np.random.default_rng(seed)
    commanded = np.repeat([rpm for rpm, _ in plan], LEG).astype(float)
    heading = np.repeat([80.0 if way == "out" else 260.0 for _, way in plan], LEG)
    rpm = _followed(commanded, 0.5)
    speed = _followed(np.interp(rpm, list(SPEEDS), list(SPEEDS.values())) * gain, 0.2)
    course = _followed(heading, 0.25) + 0.3 * rng.standard_normal(heading.size)
    over_ground = speed + 0.4 * np.cos(np.radians(course - 80.0))
    over_ground += 0.03 * rng.standard_normal(speed.size)
    metres = over_ground * 1852 / 3600
    north = 50.0 + np.cumsum(metres * np.cos(np.radians(course))) / 111_200
    east = 4.0 + np.cumsum(metres * np.sin(np.radians(course))) / 71_500
    start = datetime.fromisoformat(begins).replace(tzinfo=UTC).timestamp()
    lines = []
    for n in range(speed.size):
        moment = datetime.fromtimestamp(start + n, UTC)
        if "RMC" in of:
            place = f"{_minutes(north[n], 2)},N,{_minutes(east[n], 3)},E"
            lines.append(
                f"GPRMC,{moment:%H%M%S}.00,A,{place},{over_ground[n]:.2f},{course[n] % 360:.1f},"
                f"{moment:%d%m%y},,,A"
            )
        else:
            lines.append(f"IIZDA,{moment:%H%M%S}.00,{moment:%d,%m,%Y},00,00")
        if "RPM" in of:
            shown = rpm[n] * (1 + 0.001 * rng.standard_normal())
            lines.append(f"IIRPM,E,1,{shown:.1f},,A")
    return "".join(map(summed, lines))


def summed(body: str) -> str:
    """A sentence with its checksum."""
    return f"${body}*{reduce(lambda a, b: a ^ b, body.encode()):02X}\r\n"


def _followed(commanded: np.ndarray, share: float) -> np.ndarray:
    """What follows a command by so large a share of the rest every second."""
    out = commanded.astype(float).copy()
    for n in range(1, out.size):
        out[n] = out[n - 1] + share * (commanded[n] - out[n - 1])
    return out


def _minutes(degrees: float, wide: int) -> str:
    whole, minutes = divmod(round(degrees * 600_000), 600_000)
    return f"{whole:0{wide}d}{minutes / 10_000:07.4f}"
