"""What tries at manoeuvres add to the small sound trial, before anything is changed in it."""

from __future__ import annotations

import random

PROTOCOL = """\
manoeuvres:
  acceleration:
    title: From rest
    start: at rest, all seated
    end: 20 kn first shown
    directions: reciprocal
    tries: 2
    current: averaged
    values:
      time_to_plane: {}
      time_to_20_kn: {kind: time_to_speed, to_speed: 20 kn, title: Time to 20 kn}
  stop:
    title: Stop from 20 kn
    start: 20 kn held, straight
    end: 2 kn first shown
    directions: reciprocal
    tries: 2
    current: averaged
    values:
      stopping_distance: {from_speed: 20 kn}
"""
TRIAL = "manoeuvres: tries.csv\n"


def tries(sessions: int, dice: random.Random) -> str:
    """Two tries each way in the first of four sessions; quicker where the change is fitted."""
    head = "session,manoeuvre,direction,try,time_to_plane [s],time_to_20_kn [s]"
    rows = [f"{head},stopping_distance [m],helmsman,set_aside,note"]
    for session, gain in (("S1", 1.0), ("S2", 0.9), ("S3", 0.9), ("S4", 1.0))[:sessions]:
        for way in ("out", "back"):
            for number in (1, 2):
                plane, speed = (size * gain * dice.gauss(1, 0.05) for size in (5.0, 9.0))
                rows.append(f"{session},acceleration,{way},{number},{plane:.2f},{speed:.2f},,H1,,")
                rows.append(f"{session},stop,{way},{number},,,{dice.gauss(40, 2):.1f},H1,,")
    return "\n".join(rows) + "\n"
