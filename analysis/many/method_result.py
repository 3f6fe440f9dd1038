"""How good a method is, as an answer: noise by group, the reference boat, the noise for a plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from slackwater.analysis.many.crews import CrewNoise, crews_of
from slackwater.analysis.many.noise_groups import ForPlans, Kind, NoiseGroup, for_plans, noise_by
from slackwater.analysis.many.outcome import Outcome
from slackwater.analysis.many.reference_boat import (
    ReferenceChart,
    ReferencePrecision,
    Series,
    SeriesError,
    reference_chart,
    reference_precision,
    series_of,
)
from slackwater.analysis.planning.noise_budget import BETWEEN
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.analysis.wording.words import count_of

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, repr=False, kw_only=True)
class MethodResult(Answer):
    """How good a method is, by the outcomes of many trials.

    Attributes
    ----------
    trials : tuple of str
    by : str or None
        What the groups are by: "boat", "sea", "season" or "crew".
    groups : tuple of NoiseGroup
    ungrouped : tuple of str
        Trials that do not tell which group they belong to.
    chart : ReferenceChart or None
    precision : ReferencePrecision or None
    plans : ForPlans
    crews : tuple of CrewNoise
        What crews differ by, where boats are shared and that is asked.
    remarks : tuple of str
        What could not be told, and why.
    """

    kind: ClassVar[str] = "method"
    trials: tuple[str, ...]
    by: str | None
    groups: tuple[NoiseGroup, ...]
    ungrouped: tuple[str, ...]
    chart: ReferenceChart | None
    precision: ReferencePrecision | None
    plans: ForPlans
    crews: tuple[CrewNoise, ...]
    remarks: tuple[str, ...]

    @property
    def table(self) -> pd.DataFrame:
        """A row for each group and quantity: what sessions differ by."""
        import pandas as pd

        return pd.DataFrame(self.to_dict()["groups"])

    @property
    def summary(self) -> str:
        """How much there is."""
        return f"{count_of(len(self.trials), 'trial')}, {count_of(len(self.groups), 'group')}"

    def to_dict(self) -> dict[str, Any]:
        """As JSON carries it; standard deviations as fractions, or in the unit."""
        return {
            **head(),
            "trials": list(self.trials),
            "by": self.by,
            "groups": [row for group in self.groups for row in _group_rows(group)],
            "ungrouped": list(self.ungrouped),
            "reference": None if self.chart is None else self.chart.to_dict(),
            "precision": None if self.precision is None else _precision(self.precision),
            "crews": [each.to_dict() for each in self.crews],
            "left_out": [{"trial": name, "why": why} for name, why in self.plans.left_out],
            "scatter": [asdict(each) for each in self.plans.scatter],
            "remarks": list(self.remarks),
        }


def method_of(
    outcomes: Sequence[Outcome],
    by: Kind | None = None,
    reference: str | None = None,
    quantity: str = "speed",
) -> MethodResult:
    """How good a method is.

    Parameters
    ----------
    outcomes : sequence of Outcome
    by : "boat", "sea", "season" or "crew", optional
        What noise is grouped by.
    reference : str, optional
        Title of the reference boat.
    quantity : str
        That the reference boat is watched in.
    """
    groups = () if by is None else tuple(noise_by(outcomes, by))
    grouped = {name for group in groups for name in group.trials}
    plans = for_plans(outcomes)
    twice = {name for name, _ in plans.left_out}
    ungrouped = [o.trial for o in outcomes if o.trial not in grouped | twice]
    chart: ReferenceChart | None = None
    precision: ReferencePrecision | None = None
    remarks: list[str] = []
    if reference is not None:
        try:
            series = series_of(outcomes, reference, quantity)
            remarks += [f"{name} is left out: {why}" for name, why in series.left_out]
            chart, precision = _both(series, remarks)
        except SeriesError as error:
            remarks.append(str(error))
    crews: tuple[CrewNoise, ...] = ()
    if by == "crew":
        gathered = crews_of(outcomes, dict.fromkeys(("speed", quantity)))
        crews = gathered.found()
        remarks += gathered.confounded()
    return MethodResult(
        trials=tuple(o.trial for o in outcomes),
        by=by,
        groups=groups,
        ungrouped=tuple(ungrouped) if by is not None else (),
        chart=chart,
        precision=precision,
        plans=plans,
        crews=crews,
        remarks=tuple(remarks),
    )


def _both(
    series: Series, remarks: list[str]
) -> tuple[ReferenceChart | None, ReferencePrecision | None]:
    """Chart and precision, each where there is enough; why not, else."""
    chart = precision = None
    try:
        chart = reference_chart(series)
    except SeriesError as error:
        remarks.append(f"no control chart: {error}")
    try:
        precision = reference_precision(series)
    except SeriesError as error:
        remarks.append(f"no repeatability and reproducibility: {error}")
    return chart, precision


def _group_rows(group: NoiseGroup) -> list[dict[str, Any]]:
    return [
        {
            "group": group.name,
            "trials": len(group.trials),
            "sessions": budget.sessions,
            "quantity": budget.quantity,
            "unit": budget.unit,
            "component": each.name,
            "value": each.value,
            "low": each.low,
            "high": each.high,
            "degrees_of_freedom": each.df,
        }
        for budget in group.budgets
        for each in budget.components
    ]


def between_of(group: NoiseGroup, quantity: str) -> tuple[float, float | None, float | None] | None:
    """What sessions of a group differ by, with its interval; None where nothing tells."""
    for budget in group.budgets:
        found = budget.component(BETWEEN)
        if budget.quantity == quantity and found.value is not None:
            return found.value, found.low, found.high
    return None


def _precision(found: ReferencePrecision) -> dict[str, Any]:
    return found.to_dict() | {"trials": [asdict(each) for each in found.occasions]}
