"""The tables of a pool: the places of a figure, and what each boat showed there."""

from __future__ import annotations

from slackwater.analysis.many.pool_result import PooledPlace, PooledSweep, PoolResult
from slackwater.analysis.report.pool.words import block_of
from slackwater.analysis.report.text_table import Sheet
from slackwater.analysis.report.trial.blocks import Block
from slackwater.analysis.wording.numbers import (
    MISSING,
    decimals_for,
    fixed,
    range_text,
    uncertainty_text,
)


def places(sweep: PooledSweep, *, narrow: bool = False) -> Sheet:
    """A row a place: the mean, the next boat, and, but where it is narrow, how unlike boats are."""
    block, nexts = block_of(sweep), block_of(sweep, of_next=True)
    unit = block.change.unit
    rows = tuple(
        (
            row.at,
            str(len(place.boats)),
            block.change_text(row),
            block.interval_text(row),
            block.floor_text(row),
            str(row.verdict),
            nexts.interval_text(place.next_boat),
            str(place.next_boat.verdict),
            *(() if narrow else (_between(block, place),)),
        )
        for place, row in zip(sweep.places, block.rows, strict=True)
    )
    in_unit = f" [{unit}]" if unit else ""
    headings = (
        "at",
        "boats",
        f"mean{in_unit}",
        "interval",
        "noise floor",
        "verdict",
        "next boat",
        "its verdict",
        *(() if narrow else ("between boats",)),
    )
    figures = frozenset((1, 2, 3, 4, 6) if narrow else (1, 2, 3, 4, 6, 8))
    return Sheet(sweep.title, headings, rows, figures, _note(sweep, narrow))


def _between(block: Block, place: PooledPlace) -> str:
    if place.heterogeneity is None or place.heterogeneity_high is None:
        return MISSING
    size = (
        "0" if place.heterogeneity == 0 else uncertainty_text(block.change.of(place.heterogeneity))
    )
    return f"{size} (≤ {uncertainty_text(block.change.of(place.heterogeneity_high))})"


def _note(sweep: PooledSweep, narrow: bool) -> str:
    told = [place.q_p_value for place in sweep.places if place.q_p_value is not None]
    text = ""
    if not narrow:
        text = "Between boats: standard deviation of their own changes, with its upper 95 % bound. "
    if told:
        text += f"Cochran's Q: p {min(told):.2g}" + (
            f" to {max(told):.2g}" if len(told) > 1 else ""
        )
        text += ", were all boats to change alike."
    return text


def boats(sweep: PooledSweep, *, intervals: bool = True) -> Sheet:
    """A row a boat: what she showed at each place, with the interval of her own trials or without."""
    block = block_of(sweep)
    names = list(dict.fromkeys(each.boat for place in sweep.places for each in place.boats))
    rows = []
    for name in names:
        cells = [name]
        for place in sweep.places:
            mine = next((each for each in place.boats if each.boat == name), None)
            if mine is None:
                cells.append(MISSING)
                continue
            low, high = block.change.of(mine.low) or 0.0, block.change.of(mine.high) or 0.0
            decimals = decimals_for((high - low) / 2)
            value = fixed(block.change.of(mine.change), decimals, signed=True)
            cells.append(f"{value} ({range_text(low, high, decimals)})" if intervals else value)
        rows.append(tuple(cells))
    unit = block.change.unit
    headings = ("boat", *(place.mean.at for place in sweep.places))
    note = f"Changes in {unit}." if unit else ""
    if intervals:
        note += " In brackets the 95 % interval of her own trials, of each place by itself."
    return Sheet(
        f"What each boat showed, {sweep.title}",
        headings,
        tuple(rows),
        frozenset(range(1, len(headings))),
        note,
    )


def trials(result: PoolResult) -> Sheet:
    """A row a trial: what became of it."""
    rows = tuple(
        (each.name, each.boat or MISSING, each.protocol or MISSING, each.state, each.reason)
        for each in result.trials
    )
    return Sheet("Trials", ("trial", "boat", "protocol", "state", "why"), rows)
