"""How each trial scatters beside all others, gathered one trial at a time."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from math import sqrt

from scipy.special import fdtrc

from slackwater.analysis.many.outcome import Outcome
from slackwater.analysis.planning.noise_sums import NoiseSums

STANDS_OUT = 0.01  # chance, shared among the trials, below which a trial's scatter is told


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


@dataclass(slots=True)
class _OfOne:
    """The trials that tell of one quantity; numbers close together, for there may be thousands."""

    names: list[str] = field(default_factory=list)
    between: array[float] = field(default_factory=lambda: array("d"))
    df: array[float] = field(default_factory=lambda: array("d"))
    unit_share: array[float] = field(default_factory=lambda: array("d"))


class ScatterGathered:
    """What trials scatter, taken in one by one."""

    def __init__(self) -> None:
        self._by_quantity: dict[tuple[str, str, str], _OfOne] = {}

    def add(self, trial: str, noise: Iterable[NoiseSums]) -> None:
        """One trial more."""
        for one in noise:
            mine = self._by_quantity.setdefault((one.quantity, one.scale, one.unit), _OfOne())
            if one.between_df > 0:
                mine.names.append(trial)
                mine.between.append(one.between)
                mine.df.append(one.between_df)
                mine.unit_share.append(one.unit_share)

    def found(self, *, standing_out: bool = False) -> list[TrialScatter]:
        """Every trial beside all others, those that stand out first, or these alone.

        Notes
        -----
        An F test of each trial's mean square between sessions against that of the others together,
        the chance shared among the trials (Bonferroni). ISO 5725-2 looks for such with Cochran's
        test, which takes equal numbers. Nothing is left out for it: what stands out is to be looked
        into.
        """
        told = (
            each
            for (quantity, _, _), mine in self._by_quantity.items()
            for each in _against_others(quantity, mine)
            if each.stands_out or not standing_out
        )
        return sorted(told, key=lambda each: (not each.stands_out, each.p_value))


def scatter_of_trials(outcomes: Iterable[Outcome]) -> list[TrialScatter]:
    """How each trial scatters beside all others, those that stand out first."""
    gathered = ScatterGathered()
    for outcome in outcomes:
        gathered.add(outcome.trial, outcome.noise)
    return gathered.found()


def _against_others(quantity: str, mine: _OfOne) -> Iterator[TrialScatter]:
    squares, freedom = sum(mine.between), sum(mine.df)
    for name, between, df, share in zip(
        mine.names, mine.between, mine.df, mine.unit_share, strict=True
    ):
        rest, rest_df = squares - between, freedom - df
        if rest_df <= 0 or rest <= 0:
            continue
        own = between / df
        ratio = own / (rest / rest_df)
        above = float(fdtrc(df, rest_df, ratio))
        p = min(2 * min(above, 1 - above), 1.0)
        yield TrialScatter(
            trial=name,
            quantity=quantity,
            value=sqrt(own / max(share, 1.0)),
            times=sqrt(ratio),
            df=df,
            p_value=p,
            stands_out=p * len(mine.names) < STANDS_OUT,
        )
