"""Small invented protocols and trials for the tests of schedules and sheets."""

from __future__ import annotations

from pathlib import Path

from slackwater.protocol.declared.protocol import Protocol, build_protocol
from slackwater.protocol.files.source import document_of


def protocol(
    *,
    points: tuple[str, ...] = ("1000 rpm", "1500 rpm", "2000 rpm", "2500 rpm"),
    of: str = "engine_speed",
    order: str = "ABBA",
    double_runs: int = 2,
    block: str = "none",
    set_point_order: str = "shuffled",
    first_direction: str = "alternate",
    directions: str = "reciprocal",
    hold: str = "1 %",
    **more: object,
) -> Protocol:
    """A protocol of few words; what is not given is the ordinary."""
    data = {
        "protocol": "invented",
        "runs": {
            "set_points": {"of": of, "values": list(points), "hold": hold},
            "directions": directions,
            "double_runs": double_runs,
            "set_point_order": set_point_order,
            "first_direction": first_direction,
        },
        "sessions": {"order": order, "block": block},
        "measures": {
            "speed_over_ground": {"unit": "kn"},
            "engine_speed": {"unit": "rpm"},
            "fuel_flow": {"unit": "L/h"},
        },
        **more,
    }
    found, findings = build_protocol(document_of(data))
    if found is None:
        raise ValueError("\n".join(each.render() for each in findings))
    return found


TRIAL = """\
trial: invented
title: An invented trial
protocol:
  protocol: invented
  version: "1.0"
  loading: {displacement: {within: 1 %}}
  conditions: {wind_speed: {at_most: 8 kn}}
  runs:
    set_points: {of: engine_speed, values: [1000 rpm, 1500 rpm, 2000 rpm, 2500 rpm], hold: 1 %}
    double_runs: 2
  sessions: {order: ABBA}
  measures:
    speed_over_ground: {unit: kn}
    engine_speed: {unit: rpm}
    fuel_flow: {unit: L/h}
  analysis: {worthwhile: {speed: 1 %}}
boat: {title: An invented launch, displacement: 7400 kg}
configurations: {bare: {title: As delivered}, fitted: {title: With the change}}
"""
SESSIONS = """\
sessions:
  - {id: S1, configuration: bare, date: 2026-05-04, displacement: 7400 kg, wind_speed: 5 kn}
  - {id: S2, configuration: fitted, date: 2026-05-05, displacement: 7410 kg, wind_speed: 4 kn}
  - {id: S3, configuration: fitted, date: 2026-05-06, displacement: 7390 kg, wind_speed: 6 kn}
  - {id: S4, configuration: bare, date: 2026-05-07, displacement: 7400 kg, wind_speed: 5 kn}
"""


def trial_file(folder: Path, text: str = TRIAL + SESSIONS) -> Path:
    """A trial's file without its runs."""
    path = folder / "trial.yaml"
    path.write_text(text, encoding="utf-8")
    return path
