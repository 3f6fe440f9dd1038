"""A small invented trial of manoeuvres in a folder, for tests to change."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

ORDER = "ABBAAB"
PROTOCOL = """
protocol: handling
title: Acceleration and turning (invented)
cautions: [The skipper may call off any try.]
runs:
  set_points: {of: engine_speed, values: [3000 rpm, 4000 rpm]}
  double_runs: 1
sessions: {order: ABBAAB}
measures:
  speed_over_ground: {unit: kn, shared: true}
manoeuvres:
  acceleration:
    title: Acceleration from rest
    start: at rest, idling in neutral
    end: 20 kn first shown
    tries: 3
    current: averaged
    values:
      time_to_plane: {}
      time_to_20_kn: {kind: time_to_speed, to_speed: 20 kn}
  turn:
    start: 20 kn, straight
    end: 360 degrees turned
    directions: port_and_starboard
    tries: 2
    current: drift_taken_out
    values:
      tactical_diameter: {}
      lean: {unit: deg, scale: difference}
analysis:
  decides: time_to_plane
  worthwhile: {time_to_plane: 5 %, tactical_diameter: 2 m, lean: 1 deg}
"""
TRIAL = """
trial: handling
invented: true
protocol: protocol.yaml
configurations: {bare: {title: Bare}, tabs: {title: Tabs}}
manoeuvres: tries.csv
sessions:
"""
HEAD = (
    "session,manoeuvre,direction,try,time_to_plane [s],time_to_20_kn [s],tactical_diameter [m],"
    "lean [deg],helmsman,set_aside,note"
)
Change = Callable[[str], str]


def rows(gain: float = -0.15, seed: int = 1) -> Iterator[str]:
    """Rows of tries: times log-normal, directions 10 % apart, the modified quicker by exp(gain)."""
    rng = np.random.default_rng(seed)
    for number, letter in enumerate(ORDER, 1):
        session = rng.normal(0, 0.02) + (gain if letter == "B" else 0.0)
        for way, side in (("out", 0.05), ("back", -0.05)):
            for k in range(1, 4):
                time = 5 * np.exp(session + side + rng.normal(0, 0.05))
                yield f"S{number},acceleration,{way},{k},{time:.3f},{2 * time:.3f},,,A,,"
        for way, side in (("port", 0.03), ("starboard", -0.03)):
            for k in range(1, 3):
                across = 60 * np.exp(session / 3 + side + rng.normal(0, 0.05))
                yield f"S{number},turn,{way},{k},,,{across:.2f},{rng.normal(8, 1):.2f},A,,"


def lay(folder: Path, tries: Change = str, trial: Change = str, protocol: Change = str) -> Path:
    """The files, each changed; the path of the trial."""
    folder.mkdir(parents=True, exist_ok=True)
    sessions = "".join(
        f"  - {{id: S{i}, configuration: {'bare' if c == 'A' else 'tabs'}, date: 2026-05-{9 + i:02d}}}\n"
        for i, c in enumerate(ORDER, 1)
    )
    files = {
        "protocol.yaml": protocol(PROTOCOL),
        "trial.yaml": trial(TRIAL + sessions),
        "tries.csv": tries("\n".join([HEAD, *rows()]) + "\n"),
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder / "trial.yaml"
