"""An invented boat on invented water: the runs of a schedule, with the scatter and the tide of a real trial."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from random import Random

from slackwater.analysis.rehearsal.levels import POWERS, SPEED_READINGS, levels, speeds
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.schedule.planned import PlannedRun, PlannedSession, Schedule
from slackwater.protocol.units.quantity import conversion

#: Standard deviations, as fractions: of a session, of a set point within it, of a run. Invented.
BETWEEN, OF_SET_POINT, OF_RUN = 0.005, 0.002, 0.003
FLOW_FACTOR = 1.5  # how much more a flow or a power scatters than a speed
TIDE = 12.42  # [h], principal lunar semidiurnal
CURRENT = 0.6  # [kn], the invented stream at its strongest, where the protocol allows it
GAINS = (0.0, 0.0, 0.02, 0.03, 0.04)  # drawn from; in two rehearsals of five nothing has changed


@dataclass(frozen=True, slots=True)
class Truth:
    """What was put into an invented trial, for whoever wants to see whether it was found.

    Attributes
    ----------
    gains : dict of str to float
        Of each configuration against the first, in speed at equal set points, or in fuel and power where
        the speed is held. [fraction]
    current : float
        The stream at its strongest. [kn]
    """

    gains: dict[str, float]
    current: float


def truth_of(protocol: Protocol, configurations: list[str], seed: int) -> Truth:
    """Draw what is put in."""
    chance = Random(f"{seed} truth")
    gains = {
        name: chance.choice(GAINS) if place else 0.0 for place, name in enumerate(configurations)
    }
    limit = protocol.limits.get("current")
    most = limit.at_most.to("kn").value if limit and limit.at_most else 2 * CURRENT
    return Truth(gains, min(CURRENT, 0.5 * most))


def runs_of(
    protocol: Protocol, schedule: Schedule, truth: Truth, seed: int
) -> Iterator[dict[str, str]]:
    """A row of the run table for each run of the schedule."""
    world = _World(protocol, truth, Random(f"{seed} runs"))
    for session in schedule.sessions:
        world.begin()
        for run in session.runs:
            yield world.row(session, run, schedule)


class _World:
    """What is the same for all runs, and what a session shares."""

    def __init__(self, protocol: Protocol, truth: Truth, chance: Random) -> None:
        self.protocol, self.truth, self.chance = protocol, truth, chance
        self.speeds = speeds(protocol)
        self.levels = {name: levels(protocol, name) for name in protocol.measures}
        self.place = {value: i for i, value in enumerate(protocol.set_point_values)}
        self.speed_held = protocol.set_point_measure in ("speed", *SPEED_READINGS)
        self.phase = chance.uniform(0, TIDE)
        self.of_session: dict[str, float] = {}
        self.of_points: dict[str, list[float]] = {}

    def begin(self) -> None:
        """A new session: what it shares, and what it has at each set point."""
        for kind, factor in (("speed", 1.0), ("flow", FLOW_FACTOR)):
            self.of_session[kind] = self.chance.gauss(0, factor * BETWEEN)
            self.of_points[kind] = [
                self.chance.gauss(0, factor * OF_SET_POINT) for _ in self.speeds
            ]

    def _factor(self, kind: str, place: int) -> float:
        # Held to two standard deviations: a rehearsal has no wild runs but those that a crew puts in.
        run = max(-2.0, min(2.0, self.chance.gauss(0, 1))) * OF_RUN
        run *= 1.0 if kind == "speed" else FLOW_FACTOR
        return math.exp(self.of_session[kind] + self.of_points[kind][place] + run)

    def row(self, session: PlannedSession, run: PlannedRun, schedule: Schedule) -> dict[str, str]:
        """What the crew would have written down."""
        place = self.place[run.set_point]
        gain = self.truth.gains.get(session.configuration, 0.0)
        begins = session.clock(run.at + schedule.pattern.settle)
        start = datetime.combine(session.date or date(2026, 5, 4), begins)
        held = 1 + self.chance.gauss(0, self._stray(place))
        speed = self.speeds[place] * (
            held if self.speed_held else (1 + gain) * self._factor("speed", place)
        )
        hours = (start - datetime(2026, 5, 4)).total_seconds() / 3600
        stream = self.truth.current * math.sin(2 * math.pi * (hours + self.phase) / TIDE)
        over_ground = speed + (stream if run.direction == "out" else -stream)
        flow = self._factor("flow", place) * (1 - gain if self.speed_held else 1.0)
        seen = {
            name: self._reading(name, place, held, speed, over_ground, flow)
            for name in self.protocol.measures
        }
        heading = {} if run.heading is None else {"heading": f"{run.heading:03.0f}"}
        return {
            "session": session.id,
            "set_point": f"{run.set_point:g}",
            "double_run": str(run.double_run),
            "direction": run.direction,
            "start": start.isoformat(timespec="seconds"),
            "duration": f"{schedule.pattern.record:g}",
            "set_aside": "",
            "note": "INVENTED",
            **heading,
            **{name: _digits(value) for name, value in seen.items()},
        }

    def _stray(self, place: int) -> float:
        """Standard deviation of what is held, well within what the protocol allows. [fraction]"""
        hold = self.protocol.runs.set_points.hold
        if hold.unit == "%":
            return hold.value / 400
        unit = self.protocol.set_point_unit
        return abs(hold.to(unit).value / self.protocol.set_point_values[place]) / 4

    def _reading(
        self, name: str, place: int, held: float, speed: float, over_ground: float, flow: float
    ) -> float:
        unit, level = self.protocol.measure(name).unit, self.levels[name][place]
        record = self.protocol.runs.steady.record.to("s").value
        if name == "speed_over_ground":
            return over_ground * conversion("kn", unit)
        if name in ("speed", "speed_through_water"):
            return speed * conversion("kn", unit)
        if name == "timed_distance":
            return over_ground * record / 3600 * conversion("nmi", unit)
        if name == "elapsed_time":
            return record * conversion("s", unit)
        if name == "electric_energy":
            power = levels_of_power(self.protocol)[place] * flow
            return power * record / 3600 * conversion("kWh", unit)
        if name == self.protocol.set_point_measure:
            return level * held
        if name in POWERS:
            return level * flow
        return level * (1 + self.chance.gauss(0, 0.002))


def levels_of_power(protocol: Protocol) -> tuple[float, ...]:
    """Electric power at the set points. [kW]"""
    from slackwater.analysis.rehearsal.levels import CURVES, places

    known = protocol.expected_values("electric_power", "kW")
    return known or tuple(CURVES["electric_power"](x) for x in places(protocol))


def _digits(value: float) -> str:
    """A reading as an instrument shows it: five digits at most."""
    return f"{float(f'{value:.5g}'):.10g}"
