"""What crews differ by: one boat taken out by several crews tells it, and nothing else does.

Each time that a crew takes a boat out, in one trial, gives one value: the mean of how far her sessions
lay from what she usually does. Crews are set against each other on the boats that they share.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from math import log1p
from typing import Any

from slackwater.analysis.many.outcome import Outcome
from slackwater.analysis.many.reference_boat import SeriesError, series_of
from slackwater.analysis.statistics.crossed import between_groups, connected
from slackwater.analysis.wording.words import count_of, listed


@dataclass(frozen=True, slots=True)
class CrewTrial:
    """A boat taken out by a crew in one trial.

    Attributes
    ----------
    boat, crew, trial : str
    level : float
        Of her sessions, from what she usually does: a logarithm where ratios are compared, else in the
        unit. [1 or unit]
    """

    boat: str
    crew: str
    trial: str
    level: float


@dataclass(frozen=True, slots=True)
class CrewNoise:
    """What crews differ by in one quantity, on the boats that they share.

    Attributes
    ----------
    quantity, unit, scale : str
        `unit` is empty where ratios are compared.
    value, low, high : float or None
        Standard deviation between crews, with its 95 % interval. [fraction or unit]
    degrees_of_freedom : float
    trials_differ_by : float or None
        What trials of one crew with one boat differ by, as a standard deviation. [fraction or unit]
    p_value : float or None
        How often crews alike differ as much. [1]
    crews, boats : tuple of str
        Those that tell it.
    trials : int
    """

    quantity: str
    unit: str
    scale: str
    value: float | None
    low: float | None
    high: float | None
    degrees_of_freedom: float
    trials_differ_by: float | None
    p_value: float | None
    crews: tuple[str, ...]
    boats: tuple[str, ...]
    trials: int

    def to_dict(self) -> dict[str, Any]:
        """As JSON carries it."""
        return asdict(self) | {"crews": list(self.crews), "boats": list(self.boats)}


@dataclass(slots=True)
class CrewsGathered:
    """Which crew took which boat out, trial by trial; and then, boat by boat, what she did.

    Attributes
    ----------
    boats : dict of dict
        Title of the boat, in the case it was met in first, to the crews that took her out, each with
        the number of its trials; boats without a title are passed over.
    """

    boats: dict[str, dict[str, int]] = field(default_factory=dict)
    _contents: set[str] = field(default_factory=set)
    _known: dict[str, str] = field(default_factory=dict)
    _levels: dict[tuple[str, str, str], list[CrewTrial]] = field(default_factory=dict)

    def add(self, outcome: Outcome) -> None:
        """One trial more; trials of one content count once."""
        if outcome.content in self._contents or not outcome.boat:
            return
        self._contents.add(outcome.content)
        boat = self._known.setdefault(outcome.boat.casefold(), outcome.boat)
        crews = self.boats.setdefault(boat, {})
        for crew in outcome.crews:
            crews[crew] = crews.get(crew, 0) + 1

    def shared(self) -> list[str]:
        """Boats that more than one crew took out: what tells crews apart."""
        return [boat for boat, crews in self.boats.items() if len(crews) > 1]

    def add_boat(self, outcomes: Sequence[Outcome], quantities: Iterable[str]) -> None:
        """What a shared boat did, all her trials at once; of these no more than levels is kept."""
        for quantity in quantities:
            try:
                series = series_of(outcomes, outcomes[0].boat, quantity)
            except SeriesError:
                continue
            crews = {
                (each.trial, level.session): level.crew
                for each in outcomes
                for level in each.levels
            }
            found: dict[tuple[str, str], list[float]] = {}
            for point in series.points:
                if crew := crews.get((point.trial, point.session), ""):
                    level = log1p(point.level) if series.scale == "ratio" else point.level
                    found.setdefault((point.trial, crew), []).append(level)
            self._levels.setdefault((quantity, series.unit, series.scale), []).extend(
                CrewTrial(series.boat, crew, trial, sum(levels) / len(levels))
                for (trial, crew), levels in found.items()
            )

    def found(self) -> tuple[CrewNoise, ...]:
        """What crews differ by, quantity by quantity, where anything tells it."""
        return tuple(_noise(key, trials) for key, trials in self._levels.items() if trials)

    def confounded(self) -> tuple[str, ...]:
        """What of crews and boats cannot be told apart, a sentence each; empty without named crews."""
        pairs = [(boat, crew) for boat, crews in self.boats.items() for crew in crews]
        crews = list(dict.fromkeys(crew for _, crew in pairs))
        if not crews:
            return ()
        if len(crews) == 1:
            return (
                f"all trials that name a crew are by {crews[0]}: nothing tells what crews differ by",
            )
        out = []
        parts = connected(*zip(*pairs, strict=True))
        if len(parts) > 1:
            told = listed([_part(boats, names) for boats, names in parts])
            out.append(
                "crews and boats cannot be told apart between those that share no boat: "
                f"{told}; what such crews differ by counts as boats differing"
            )
        if any(each.value is None for each in self.found()):
            out.append(
                "crews took the boats that they share out too seldom: what crews differ by cannot be told "
                "from what one trial and the next differ by"
            )
        return tuple(out)


def _part(boats: set[str], crews: set[str]) -> str:
    return f"{listed(sorted(crews))} on {listed(sorted(boats)) if len(boats) < 4 else count_of(len(boats), 'boat')}"


def _noise(key: tuple[str, str, str], trials: Sequence[CrewTrial]) -> CrewNoise:
    quantity, unit, scale = key
    found = between_groups(
        [each.level for each in trials],
        [each.boat for each in trials],
        [each.crew for each in trials],
    )
    return CrewNoise(
        quantity=quantity,
        unit=unit,
        scale=scale,
        value=found.value,
        low=found.low,
        high=found.high,
        degrees_of_freedom=found.df,
        trials_differ_by=found.rest,
        p_value=found.p_value,
        crews=tuple(sorted({each.crew for each in trials})),
        boats=tuple(sorted({each.boat for each in trials})),
        trials=len(trials),
    )


def crews_of(outcomes: Sequence[Outcome], quantities: Iterable[str]) -> CrewsGathered:
    """What crews differ by, from outcomes that are all at hand; trials of one content count once."""
    gathered = CrewsGathered()
    for outcome in outcomes:
        gathered.add(outcome)
    for boat in gathered.shared():
        hers = [each for each in outcomes if each.boat.casefold() == boat.casefold()]
        gathered.add_boat(hers, quantities)
    return gathered
