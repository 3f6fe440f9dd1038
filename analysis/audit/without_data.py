"""A claim without data that could test it: what it states, and what noise would make of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.against_data import stated_as, without_up_to
from slackwater.analysis.audit.arithmetic import stated_change
from slackwater.analysis.audit.consistency import (
    ClaimFigures,
    figures_of,
    implied_change,
    implied_difference,
)
from slackwater.analysis.audit.noise_without_data import Budget, budget_of, one_way, reckon
from slackwater.analysis.audit.outcome import Reason
from slackwater.analysis.audit.rounding import Span, bounded, ends_of, scaled
from slackwater.analysis.audit.verdict_rules import Stated
from slackwater.protocol.catalogue.measures import Measure
from slackwater.protocol.claims.claim import Behind, Claim, Claims

if TYPE_CHECKING:
    from slackwater.analysis.audit.with_data import Evidence
    from slackwater.protocol.claims.figure import Figure
    from slackwater.protocol.declared.protocol_parts import PriorNoise

_NOTHING = Behind()


@dataclass(frozen=True, slots=True)
class Unproven:
    """What can be said of a claim from its figures and a noise budget alone.

    Attributes
    ----------
    verdict : str
        "within noise" or "untestable".
    why : str
    reasons : tuple of Reason
    stated_low, stated_high, recomputed, low, high : float or None
        See `ClaimAudit`.
    unit : str
    deviation : float or None
        Standard deviation of the difference, from the budget.
    overrules : bool
        It says more than data that could not be tested.
    """

    verdict: str
    why: str
    reasons: tuple[Reason, ...] = ()
    stated_low: float | None = None
    stated_high: float | None = None
    recomputed: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""
    deviation: float | None = None
    overrules: bool = False


def weigh(
    claims: Claims,
    claim: Claim,
    measure: Measure | None,
    noise: Mapping[str, PriorNoise],
    between: Figure | None,
    evidence: Evidence | None,
) -> Unproven:
    """Weigh a claim without data, or with data that carry no verdict.

    Parameters
    ----------
    claims, claim : Claims, Claim
    measure : Measure or None
        What is known of the quantity.
    noise : mapping
        Noise known, by quantity.
    between : Figure or None
        Noise assumed.
    evidence : Evidence or None
        What the trial behind it says.
    """
    scale = measure.scale if measure is not None else "ratio"
    figures = figures_of(claim, claims.rounding)
    unit = "" if scale == "ratio" else figures.unit
    stated = _stated(claim, scale, claims.rounding)
    if stated is None:
        return Unproven("untestable", _NO_CHANGE, unit=unit)
    low, high = ends_of(stated.span)
    base = Unproven(
        "untestable",
        _MARGIN if stated.size is None else _no_runs(float(stated.size), unit),
        stated_low=low,
        stated_high=high,
        recomputed=_from_values(figures, scale),
        unit=unit,
    )
    if stated.size is None or (evidence is not None and evidence.day is None):
        return base
    change = float(stated.size)
    behind = claims.behind(claim)
    if evidence is not None:
        behind = _NOTHING.model_copy(update={"sessions": max(evidence.sessions or 1, 1)})
        change = evidence.day if evidence.day is not None else change
    budget = budget_of(noise, between, claim.quantity, scale, unit or figures.unit)
    if scale == "ratio" and change <= -1:
        return base
    found = reckon(change, scale, unit, behind, budget)
    reasons = list(found.reasons)
    if evidence is not None:
        reasons = [r for r in reasons if r.check != "vanishing-noise"]
    knots = _knots(claim, figures)
    reasons += one_way(claim, behind, knots)
    drowned = [r for r in reasons if r.outcome == "within noise"]
    if found.verdict or any(r.check == "one-way" for r in drowned):
        return replace(
            base,
            verdict="within noise",
            why=f"The stated difference is no larger than noise would make it. {drowned[-1].message}",
            reasons=tuple(reasons),
            low=found.low,
            high=found.high,
            deviation=_deviation(budget, behind),
            overrules=evidence is not None,
        )
    told = [r.message for r in reasons if r.check in ("noise", "one-way")]
    told = told or [r.message for r in reasons if r.check == "vanishing-noise"]
    return replace(
        base,
        why=" ".join([base.why, *told[-1:]]),
        reasons=tuple(reasons),
        low=found.low,
        high=found.high,
        deviation=_deviation(budget, behind),
    )


_NO_CHANGE = (
    "The claim states no change that noise could be held against, and the runs behind it are not at "
    "hand, so nothing can be tested."
)
_MARGIN = (
    "The claim states that a change stays within a margin. Only the runs behind it could show that, "
    "and they are not at hand, so it cannot be tested; its figures do not contradict each other."
)


def _no_runs(change: float, unit: str) -> str:
    return (
        f"The runs behind the stated {shown.change(change, unit)} are not at hand, so it cannot be "
        "tested; its figures do not contradict each other."
    )


def _from_values(figures: ClaimFigures, scale: str) -> float | None:
    """The change that the two printed values give, as a fraction or a difference."""
    names = ("baseline", "modified")
    if not set(names) <= figures.figures.keys():
        return None
    given = {n: Span(figures.nominal(n), figures.nominal(n)) for n in names}
    if scale == "difference":
        found = implied_difference(given)
        return None if found is None else float(found.middle)
    change = implied_change(replace(figures, change_of="baseline"), given)
    return None if change is None or not bounded(change) else float(change.middle) / 100


def _stated(claim: Claim, scale: str, rounding: str) -> Stated | None:
    """What is stated of the change: a fraction of the baseline, or a difference."""
    plain = without_up_to(claim)
    if scale == "difference":
        spans = figures_of(plain, rounding).spans()
        found = spans.get("difference") or implied_difference(spans)
    else:
        change = stated_change(plain, rounding)
        found = None if change is None else scaled(change, Decimal("0.01"))
    return None if found is None else stated_as(plain, found)


def _knots(claim: Claim, figures: ClaimFigures) -> float | None:
    if figures.unit != "kn":
        return None
    spans = figures.spans()
    found = spans.get("difference")
    if found is None:
        found = implied_difference(spans)
    return None if found is None or not bounded(found) else float(found.middle)


def _deviation(budget: Budget | None, behind: Behind) -> float | None:
    if budget is None or behind.sessions is None:
        return None
    within = budget.within**2 / (behind.double_runs or 1)
    return float((2 / behind.sessions * (budget.high**2 + within)) ** 0.5)
