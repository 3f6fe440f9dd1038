"""What the scatter of many trials is made of, by class of boat, sea and season; the noise for a plan.

The sums of squares that each trial keeps (`NoiseSums`) are put together as those of `slackwater noise`
are, group by group. A trial belongs to one group of each kind, or to none where it does not tell.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from slackwater.analysis.many.outcome import Outcome
from slackwater.analysis.many.trial_scatter import ScatterGathered, TrialScatter
from slackwater.analysis.planning.noise_budget import Budget, budget_from
from slackwater.analysis.planning.noise_result import NoiseResult
from slackwater.analysis.planning.noise_sums import NoiseSums
from slackwater.analysis.planning.noise_totals import NoiseTotals

Kind = Literal["boat", "sea", "season", "crew"]
_Totals = dict[tuple[str, str, str], NoiseTotals]  # by quantity, scale and unit

#: Upper ends of the classes of boats by the length of the waterline, or else over all. Common practice. [m]
LENGTHS = ((6.0, "up to 6 m"), (12.0, "6 to 12 m"), (24.0, "12 to 24 m"))
LONGER = "over 24 m"
#: Upper ends of the sea states by significant wave height: WMO Manual on Codes, code table 3700. [m]
SEAS = ((0.1, "0 and 1, up to 0.1 m"), (0.5, "2, 0.1 to 0.5 m"), (1.25, "3, 0.5 to 1.25 m"))
HIGHER = "4 and more, over 1.25 m"
#: Quarters of the year as meteorologists part it; which half of the globe it is nothing tells.
SEASONS = ("December to February", "March to May", "June to August", "September to November")

_ORDER = [*(name for _, name in LENGTHS), LONGER, *(name for _, name in SEAS), HIGHER, *SEASONS]

OTHER_KIND = "it is of another kind than was asked for"
_UNTOLD = "no configuration was run in two sessions, so that nothing tells how sessions differ"


@dataclass(frozen=True, slots=True)
class NoiseGroup:
    """The noise of trials of one kind.

    Attributes
    ----------
    kind : str
        "boat", "sea", "season" or "crew".
    name : str
        Of the group, as in "6 to 12 m".
    trials : tuple of str
    budgets : tuple of Budget
        One a quantity: components with their intervals, repeatability and reproducibility.
    """

    kind: Kind
    name: str
    trials: tuple[str, ...]
    budgets: tuple[Budget, ...]


@dataclass(frozen=True, slots=True)
class ForPlans:
    """The noise that `plan` and protocols take, and what it is not made of.

    Attributes
    ----------
    noise : NoiseResult
        Writes itself as a protocol's block with `report.noise.yaml_block.block`.
    left_out : tuple of (str, str)
        Trials that are no part of it, and why.
    scatter : tuple of TrialScatter
        Of the trials that are, those that stand out first.
    """

    noise: NoiseResult
    left_out: tuple[tuple[str, str], ...]
    scatter: tuple[TrialScatter, ...]


def group_of(outcome: Outcome, kind: Kind) -> str | None:
    """The group that a trial belongs to; None where it does not tell."""
    if kind == "boat":
        length = outcome.waterline_length or outcome.length_overall
        return None if length is None else _class(length, LENGTHS, LONGER)
    if kind == "sea":
        height = outcome.wave_height
        return None if height is None else _class(height, SEAS, HIGHER)
    if kind == "crew":
        return outcome.crews[0] if len(outcome.crews) == 1 else None
    months = {int(day[5:7]) % 12 // 3 for day in (outcome.first_day, outcome.last_day) if day}
    return SEASONS[months.pop()] if len(months) == 1 else None


def _class(value: float, ends: Iterable[tuple[float, str]], beyond: str) -> str:
    return next((name for end, name in ends if value <= end), beyond)


class GroupsGathered:
    """The noise of each group of trials, taken in one by one; a trial's runs count once."""

    def __init__(self, kind: Kind) -> None:
        self._kind: Kind = kind
        self._contents: set[str] = set()
        self._groups: dict[str, tuple[list[str], _Totals]] = {}

    def add(self, outcome: Outcome) -> None:
        """One trial more."""
        if outcome.content in self._contents:
            return
        self._contents.add(outcome.content)
        name = group_of(outcome, self._kind)
        if name is not None:
            trials, totals = self._groups.setdefault(name, ([], {}))
            trials.append(outcome.trial)
            _add(totals, outcome.noise)

    def _place(self, name: str) -> tuple[int, str]:
        """Classes as they are told; crews by name."""
        return (0, name) if self._kind == "crew" else (_ORDER.index(name), "")

    def groups(self) -> list[NoiseGroup]:
        """What was gathered, in the order of the classes."""
        return [
            NoiseGroup(self._kind, name, tuple(trials), tuple(map(budget_from, totals.values())))
            for name in sorted(self._groups, key=self._place)
            for trials, totals in (self._groups[name],)
        ]


def noise_by(outcomes: Iterable[Outcome], kind: Kind) -> list[NoiseGroup]:
    """The noise of each group of trials, in the order of the classes.

    Parameters
    ----------
    outcomes : iterable of Outcome
        Trials of one content count once.
    kind : "boat", "sea", "season" or "crew"
    """
    gathered = GroupsGathered(kind)
    for outcome in outcomes:
        gathered.add(outcome)
    return gathered.groups()


def _add(totals: _Totals, noise: Iterable[NoiseSums]) -> None:
    for one in noise:
        key = (one.quantity, one.scale, one.unit)
        if key not in totals:
            totals[key] = NoiseTotals(one.quantity, one.unit, one.scale, one.repeats)
        totals[key].add(one)


class PlansGathered:
    """The noise for plans of all trials that fit, taken in one by one.

    Parameters
    ----------
    fits : callable, optional
        Which trials are wanted; all when not given.
    """

    def __init__(self, fits: Callable[[Outcome], bool] | None = None) -> None:
        self._fits = fits
        self._trials: list[str] = []
        self._left: list[tuple[str, str]] = []
        self._contents: dict[str, str] = {}
        self._totals: _Totals = {}
        self._scatter = ScatterGathered()

    def add(self, outcome: Outcome) -> None:
        """One trial more."""
        why = self._why_not(outcome)
        if why is not None:
            self._left.append((outcome.trial, why))
            return
        self._trials.append(outcome.trial)
        self._contents[outcome.content] = outcome.trial
        _add(self._totals, outcome.noise)
        self._scatter.add(outcome.trial, outcome.noise)

    def _why_not(self, outcome: Outcome) -> str | None:
        if self._fits is not None and not self._fits(outcome):
            return OTHER_KIND
        if outcome.content in self._contents:
            return f"its runs are those of {self._contents[outcome.content]}"
        if not any(one.between_df > 0 for one in outcome.noise):
            return _UNTOLD
        return None

    def found(self, *, standing_out: bool = False) -> ForPlans:
        """What was gathered; of the scatter of single trials all, or what stands out alone."""
        budgets = [budget_from(totals) for totals in self._totals.values()]
        return ForPlans(
            NoiseResult(tuple(_one_scale(budgets)), tuple(self._trials)),
            tuple(self._left),
            tuple(self._scatter.found(standing_out=standing_out)),
        )


def for_plans(
    outcomes: Iterable[Outcome], fits: Callable[[Outcome], bool] | None = None
) -> ForPlans:
    """The noise of all trials that fit, as a plan or a protocol takes it.

    Parameters
    ----------
    outcomes : iterable of Outcome
    fits : callable, optional
        Which trials are wanted, such as those of one class of boat; all when not given.
    """
    gathered = PlansGathered(fits)
    for outcome in outcomes:
        gathered.add(outcome)
    return gathered.found()


def _one_scale(budgets: Sequence[Budget]) -> list[Budget]:
    """One budget a quantity: the unit that most sessions are in."""
    best: dict[str, Budget] = {}
    for budget in budgets:
        known = best.get(budget.quantity)
        if known is None or budget.sessions > known.sessions:
            best[budget.quantity] = budget
    return list(best.values())
