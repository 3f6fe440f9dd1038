"""What all trials of an archive tell of the method: its noise, and what the reference boat did."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any, get_args

from slackwater.analysis.archive.store import Store
from slackwater.analysis.many.crews import CrewNoise, CrewsGathered
from slackwater.analysis.many.noise_groups import (
    OTHER_KIND,
    ForPlans,
    GroupsGathered,
    Kind,
    NoiseGroup,
    PlansGathered,
)
from slackwater.analysis.many.outcome import Outcome, outcome_from
from slackwater.analysis.many.reference_boat import (
    ReferenceChart,
    ReferencePrecision,
    SeriesError,
    no_such_boat,
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
    crews : tuple of CrewNoise
        What crews differ by, on the boats that they share.
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
    crews: tuple[CrewNoise, ...]
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
            "crews": [each.to_dict() for each in self.crews],
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
    return {
        "quantity": name,
        **found.to_dict(),
        "occasions": [asdict(each) for each in found.occasions],
    }


def outcome_to_chart(text: str) -> Outcome:
    """An outcome from the store, with no more of it than charts need: there may be hundreds."""
    data = json.loads(text)
    data["changes"], data["noise"] = [], []
    data["levels"] = [each for each in data["levels"] if each["quantity"] in CHARTED]
    return outcome_from(data)


def method_of(store: Store, setting: str, boat: str) -> Method:
    """What trials tell of the method.

    Parameters
    ----------
    store : Store
        Its trials are taken in one by one, so that memory does not grow with their number. What was
        invented is no evidence beside what was measured, and is left out of the noise there.
    setting : str
        By name; empty for trials as declared.
    boat : str
        Title of the reference boat, or an empty text.
    """
    measured = store.any_measured(setting)

    def counts(outcome: Outcome) -> bool:
        return not (outcome.invented and measured)

    plans = PlansGathered(counts)
    groups = [GroupsGathered(kind) for kind in get_args(Kind)]
    crews = CrewsGathered()
    for text in store.outcomes(setting):
        outcome = outcome_from({**json.loads(text), "changes": [], "levels": []})
        plans.add(outcome)
        if counts(outcome):
            crews.add(outcome)
            for each in groups:
                each.add(outcome)
    found = plans.found(standing_out=True)

    def those_of(title: str) -> list[Outcome]:
        told = (outcome_to_chart(text) for text in store.outcomes_of(setting, title))
        return [each for each in told if counts(each)]

    for shared in crews.shared():
        crews.add_boat(those_of(shared), CHARTED)
    charts, precision, lacking = _of_reference(those_of(boat) if boat else [], boat, crews.boats)
    return Method(
        plans=replace(found, left_out=tuple(_left_out(found.left_out))),
        groups=tuple(group for each in groups for group in each.groups()),
        crews=crews.found(),
        boat=boat,
        charts=charts,
        precision=precision,
        not_told=(*lacking, *crews.confounded()),
    )


def _left_out(left: Iterable[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    for trial, why in left:
        yield trial, "it is invented, and others were measured" if why == OTHER_KIND else why


def _of_reference(
    outcomes: list[Outcome], boat: str, boats: Iterable[str]
) -> tuple[tuple[ReferenceChart, ...], dict[str, ReferencePrecision], tuple[str, ...]]:
    if not outcomes:
        return (), {}, (no_such_boat(boat, boats),) if boat else ()
    charts: list[ReferenceChart] = []
    precision: dict[str, ReferencePrecision] = {}
    lacking: dict[str, None] = {}
    of_her = {level.quantity for each in outcomes for level in each.levels}
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
