"""What the scatter of many trials is made of, by class of boat, sea and season; the noise for a plan.

The sums of squares that each trial keeps (`NoiseSums`) are put together as those of `slackwater noise`
are, group by group. A trial belongs to one group of each kind, or to none where it does not tell.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Literal

from scipy.special import fdtrc

from slackwater.analysis.many.outcome import Outcome
from slackwater.analysis.planning.noise_budget import Budget, budget_of
from slackwater.analysis.planning.noise_result import NoiseResult
from slackwater.analysis.planning.noise_sums import NoiseSums

Kind = Literal["boat", "sea", "season"]

#: Upper ends of the classes of boats by the length of the waterline, or else over all. Common practice. [m]
LENGTHS = ((6.0, "up to 6 m"), (12.0, "6 to 12 m"), (24.0, "12 to 24 m"))
LONGER = "over 24 m"
#: Upper ends of the sea states by significant wave height: WMO Manual on Codes, code table 3700. [m]
SEAS = ((0.1, "0 and 1, up to 0.1 m"), (0.5, "2, 0.1 to 0.5 m"), (1.25, "3, 0.5 to 1.25 m"))
HIGHER = "4 and more, over 1.25 m"
#: Quarters of the year as meteorologists part it; which half of the globe it is nothing tells.
SEASONS = ("December to February", "March to May", "June to August", "September to November")

_UNTOLD = "no configuration was run in two sessions, so that nothing tells how sessions differ"

STANDS_OUT = 0.01  # chance, shared among the trials, below which a trial's scatter is told


@dataclass(frozen=True, slots=True)
class NoiseGroup:
    """The noise of trials of one kind.

    Attributes
    ----------
    kind : str
        "boat", "sea" or "season".
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
class TrialScatter:
    """How a trial's sessions scatter beside those of the others.

    Attributes
    ----------
    trial, quantity : str
    value : float
        Standard deviation between sessions, set points within them included. [fraction or unit]
    times : float
        Over that of all other trials. [1]
    df : float
        [1]
    p_value : float
        Two-sided, for a trial like the others; not yet shared among the trials. [1]
    stands_out : bool
    """

    trial: str
    quantity: str
    value: float
    times: float
    df: float
    p_value: float
    stands_out: bool


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
    months = {int(day[5:7]) % 12 // 3 for day in (outcome.first_day, outcome.last_day) if day}
    return SEASONS[months.pop()] if len(months) == 1 else None


def _class(value: float, ends: Iterable[tuple[float, str]], beyond: str) -> str:
    return next((name for end, name in ends if value <= end), beyond)


def noise_by(outcomes: Sequence[Outcome], kind: Kind) -> list[NoiseGroup]:
    """The noise of each group of trials, in the order of the classes.

    Parameters
    ----------
    outcomes : sequence of Outcome
        Trials of one content count once.
    kind : "boat", "sea" or "season"
    """
    groups: dict[str, list[Outcome]] = {}
    for outcome in _once(outcomes):
        name = group_of(outcome, kind)
        if name is not None:
            groups.setdefault(name, []).append(outcome)
    order = [*(name for _, name in LENGTHS), LONGER, *(name for _, name in SEAS), HIGHER, *SEASONS]
    return [
        NoiseGroup(kind, name, tuple(o.trial for o in groups[name]), tuple(_budgets(groups[name])))
        for name in sorted(groups, key=order.index)
    ]


def _once(outcomes: Sequence[Outcome]) -> list[Outcome]:
    return list({outcome.content: outcome for outcome in reversed(outcomes)}.values())[::-1]


def _budgets(outcomes: Sequence[Outcome]) -> list[Budget]:
    sums: dict[tuple[str, str, str], list[NoiseSums]] = {}
    for outcome in outcomes:
        for one in outcome.noise:
            sums.setdefault((one.quantity, one.scale, one.unit), []).append(one)
    return [budget_of(mine) for mine in sums.values()]


def for_plans(
    outcomes: Sequence[Outcome], fits: Callable[[Outcome], bool] | None = None
) -> ForPlans:
    """The noise of all trials that fit, as a plan or a protocol takes it.

    Parameters
    ----------
    outcomes : sequence of Outcome
    fits : callable, optional
        Which trials are wanted, such as those of one class of boat; all when not given.
    """
    kept: list[Outcome] = []
    left: list[tuple[str, str]] = []
    contents: dict[str, str] = {}
    for outcome in outcomes:
        if fits is not None and not fits(outcome):
            left.append((outcome.trial, "it is of another kind than was asked for"))
        elif outcome.content in contents:
            left.append((outcome.trial, f"its runs are those of {contents[outcome.content]}"))
        elif not any(one.between_df > 0 for one in outcome.noise):
            left.append((outcome.trial, _UNTOLD))
        else:
            kept.append(outcome)
            contents[outcome.content] = outcome.trial
    noise = NoiseResult(tuple(_one_scale(_budgets(kept))), tuple(o.trial for o in kept))
    return ForPlans(noise, tuple(left), tuple(scatter_of_trials(kept)))


def _one_scale(budgets: Sequence[Budget]) -> list[Budget]:
    """One budget a quantity: the unit that most sessions are in."""
    best: dict[str, Budget] = {}
    for budget in budgets:
        known = best.get(budget.quantity)
        if known is None or budget.sessions > known.sessions:
            best[budget.quantity] = budget
    return list(best.values())


def scatter_of_trials(outcomes: Sequence[Outcome]) -> list[TrialScatter]:
    """How each trial scatters beside all others, those that stand out first.

    Notes
    -----
    An F test of each trial's mean square between sessions against that of the others together, the
    chance shared among the trials (Bonferroni). ISO 5725-2 looks for such with Cochran's test, which
    takes equal numbers. Nothing is left out for it: what stands out is to be looked into.
    """
    found: list[TrialScatter] = []
    quantities = dict.fromkeys(
        (one.quantity, one.scale, one.unit) for o in outcomes for one in o.noise
    )
    for key in quantities:
        told = [
            (outcome.trial, one)
            for outcome in outcomes
            for one in outcome.noise
            if (one.quantity, one.scale, one.unit) == key and one.between_df > 0
        ]
        squares = sum(one.between for _, one in told)
        df = sum(one.between_df for _, one in told)
        for name, one in told:
            scatter = _against(name, one, squares - one.between, df - one.between_df, len(told))
            if scatter is not None:
                found.append(scatter)
    return sorted(found, key=lambda each: (not each.stands_out, each.p_value))


def _against(
    name: str, one: NoiseSums, rest: float, rest_df: float, trials: int
) -> TrialScatter | None:
    if rest_df <= 0 or rest <= 0:
        return None
    own = one.between / one.between_df
    ratio = own / (rest / rest_df)
    above = float(fdtrc(one.between_df, rest_df, ratio))
    p = min(2 * min(above, 1 - above), 1.0)
    return TrialScatter(
        trial=name,
        quantity=one.quantity,
        value=sqrt(own / max(one.unit_share, 1.0)),
        times=sqrt(ratio),
        df=one.between_df,
        p_value=p,
        stands_out=p * trials < STANDS_OUT,
    )
