"""What all trials of an archive tell of the method: its noise, and what the reference boat did."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from typing import Any, get_args

from slackwater.analysis.many.noise_groups import ForPlans, Kind, NoiseGroup, for_plans, noise_by
from slackwater.analysis.many.outcome import Outcome, outcome_from
from slackwater.analysis.many.reference_boat import (
    ReferenceChart,
    ReferencePrecision,
    SeriesError,
    reference_chart,
    reference_precision,
    series_of,
)
from slackwater.analysis.planning.noise_budget import Budget

#: Figures that a chart is drawn of, where the reference boat's trials have them: what a sea trial is
#: for. Slip and the like say of her speed what it says itself.
CHARTED = ("speed", "fuel_flow", "electric_power", "economy", "distance_per_energy")


@dataclass(frozen=True, slots=True)
class Method:
    """What all trials tell of the method.

    Attributes
    ----------
    plans : ForPlans
        The noise of all trials together, as `plan` and protocols take it, and what it leaves out.
    groups : tuple of NoiseGroup
        The same by class of boat, by sea and by season.
    boat : str
        Title of the reference boat; empty where none is named.
    charts : tuple of ReferenceChart
        One a quantity.
    precision : dict of ReferencePrecision
        By quantity.
    not_told : tuple of str
        What the reference boat's trials do not tell, and why.
    """

    plans: ForPlans
    groups: tuple[NoiseGroup, ...]
    boat: str
    charts: tuple[ReferenceChart, ...]
    precision: dict[str, ReferencePrecision]
    not_told: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """As JSON carries it; None for what cannot be told."""
        plans = self.plans
        return {
            "noise": [
                row
                for kind, name, budgets in self.all_groups()
                for budget in budgets
                for row in _rows(kind, name, budget)
            ],
            "left_out": [{"trial": trial, "why": why} for trial, why in plans.left_out],
            "stand_out": [asdict(each) for each in plans.scatter if each.stands_out],
            "reference_boat": self.boat or None,
            "charts": [each.to_dict() for each in self.charts],
            "precision": [_precision(name, each) for name, each in self.precision.items()],
            "not_told": list(self.not_told),
        }

    def all_groups(self) -> Iterable[tuple[str, str, tuple[Budget, ...]]]:
        """Kind, name and budgets: of all trials first, then of each group."""
        yield "all", "all trials", self.plans.noise.budgets
        for group in self.groups:
            yield group.kind, group.name, group.budgets


def _rows(kind: str, name: str, budget: Budget) -> Iterable[dict[str, Any]]:
    for each in budget.components:
        yield {
            "kind": kind,
            "group": name,
            "quantity": budget.quantity,
            "component": each.name,
            "value": each.value,
            "low": each.low,
            "high": each.high,
            "trials": budget.trials,
            "sessions": budget.sessions,
            "unit": "" if budget.scale == "ratio" else budget.unit,
        }


def _precision(name: str, found: ReferencePrecision) -> dict[str, Any]:
    whole = found.precision
    return {
        "quantity": name,
        "repeatability": whole.repeatability,
        "reproducibility": whole.reproducibility,
        "repeatability_limit": whole.repeatability_limit,
        "reproducibility_limit": whole.reproducibility_limit,
        "occasions": [asdict(each) for each in found.occasions],
        "cochran": found.cochran,
        "cochran_p": found.cochran_p,
        "scatters_most": found.scatters_most,
        "grubbs": found.grubbs,
        "grubbs_p": found.grubbs_p,
        "furthest": found.furthest,
    }


def slim(text: str, boat: str) -> Outcome:
    """An outcome from the store, with no more of it than the method needs: there may be thousands."""
    data = json.loads(text)
    data["changes"] = []
    if str(data["boat"]).casefold() != boat.casefold():
        data["levels"] = []
    return outcome_from(data)


def method_of(outcomes: list[Outcome], boat: str) -> Method:
    """What trials tell of the method.

    Parameters
    ----------
    outcomes : list of Outcome
        What was invented is no evidence beside what was measured, and is left out of the noise there.
    boat : str
        Title of the reference boat, or an empty text.
    """
    measured = any(not each.invented for each in outcomes)

    def counts(outcome: Outcome) -> bool:
        return not (outcome.invented and measured)

    told = [each for each in outcomes if counts(each)]
    plans = for_plans(outcomes, counts)
    invented = {each.trial for each in outcomes if not counts(each)}
    left = tuple(
        (trial, "it is invented, and others were measured" if trial in invented else why)
        for trial, why in plans.left_out
    )
    charts, precision, lacking = _of_reference(told, boat) if boat else ((), {}, ())
    return Method(
        plans=replace(plans, left_out=left),
        groups=tuple(group for kind in get_args(Kind) for group in noise_by(told, kind)),
        boat=boat,
        charts=charts,
        precision=precision,
        not_told=lacking,
    )


def _of_reference(
    outcomes: list[Outcome], boat: str
) -> tuple[tuple[ReferenceChart, ...], dict[str, ReferencePrecision], tuple[str, ...]]:
    charts: list[ReferenceChart] = []
    precision: dict[str, ReferencePrecision] = {}
    lacking: dict[str, None] = {}
    of_her = {
        level.quantity
        for each in outcomes
        if each.boat.casefold() == boat.casefold()
        for level in each.levels
    }
    for quantity in [each for each in CHARTED if each in of_her] or ["speed"]:
        try:
            series = series_of(outcomes, boat, quantity)
        except SeriesError as error:
            lacking[str(error)] = None
            continue
        try:
            charts.append(reference_chart(series))
        except SeriesError as error:
            lacking[f"{quantity.replace('_', ' ')}: {error}"] = None
        try:
            precision[quantity] = reference_precision(series)
        except SeriesError as error:
            lacking[f"{quantity.replace('_', ' ')}: {error}"] = None
    return tuple(charts), precision, tuple(lacking)
