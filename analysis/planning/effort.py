"""What a design costs on the water: hours, distance, fuel, changes of configuration."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import ceil, fsum

from slackwater.analysis.planning.power import Design
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.schedule.session_order import extended_abba
from slackwater.protocol.units.quantity import Quantity, conversion, same_dimension

#: Taken where nothing is said; common practice, and marked as assumed wherever they show.
TURN = Quantity(60.0, "s")
TRANSIT = Quantity(30.0, "min")
CHANGE = Quantity(60.0, "min")
TRY = Quantity(60.0, "s")  # of a manoeuvre, with coming back to where it starts
DAY = Quantity(8.0, "h")  # on the water, where the sessions of a day are one outing


@dataclass(frozen=True, slots=True)
class Effort:
    """What a protocol asks of a session, whatever the design.

    Attributes
    ----------
    run, turn : float
        Time of one run with its approach, and between two runs. [s]
    transit : float
        Out to the course, back, and getting ready, for each session. [s]
    change : float
        To change the configuration, ashore or afloat. [s]
    runs_each : int
        Runs of a double run: 2, or 1 where runs go one way.
    set_points : int
    letters : tuple of str
        The configurations as the order names them.
    declared : str
        The order that the protocol declares.
    speeds, flows : tuple of float or None
        At the set points. [kn], [L/h]
    afloat : bool
        The change is made on the water before every session; the sessions of a day are one outing.
    assumed : tuple of str
        What of this was not given but taken, in words.
    repeats : int or None
        Double runs in each session, where what a design repeats within it is something else.
    further : float
        Time of manoeuvres in each session, whatever the design. [s]
    each_repeat : float
        Time of each pair of tries that a design has. [s]
    """

    run: float
    turn: float
    transit: float
    change: float
    runs_each: int
    set_points: int
    letters: tuple[str, ...] = ("A", "B")
    declared: str = ""
    speeds: tuple[float, ...] | None = None
    flows: tuple[float, ...] | None = None
    afloat: bool = False
    assumed: tuple[str, ...] = field(default=())
    repeats: int | None = None
    further: float = 0.0
    each_repeat: float = 0.0

    def _double_runs(self, design: Design) -> int:
        return design.double_runs if self.repeats is None else self.repeats

    def order(self, design: Design) -> str:
        """Order of the sessions: the declared one where it fits, else ABBA continued."""
        if len(self.declared) == len(self.letters) * design.sessions:
            return self.declared
        return extended_abba(design.sessions, len(self.letters))

    def changes(self, design: Design) -> int:
        """Changes of configuration that the order asks for."""
        order = self.order(design)
        if self.afloat:
            return len(order) - 1
        return sum(a != b for a, b in pairwise(order))

    def session_hours(self, design: Design) -> float:
        """Time on the course of one session. [h]"""
        runs = self.set_points * self._double_runs(design) * self.runs_each
        tries = self.further + self.each_repeat * design.double_runs
        return (runs * (self.run + self.turn) + tries) / 3600

    def outings(self, design: Design) -> int:
        """How often the boat goes out to the course: for each session, or for each day."""
        sessions = len(self.letters) * design.sessions
        if not self.afloat:
            return sessions
        each = self.session_hours(design) + self.change / 3600
        a_day = int((DAY.to("h").value - self.transit / 3600) // each) if each else sessions
        rounds = max(a_day // len(self.letters), 1)  # a day holds every configuration as often
        return ceil(design.sessions / rounds)

    def hours(self, design: Design) -> float:
        """Time on the water of all sessions. [h]"""
        runs = len(self.letters) * design.sessions * self.session_hours(design)
        return runs + self.outings(design) * self.transit / 3600

    def hours_in_all(self, design: Design) -> float:
        """Time on the water and for the changes of configuration. [h]"""
        return self.hours(design) + self.changes(design) * self.change / 3600

    def _over_runs(self, rates: tuple[float, ...] | None, design: Design) -> float | None:
        if rates is None:
            return None
        each = self._double_runs(design) * self.runs_each * (self.run + self.turn) / 3600
        return len(self.letters) * design.sessions * each * fsum(rates)

    def distance(self, design: Design) -> float | None:
        """Distance of all runs and turns; None where the speeds are not known. [nmi]"""
        return self._over_runs(self.speeds, design)

    def fuel(self, design: Design) -> float | None:
        """Fuel for all runs and turns; None where the flows are not known. [L]"""
        return self._over_runs(self.flows, design)


def with_tries(effort: Effort, protocol: Protocol, quantity: str) -> Effort:
    """The same with the time of the protocol's manoeuvres, that of the quantity's own by the design."""
    if not protocol.manoeuvres:
        return effort
    own = protocol.manoeuvre_of(quantity)
    each = TRY.to("s").value + effort.turn
    further = fsum(
        len(one.ways) * one.tries * each for one in protocol.manoeuvres.values() if one is not own
    )
    return replace(
        effort,
        further=further,
        each_repeat=0.0 if own is None else len(own.ways) * each,
        repeats=effort.repeats if own is None else protocol.runs.double_runs,
        assumed=(*effort.assumed, f"{TRY} for each try of a manoeuvre"),
    )


def effort_of(
    protocol: Protocol,
    *,
    turn: Quantity | None = None,
    transit: Quantity | None = None,
    change: Quantity | None = None,
    speeds: tuple[float, ...] | None = None,
    flows: tuple[float, ...] | None = None,
) -> Effort:
    """What a protocol asks of a session, with what is not given assumed and named.

    Parameters
    ----------
    protocol : Protocol
    turn, transit, change : Quantity, optional
        Times between runs, for getting to the course and back, to change the configuration.
    speeds, flows : tuple of float, optional
        At the set points. [kn], [L/h]
    """
    assumed = []
    change, afloat = change or protocol.sessions.change, protocol.sessions.afloat
    each = "day" if afloat else "session"
    for name, given, taken in (
        ("between runs", turn, TURN),
        (f"to the course and back, each {each}", transit, TRANSIT),
        ("for each change of configuration", change, CHANGE),
        *((("on the water a day", None, DAY),) if afloat else ()),
    ):
        if given is None:
            assumed.append(f"{taken} {name}")
    points = protocol.runs.set_points
    if speeds is None and same_dimension(protocol.set_point_unit, "kn"):
        factor = conversion(protocol.set_point_unit, "kn")
        speeds = tuple(value * factor for value in protocol.set_point_values)
    steady = protocol.runs.steady
    return Effort(
        run=steady.settle.to("s").value + steady.record.to("s").value,
        turn=(turn or TURN).to("s").value,
        transit=(transit or TRANSIT).to("s").value,
        change=(change or CHANGE).to("s").value,
        runs_each=1 if protocol.runs.directions == "one_way" else 2,
        set_points=len(points.values),
        declared=protocol.sessions.order,
        letters=tuple(dict.fromkeys(protocol.sessions.order)),
        speeds=speeds,
        flows=flows,
        afloat=afloat,
        assumed=tuple(assumed),
    )
