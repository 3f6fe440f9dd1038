"""Invented tries for a rehearsal: two directions that differ, a hand that scatters, part of what was put in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from random import Random

from slackwater.analysis.rehearsal.papers import MARK
from slackwater.analysis.rehearsal.world import Truth
from slackwater.analysis.sheet.prepared import Prepared, PreparedRow
from slackwater.analysis.sheet.try_rows import in_turn, named_headings
from slackwater.protocol.declared.manoeuvres import Manoeuvre, kind_of
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.schedule.planned import PlannedSession, Schedule
from slackwater.protocol.units.quantity import convert

#: Of an invented boat, in the unit of the kind; 10 of whatever else is read.
LEVELS = {
    "time_to_speed": 9.0, "time_to_plane": 5.0, "time_between_speeds": 4.0, "stopping_distance": 45.0,
    "stopping_time": 12.0, "turning_advance": 60.0, "turning_transfer": 25.0,
    "tactical_diameter": 70.0, "steady_diameter": 65.0, "speed_lost_in_turn": 6.0,
    "slowest_planing_speed": 13.0, "steering_correction": 1.2,
}  # fmt: skip
#: Standard deviations, as fractions: of a session, of a try; half of what directions differ by. Invented.
OF_SESSION, OF_TRY, OF_DIRECTION = 0.02, 0.05, 0.04
#: How much more a manoeuvre changes than the speed does.
MORE = 3.0


def tries_text(protocol: Protocol, schedule: Schedule, truth: Truth, seed: int) -> str:
    """The table of tries of an invented trial."""
    chance = Random(f"{seed} tries")
    rows = [
        row
        for session in schedule.sessions
        for name, manoeuvre in protocol.manoeuvres.items()
        for row in _rows(session, name, manoeuvre, truth.gains[session.configuration], chance)
    ]
    return Prepared("tries", named_headings(protocol.manoeuvres), rows, {}).csv()


def _rows(
    session: PlannedSession, name: str, manoeuvre: Manoeuvre, gain: float, chance: Random
) -> Iterator[PreparedRow]:
    shared = {value: chance.gauss(0, OF_SESSION) for value in manoeuvre.values}
    for number, way in in_turn(manoeuvre):
        side = (
            0.0 if len(manoeuvre.ways) < 2 else OF_DIRECTION * (1 - 2 * manoeuvre.ways.index(way))
        )
        hand = chance.gauss(0, OF_TRY)  # one hand, so that what is read of a try strays together
        row: dict[str, str | int] = {
            "session": session.id, "manoeuvre": name, "direction": way, "try": number, "note": MARK
        }  # fmt: skip
        for value, measure in manoeuvre.measures.items():
            sign = {"more": 1.0, "less": -1.0, None: 0.0}[measure.better]
            stray = shared[value] + side + 0.8 * hand + chance.gauss(0, 0.6 * OF_TRY)
            factor = math.exp(MORE * gain * sign + stray)
            row[value] = f"{level(value, manoeuvre) * factor:.4g}"
        yield row


def level(value: str, manoeuvre: Manoeuvre) -> float:
    """What a value of an invented boat reads. [unit of the value]"""
    kind = kind_of(value, manoeuvre.values[value])
    unit = manoeuvre.measures[value].unit
    return 10.0 if kind is None else convert(LEVELS[kind.name], kind.unit, unit)
