"""Double runs, and whole sessions, that were copied: told by digits that agree in every reading.

How much it takes is reckoned from the digits themselves. At a set point where three runs in four show
the same engine speed, one more that does says little; where no two speeds agree, six readings that
all do say everything. A copy is told when, by chance, hardly any trial would show one such pair.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slackwater.analysis.checking.run_rules._runs import DoubleRun, all_double_runs

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable

FEWEST = 4  # readings that must all agree
CHANCE = 0.01  # expected pairs of a trial that agree by chance
WHOLE = 0.8  # of a session's double runs, from which the session counts as copied

Reading = tuple[float, str, float]  # set point, measure, value


@dataclass(frozen=True, slots=True)
class Copy:
    """One double run that says what another has said.

    Attributes
    ----------
    first, again : DoubleRun
        In the order of the rows.
    """

    first: DoubleRun
    again: DoubleRun


@dataclass(frozen=True, slots=True)
class CopiedSession:
    """A session most of whose double runs are those of another.

    Attributes
    ----------
    first, again : str
        The sessions.
    copies : tuple of Copy
    of : int
        Double runs of the session that is the copy.
    """

    first: str
    again: str
    copies: tuple[Copy, ...]
    of: int

    @property
    def words(self) -> str:
        """What is wrong with it, in a clause."""
        return (
            f"session {self.again} carries the values of session {self.first} in "
            f"{len(self.copies)} of {self.of} double runs"
        )


def copied(runs: RunTable) -> tuple[list[CopiedSession], list[Copy]]:
    """The sessions of a trial that are copies, and the double runs beside them that are."""
    by_session = all_double_runs(runs)
    found = list(_copies([one for session in by_session.values() for one in session]))
    sides: dict[tuple[str, str], list[Copy]] = defaultdict(list)
    for copy in found:
        sides[copy.first.session, copy.again.session].append(copy)
    sessions = []
    for (first, again), copies in sides.items():
        whole = sum(one.pair() is not None for one in by_session[again])
        if first != again and len(copies) >= max(2, WHOLE * whole):
            sessions.append(CopiedSession(first, again, tuple(copies), whole))
    told = {id(copy) for session in sessions for copy in session.copies}
    return sessions, [copy for copy in found if id(copy) not in told]


def _copies(doubles: Sequence[DoubleRun]) -> Iterator[Copy]:
    pairs = {id(one): pair for one in doubles if (pair := one.pair()) is not None}
    whole = [one for one in doubles if id(one) in pairs]
    seen: Counter[Reading] = Counter()
    at_point: Counter[tuple[float, str]] = Counter()
    for one in whole:
        for run in pairs[id(one)]:
            for name, value in run.values.items():
                if math.isfinite(value):
                    seen[one.set_point, name, value] += 1
                    at_point[one.set_point, name] += 1
    ways = max(len(whole) * (len(whole) - 1) // 2, 1)
    firsts: dict[tuple[tuple[str, float], ...], DoubleRun] = {}
    for one in sorted(whole, key=lambda each: each.row):
        readings = tuple(
            (name, value)
            for run in pairs[id(one)]
            for name, value in run.values.items()
            if math.isfinite(value)
        )
        if len(readings) < FEWEST:
            continue
        first = firsts.setdefault(readings, one)
        if first is not one and ways * _chance(one, readings, seen, at_point) < CHANCE:
            yield Copy(first, one)


def _chance(
    one: DoubleRun,
    readings: Sequence[tuple[str, float]],
    seen: Counter[Reading],
    at_point: Counter[tuple[float, str]],
) -> float:
    """The chance that two double runs at a set point agree in these readings, by their own digits."""
    chance = 1.0
    for name, value in readings:
        others = at_point[one.set_point, name] - 1
        alike = seen[one.set_point, name, value] - 1
        chance *= min(1.0, max(alike, 0.5) / max(others, 1))
    return chance
