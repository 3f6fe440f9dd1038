"""A sound protocol and trial, invented, over which the examples of the rules are laid."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import yaml

from slackwater.protocol.declared.protocol import Protocol, load_protocol
from slackwater.protocol.declared.trial import Trial, load_trial
from slackwater.protocol.rules._rule import Example

PROTOCOL = """
protocol: sound
title: A sound protocol (invented)
sources: [Common practice]
cautions: [The skipper may call off any run.]
loading:
  displacement: {within: 1 %}
  fuel: {between: [40 %, 100 %]}
  crew: {same: true}
conditions:
  wind_speed: {at_most: 8 kn}
  wave_height: {at_most: 0.3 m}
  water_depth: {at_least: 20 m}
  current: {at_most: 1.5 kn}
  water_temperature: {within: 5 delta_degC}
runs:
  set_points: {of: engine_speed, values: [1000 rpm, 2000 rpm], hold: 1 %}
  directions: reciprocal
  double_runs: 2
  first_direction: alternate
  set_point_order: shuffled
  steady: {settle: 20 s, record: 60 s}
sessions: {per_configuration: 3, order: ABBAAB}
measures:
  speed_over_ground: {unit: kn, standard_uncertainty: 0.05 kn, shared: true}
  engine_speed: {unit: rpm, standard_uncertainty: 5 rpm, shared: true}
  fuel_flow: {unit: L/h, standard_uncertainty: 1 %, shared: true}
analysis:
  decides: speed
  current: tide_fit
  worthwhile: {speed: 1 %, economy: 3 %}
"""
TRIAL = """
trial: sound-trial
protocol: protocol.yaml
boat: {title: Invented, fuel_capacity: 800 L}
configurations:
  bare: {propeller_pitch: 21 in, gear_ratio: 1.75}
  fitted: {propeller_pitch: 21 in, gear_ratio: 1.75}
sessions: []
runs: runs.csv
"""
DAYS = (
    ("S1", "bare", "2026-05-04"),
    ("S2", "fitted", "2026-05-06"),
    ("S3", "fitted", "2026-05-11"),
    ("S4", "bare", "2026-05-13"),
    ("S5", "bare", "2026-05-19"),
    ("S6", "fitted", "2026-05-21"),
)
SESSION = (
    "displacement: 7400 kg, fuel: 80 %, crew: 3, wind_speed: 5 kn, wave_height: 0.2 m, "
    "water_depth: 30 m, current: 0.9 kn, water_temperature: 12 degC"
)
HEADING = (
    "session,set_point [rpm],double_run,direction,start,duration [s],speed_over_ground [kn],"
    "engine_speed [rpm],fuel_flow [L/h],set_aside,note"
)
# Keys under which an example's names stand alone, and are not joined to those of the base.
WHOLE = ("loading", "conditions", "measures", "noise", "worthwhile")
_JITTER = (0, 3, -2, 1, -4, 2, 4, -1, -3, 5, 0, -5, 2)


def base_trial() -> dict[str, Any]:
    data: dict[str, Any] = yaml.load(TRIAL, yaml.BaseLoader)
    for id, configuration, date in DAYS:
        text = f"{{id: {id}, configuration: {configuration}, date: {date}, {SESSION}}}"
        data["sessions"].append(yaml.load(text, yaml.BaseLoader))
    return data


def base_runs() -> list[str]:
    """Eight runs a session, 150 s apart: two set points, two double runs each, alternating."""
    rows, jitter = [], 0
    for id, _, date in DAYS:
        clock = datetime.fromisoformat(f"{date}T08:30:00")
        for point, speed, flow in ((1000, 6.0, 8.0), (2000, 11.8, 22.0)):
            for number, ways in ((1, ("out", "back")), (2, ("back", "out"))):
                for way in ways:
                    j = _JITTER[jitter % len(_JITTER)]
                    ground = speed + (0.9 if way == "out" else -0.9) + 0.01 * j
                    rows.append(
                        f"{id},{point},{number},{way},{clock.isoformat()},60,{ground:.2f},"
                        f"{point + j % 4},{flow + 0.02 * _JITTER[(jitter + 5) % 13]:.2f},,"
                    )
                    clock += timedelta(seconds=150)
                    jitter += 1
    return rows


def merged(base: Any, patch: Any, key: str = "") -> Any:
    """A patch laid over a base; an empty value takes its key away."""
    if isinstance(base, dict) and isinstance(patch, dict) and key not in WHOLE:
        out = dict(base)
        for name, value in patch.items():
            if value == "":
                out.pop(name, None)
            else:
                out[name] = merged(base.get(name), value, name)
        return out
    if key == "sessions" and isinstance(base, list):
        by_id = {one["id"]: merged(one, {}) for one in base}
        for one in patch:
            by_id[one["id"]] = merged(by_id.get(one["id"], {}), one)
        return list(by_id.values())
    return copy.deepcopy(patch)


def patched_rows(rows: list[str], patch: str) -> list[str]:
    out = list(rows)
    for line in patch.strip().splitlines():
        key = line.split(",")[:4]
        at = [i for i, row in enumerate(out) if row.split(",")[:4] == key]
        assert len(at) == 1, f"no row to put in the place of: {line}"
        out[at[0]] = line
    return out


@dataclass(frozen=True)
class Laid:
    """An example laid over the sound files, on disk."""

    folder: Path

    @property
    def protocol(self) -> Protocol:
        return load_protocol(self.folder / "protocol.yaml")

    @property
    def trial(self) -> Trial:
        return load_trial(self.folder / "trial.yaml")


def lay_in(folder: Path, example: Example) -> Laid:
    """Lay an example over the sound files, in a folder."""
    protocol = merged(_load(PROTOCOL), _load(example.protocol))
    trial = merged(base_trial(), _load(example.trial))
    if example.ratings:
        trial["ratings"] = "ratings.csv"
        table = f"session,item,rater,score\n{example.ratings.strip()}\n"
        (folder / "ratings.csv").write_text(table, encoding="utf-8")
    if example.tries:
        trial["manoeuvres"] = "tries.csv"
        heading = "session,manoeuvre,direction,try,time_to_plane [s],helmsman"
        (folder / "tries.csv").write_text(f"{heading}\n{example.tries.strip()}\n", encoding="utf-8")
    rows = [HEADING, *patched_rows(base_runs(), example.runs)]
    for name, data in (("protocol.yaml", protocol), ("trial.yaml", trial)):
        text = yaml.safe_dump(data, allow_unicode=True, sort_keys=False)
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "runs.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return Laid(folder)


def _load(text: str) -> dict[str, Any]:
    return yaml.load(text, yaml.BaseLoader) or {}
