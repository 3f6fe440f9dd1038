"""Differences to rows of the result: each with its evidence, its verdict and why."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Protocol

import numpy as np

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.decided import Decided
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.decisions import Decisions, natural
from slackwater.analysis.verdict.terms import Terms
from slackwater.analysis.verdict.verdicts import Word, judge
from slackwater.analysis.wording.numbers import (
    NBSP,
    change_scale,
    decimals_for,
    range_text,
    with_unit,
)

#: Half-width of an interval from which "within noise" says nothing any more. [per cent]
WIDEST = 50.0


class Sides(Protocol):
    """What is compared: how a row begins, before there is any verdict.

    `scattering` names what the noise is seen between: sessions, or boats.
    """

    scattering: str

    def untestable(self, p: int, terms: Terms, reason: str) -> Compared:
        """The row at one position, before or without an interval."""

    def missing(self, p: int) -> str:
        """Why there is no difference at a position."""


def rows_of(
    table: SessionValues,
    found: Decided,
    sides: Sides,
    terms: Terms,
    refused: Mapping[int, str],
    holds_only_if: Callable[[int], str] = lambda p: "",
) -> list[Compared]:
    """A row with its verdict for each position.

    Parameters
    ----------
    table : SessionValues
        Of which the differences are.
    found : Decided
        Of one trial, or of several boats.
    sides : Sides
    terms : Terms
    refused : mapping
        Positions on which no verdict may be given, with the reason.
    holds_only_if : callable, optional
        What a verdict at a position rests on besides, to be said after its reason.
    """
    decided = Decisions.of(found, table, terms)
    rows = []
    for p in range(len(table.positions)):
        if not np.isfinite(found.difference[p]):
            rows.append(sides.untestable(p, terms, refused.get(p) or sides.missing(p)))
            continue
        change = natural(float(found.difference[p]), table.scale)
        if p in refused:
            rows.append(replace(sides.untestable(p, terms, refused[p]), change=change))
            continue
        evidence = decided.evidence(p, terms)
        verdict = judge(evidence)
        if verdict.word is Word.WITHIN_NOISE and (
            wide := _too_wide(evidence.low, evidence.high, table, sides.scattering)
        ):
            rows.append(replace(sides.untestable(p, terms, wide), change=change))
            continue
        known = found.known[p] + found.common[p] - table.instrument_variance[p]
        rows.append(
            replace(
                sides.untestable(p, terms, verdict.reason + holds_only_if(p)),
                change=change,
                low=evidence.low,
                high=evidence.high,
                noise_floor=evidence.noise_floor,
                family=int(found.family),
                degrees_of_freedom=float(found.degrees[p]),
                shared_uncertainty=float(np.sqrt(table.instrument_variance[p])) or None,
                curve_uncertainty=float(np.sqrt(np.maximum(known, 0.0))) or None,
                verdict=verdict.word,
                worth=verdict.worth,
                **decided.columns(p),
            )
        )
    return rows


def _too_wide(low: float | None, high: float | None, table: SessionValues, scattering: str) -> str:
    """Why an interval tells nothing; empty where it tells something, or is in no per cent."""
    scale = change_scale(table.scale, table.unit)
    half = scale.width(low, high)
    if half is None or half <= WIDEST or scale.unit not in ("%", "percentage points"):
        return ""
    # Points of what is no fraction, such as a figure between 5 and 15, are no part of a whole.
    level = scale.of(float(np.nanmean(np.abs(table.values))))
    if scale.unit == "percentage points" and level and half <= WIDEST / 100 * level:
        return ""
    ends = range_text(scale.of(low), scale.of(high), decimals_for(half))
    return (
        f"the interval runs from {with_unit(ends, scale.unit)}, wider than ±{WIDEST:g}{NBSP}%: the "
        f"{scattering} scatter so much that they tell nothing of the difference"
    )
