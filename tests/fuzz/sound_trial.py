"""The files of a small sound trial, before anything is changed in it.

Its shape is drawn, too: where sessions and set points are few, little more has to go to leave nothing.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

HEAD = (
    "session,set_point [rpm],double_run,direction,start,duration [s],speed_over_ground [kn],"
    "engine_speed [rpm],fuel_flow [L/h],set_aside,note"
)
_TRIAL = """\
trial: small
protocol: protocol.yaml
boat: {title: Invented, waterline_length: 9.1 m, fuel_capacity: 700 L, fuel_density: 0.84 kg/L}
configurations:
  bare: {title: As delivered, propeller_pitch: 24 in, gear_ratio: 1.75}
  fitted: {title: Fitted, propeller_pitch: 24 in, gear_ratio: 1.75}
comparisons:
  - {baseline: bare, modified: fitted}
sessions:
speeds: [7 kn, 8 kn]
runs: runs.csv
"""
_SESSIONS = (
    "  - {id: S1, configuration: bare, date: 2026-05-04, displacement: 6210 kg, wind_speed: 5 kn}\n",
    "  - {id: S2, configuration: fitted, date: 2026-05-05, displacement: 6220 kg, wind_speed: 4 kn}\n",
    "  - {id: S3, configuration: fitted, date: 2026-05-06, displacement: 6190 kg, wind_speed: 3 kn}\n",
    "  - {id: S4, configuration: bare, date: 2026-05-07, displacement: 6200 kg, wind_speed: 5 kn}\n",
)
_GAINS = (1.0, 1.03, 1.03, 1.0)
_PROTOCOL = """\
protocol: small
version: "1.0"
title: Invented
sources: [Common practice]
cautions: [The skipper may call off any run.]
loading: {displacement: {within: 1 %}}
conditions: {wind_speed: {at_most: 8 kn}}
runs:
  set_points: {of: engine_speed, values: [POINTS], hold: 1 %}
  directions: reciprocal
  double_runs: 1
sessions: {order: ABBA}
measures:
  speed_over_ground: {unit: kn, standard_uncertainty: 0.05 kn, shared: true}
  engine_speed: {unit: rpm, standard_uncertainty: 5 rpm, shared: true}
  fuel_flow: {unit: L/h, standard_uncertainty: 1 %, shared: true}
analysis:
  decides: speed
  current: tide_fit
  confidence: 95 %
  family: set_points
  worthwhile: {speed: 1 %, economy: 3 %}
noise:
  speed: {between_sessions: 0.6 %, sessions: 12, within_session: 0.4 %}
"""
NOISE = """\
noise:
  speed: {between_sessions: 0.6 %, sessions: 12, within_session: 0.4 %}
  economy: {between_sessions: 1 %, sessions: 12, within_session: 0.8 %}
"""
CLAIMS = """\
trial: trial.yaml
behind_each_figure: {sessions: 1, double_runs: 1}
claims:
  - {id: C1, quantity: speed, baseline: bare, modified: fitted, at: 2000 rpm,
     stated: {baseline: 8.3 kn, modified: 8.6 kn, difference: 0.3 kn, change: +3.6 %}}
  - {id: C2, quantity: economy, baseline: bare, modified: fitted, at: 2500 rpm,
     stated: {change: up to 20 %}}
"""


@dataclass(frozen=True, slots=True)
class Shape:
    """How large the trial is.

    Parameters
    ----------
    sessions : int
        The first of bare, fitted, fitted, bare.
    set_points : tuple of int
        [rpm]
    """

    sessions: int
    set_points: tuple[int, ...]


def shape(dice: random.Random) -> Shape:
    """From two sessions at one set point to four at three."""
    points = (1500, 2000, 2500)
    return Shape(dice.choice((2, 3, 4, 4)), points[: dice.choice((1, 2, 2, 3))])


def trial(shape: Shape) -> str:
    """Its trial.yaml."""
    head, rest = _TRIAL.split("sessions:\n")
    return f"{head}sessions:\n{''.join(_SESSIONS[: shape.sessions])}{rest}"


def another(text: str) -> str:
    """The trial.yaml of the same change on another boat, with runs of its own."""
    for mine, its in (("trial: small", "trial: second"), ("title: Invented,", "title: Another,")):
        text = text.replace(mine, its)
    return text.replace("runs: runs.csv", "runs: second.csv")


def protocol(shape: Shape) -> str:
    """Its protocol.yaml."""
    return _PROTOCOL.replace("POINTS", ", ".join(f"{point} rpm" for point in shape.set_points))


def runs(shape: Shape, dice: random.Random) -> str:
    """Its run table: a few runs of an invented boat."""
    rows = [HEAD]
    for day, gain in enumerate(_GAINS[: shape.sessions], 4):
        minute = 0
        for point in shape.set_points:
            for way, sign in (("out", 1), ("back", -1)):
                speed = point / 250 * gain * dice.gauss(1, 0.004) + 0.5 * sign
                rows.append(
                    f"S{day - 3},{point},1,{way},2026-05-{day:02d}T09:{minute:02d}:00,60,{speed:.2f},"
                    f"{point + dice.randint(-3, 3)},{point / 90 + dice.gauss(0, 0.1):.1f},,"
                )
                minute += 3
    return "\n".join(rows) + "\n"
