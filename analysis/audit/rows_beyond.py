"""Comparisons that a claim speaks of and that are no row of the result: averages, and between set points.

Both take the simultaneous limits that the result has. Those hold at all set points at once, and so for
every average of them and, with what the curves bend, for every place between: a part of the sweep that
was chosen because it looks well gains nothing by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from slackwater.analysis.audit.against_data import stated_on
from slackwater.analysis.audit.claimed_places import Rows, at_its_best, rows_at, rows_of, told_as
from slackwater.analysis.result.bands import band_of
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.decisions import natural
from slackwater.analysis.verdict.judgement import Judged
from slackwater.analysis.verdict.verdicts import Word
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.units.quantity import convert, same_dimension


def rows_for(claim: Claim, comparisons: Sequence[Compared], judged: Sequence[Judged]) -> Rows:
    """What a claim is held against: rows of the result, or what follows from them.

    Parameters
    ----------
    claim : Claim
    comparisons : sequence of Compared
        The result's table, whole.
    judged : sequence of Judged
        What it was made from.
    """
    told = told_as(claim, comparisons)
    if told.missing or claim.at is not None:
        found = rows_of(claim, comparisons)
        if told.missing or not found.missing:
            return found
        return _between(claim, told, judged) or found
    inside = [row for row in rows_at(claim, told.rows) if row.low is not None]
    if len(inside) < 2 or at_its_best(claim) or not _averaged(claim, inside[0]):
        return rows_of(claim, comparisons)
    return _average(claim, told, inside)


def _averaged(claim: Claim, row: Compared) -> bool:
    """Whether a claim for several places speaks of their average, and not of each.

    A size without a word does, for no sweep changes by one size throughout; a bound or a margin
    without a word is one for every place.
    """
    change = claim.stated.change or claim.stated.difference
    word = "" if claim.place is None else claim.place.word
    if word == "average" or (change is not None and change.average):
        return True
    if word == "everywhere":
        return False
    stated = stated_on(claim, row)
    return stated is None or not (stated.holds_zero or (change is not None and change.bound))


def _average(claim: Claim, told: Rows, inside: list[Compared]) -> Rows:
    """The average of some comparisons with the average of their simultaneous limits."""
    first = inside[0]
    ratio = first.scale == "ratio"

    def mean(name: str) -> float:
        values = np.array([getattr(row, name) for row in inside], dtype=float)
        return natural(float(np.mean(np.log1p(values) if ratio else values)), first.scale)

    at = f"{first.at} to {inside[-1].at}"
    row = limits_as_row(first, at, mean("change"), mean("low"), mean("high"))
    unsaid = claim.place is None and not (claim.stated.change and claim.stated.change.average)
    note = "no set point is named, so " if unsaid else ""
    note += f"it is held against the average over {len(inside)} places, {at}"
    return Rows([row], f"{note}; {told.note}" if told.note else note)


def _source(row: Compared, judged: Sequence[Judged]) -> Judged | None:
    """What a row was made in."""
    for one in judged:
        if one.table.quantity == row.quantity and any(
            (r.baseline, r.modified, r.at) == (row.baseline, row.modified, row.at) for r in one.rows
        ):
            return one
    return None


def limits_as_row(like: Compared, at: str, change: float, low: float, high: float) -> Compared:
    """A row with limits of its own; a difference is established where they are clear of zero."""
    clear = low > 0 or high < 0
    word = (Word.HIGHER if change > 0 else Word.LOWER) if clear else Word.WITHIN_NOISE
    return replace(
        like,
        at=at,
        change=change,
        low=low,
        high=high,
        verdict=word,
        position=None,
        baseline_mean=None,
        modified_mean=None,
        p_value=None,
        noise_floor=None,
        worth=None,
        equivalence_p=None,
        no_loss_p=None,
        reason="",
    )


def _between(claim: Claim, told: Rows, judged: Sequence[Judged]) -> Rows | None:
    """The comparison between two set points, from the band; None where the trial has none there."""
    if claim.at is None:
        return None
    for row in told.rows:
        source = _source(row, judged)
        band = None if source is None else band_of(source)
        unit = row.at.rpartition(" ")[2]
        if source is None or band is None or not same_dimension(unit, claim.at.unit):
            continue
        position = convert(claim.at.value, claim.at.unit, unit)
        sides = _neighbours(source, position)
        if sides is None:
            return None
        limits = [
            natural(float(np.interp(position, band.position, values)), row.scale)
            for values in (band.difference, band.low, band.high)
        ]
        found = limits_as_row(row, str(claim.at), *limits)
        note = f"between {sides[0]} and {sides[1]}, from the band that holds along the whole axis"
        return Rows([found], f"{note}; {told.note}" if told.note else note)
    return None


def _neighbours(source: Judged, position: float) -> tuple[str, str] | None:
    """The set points on either side of a place, where both carry a verdict."""
    rows = [row for row in source.rows if row.position is not None]
    below = [row for row in rows if row.position is not None and row.position < position]
    above = [row for row in rows if row.position is not None and row.position > position]
    if not below or not above:
        return None
    pair = below[-1], above[0]
    if any(row.verdict is Word.UNTESTABLE for row in pair):
        return None
    return pair[0].at, pair[1].at
