"""Invented outings with manoeuvres as a receiver, a compass and an engine would have written them: off the mark, stops, turns.

Speeds follow what is commanded by so large a share of the rest every second that closed forms are known; the water moves
evenly. Nothing here is a proof of how boats behave: it is for tests of files and commands.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from invented_log import _minutes, summed

KNOT = 1852 / 3600
CURRENT = (0.25, -0.15)  # [m/s] east, north
TOP, TURNING = 22.0, 14.0  # [kn] commanded off the mark and before turns
MORNINGS = ("2026-05-04T08:00:00", "2026-05-05T08:00:00", "2026-05-06T08:00:00", "2026-05-07T08:00:00")  # fmt: skip
CONFIGURATIONS = ("bare", "fitted", "fitted", "bare")

PROTOCOL = """\
trial: invented-handling
title: Off the mark, stops and turns
invented: true
protocol:
  protocol: invented-handling
  runs:
    set_points: {of: engine_speed, values: [3000 rpm]}
    double_runs: 1
  sessions: {order: ABBA}
  measures: {speed_over_ground: {unit: kn, shared: true}, engine_speed: {unit: rpm, shared: true}}
  manoeuvres:
    off_the_mark:
      start: at rest
      end: 20 kn over ground
      directions: reciprocal
      tries: 1
      current: averaged
      values:
        time_to_20_kn: {kind: time_to_speed, to_speed: 20 kn}
        time_10_to_20_kn: {kind: time_between_speeds, from_speed: 10 kn, to_speed: 20 kn}
    stop:
      start: 14 kn held
      end: at rest
      directions: reciprocal
      tries: 1
      current: drift_taken_out
      values: {stopping_distance: {from_speed: 14 kn}, stopping_time: {from_speed: 14 kn}}
    turn:
      start: 14 kn held, straight
      end: 720 degrees turned
      directions: port_and_starboard
      tries: 1
      current: drift_taken_out
      values: {steady_diameter: {}, tactical_diameter: {}, turning_advance: {from_speed: 14 kn}}
  analysis: {decides: tactical_diameter, worthwhile: {tactical_diameter: 5 %}}
configurations: {bare: {}, fitted: {}}
sessions:
"""

Leg = tuple[float, float, float]  # seconds, speed [kn], rate of turn [deg/s] commanded


def plan(rate: float) -> list[Leg]:
    """One of each both ways: off the mark, a stop, and turns to either side at so many degrees a second."""
    around = 740.0 / rate
    there = [(40, 0, 0), (60, TOP, 0), (60, TURNING, 0), (50, 0, 0)]
    about = [(30, 5, 0), (18, 5, 10.0), (40, 5, 0), (30, 0, 0)]
    turns = [(60, TURNING, 0), (around, TURNING, rate), (60, TURNING, 0), (around, TURNING, -rate), (40, TURNING, 0)]  # fmt: skip
    return [*there, *about, *there[0:], *turns]  # type: ignore[list-item]


def sentences(
    begins: str,
    legs: Sequence[Leg],
    *,
    share: float = 0.12,
    seed: int = 0,
    of: Sequence[str] = ("RMC", "HDT", "RPM"),
) -> str:
    """An outing, a second after the other; `share` is how much of the rest the speed makes good in one."""
    rng = np.random.default_rng(seed)
    speed_asked = np.concatenate([np.full(round(s), v) for s, v, _ in legs]).astype(float)
    rate_asked = np.concatenate([np.full(round(s), r) for s, _, r in legs]).astype(float)
    speed, rate, heading = 0.0, 0.0, 40.0
    east = north = 0.0
    start = datetime.fromisoformat(begins).replace(tzinfo=UTC).timestamp()
    lines = []
    for n, (asked, turn) in enumerate(zip(speed_asked, rate_asked, strict=True)):
        moment = datetime.fromtimestamp(start + n, UTC)
        a = math.radians(heading)
        ve = speed * KNOT * math.sin(a) + CURRENT[0] + 0.02 * rng.standard_normal()
        vn = speed * KNOT * math.cos(a) + CURRENT[1] + 0.02 * rng.standard_normal()
        knots, course = math.hypot(ve, vn) / KNOT, math.degrees(math.atan2(ve, vn)) % 360
        if "RMC" in of:
            place = f"{_minutes(50 + north / 111_120, 2)},N,{_minutes(4 + east / (111_120 * math.cos(math.radians(50))), 3)},E"  # fmt: skip
            lines.append(f"GPRMC,{moment:%H%M%S}.00,A,{place},{knots:.2f},{course:.1f},{moment:%d%m%y},,,A")  # fmt: skip
        if "HDT" in of:
            lines.append(f"HEHDT,{(heading + 0.1 * rng.standard_normal()) % 360:.1f},T")
        if "RPM" in of:
            lines.append(f"IIRPM,E,1,{700 + 120 * asked + 3 * rng.standard_normal():.1f},,A")
        east, north = east + ve, north + vn
        speed += share * (asked - speed)
        rate += 0.5 * (turn - rate)
        heading += rate
    return "".join(map(summed, lines))


def write_handling(folder: Path, *, of: Sequence[str] = ("RMC", "HDT", "RPM")) -> Path:
    """The trial with a log for each of its four sessions; the fitted boat gathers speed sooner and turns tighter."""
    rows = []
    for number, (begins, name) in enumerate(zip(MORNINGS, CONFIGURATIONS, strict=True), 1):
        fitted = name == "fitted"
        text = sentences(begins, plan(11.0 if fitted else 9.0), share=0.14 if fitted else 0.12, seed=number, of=of)  # fmt: skip
        (folder / f"day{number}.log").write_text(text, encoding="ascii")
        rows.append(f'  - {{id: S{number}, configuration: {name}, date: {begins[:10]}, start: "08:00", end: "09:00"}}')  # fmt: skip
    trial = folder / "trial.yaml"
    trial.write_text(PROTOCOL + "\n".join(rows) + "\nmanoeuvres: tries.csv\n", encoding="utf-8")
    return trial
