"""Verdicts with the runs that are in doubt, and without them.

A run in doubt is not dropped: at the set points that it belongs to the verdict is the one that all
runs give, with all the noise that it brings. The other set points are judged by what is left
without it, so that they do not inherit that noise. Both verdicts are told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.checking.run_rules._doubts import Doubt
from slackwater.analysis.intake.run_table import RunTable
from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.judgement import Judged
from slackwater.analysis.wording.numbers import change_scale, fixed, with_unit

REASON = "in doubt"
OWN = 0.2  # of the largest shift that taking the runs out makes, from which a position is their own
LEAST = 1e-6  # shift that counts at all, on the scale of the analysis
TOLD = 3  # verdicts that turn, told one by one


def without(runs: RunTable, doubts: Sequence[Doubt]) -> RunTable:
    """The table with all runs in doubt set aside."""
    rows = frozenset[int]().union(*(doubt.rows for doubt in doubts))
    columns = runs.columns
    aside = [
        REASON if row in rows and not reason else reason
        for row, reason in zip(columns["row"], columns["set_aside"], strict=True)
    ]
    return replace(runs, columns={**columns, "set_aside": aside})


def set_apart(whole: Judged, rest: Judged) -> Judged:
    """The comparison whose noise is that of the rest, with the rows of the runs in doubt as they are.

    Parameters
    ----------
    whole, rest : Judged
        With the runs in doubt, and without them.
    """
    own = own_positions(whole.table, rest.table)
    if own is None or own.all() or len(whole.rows) != len(rest.rows):
        return whole
    rows = [
        one if mine else other
        for mine, one, other in zip(own.tolist(), whole.rows, rest.rows, strict=True)
    ]
    return replace(rest, rows=tuple(rows))


def own_positions(whole: SessionValues, rest: SessionValues) -> NDArray[np.bool_] | None:
    """The positions whose session values rest on the runs in doubt; None where sweeps differ."""
    if whole.sessions != rest.sessions or whole.labels != rest.labels:
        return None
    one, other = whole.on_scale(), rest.on_scale()
    lost = np.isfinite(one) != np.isfinite(other)
    shift = np.where(np.isfinite(one) & np.isfinite(other), np.abs(one - other), 0.0)
    most = max(float(shift.max(initial=0.0)), LEAST)
    return np.asarray((lost | (shift > OWN * most)).any(axis=0))


def sentences(
    doubts: Sequence[Doubt], whole: Sequence[Judged], rest: Sequence[Judged]
) -> tuple[str, ...]:
    """What is in doubt, and what it decides: the words that lead the answer."""
    told = [f"In doubt: {doubt.message}." for doubt in doubts[:TOLD]]
    if len(doubts) > TOLD:
        told.append(f"In doubt: {len(doubts) - TOLD} more, see the deviations.")
    told.append(_what_it_decides(whole, rest))
    if all(doubt.copied for doubt in doubts):
        return (*told, "Verdicts below count them.")
    return (*told, "Verdicts below count them at their own set points, and nowhere else.")


def _what_it_decides(whole: Sequence[Judged], rest: Sequence[Judged]) -> str:
    others = {_key(row): row for judged in rest for row in judged.rows}
    pairs = [(row, others.get(_key(row))) for judged in whole for row in judged.rows]
    deciding = [pair for pair in pairs if pair[0].deciding]
    turned = [(one, other) for one, other in pairs if other is None or one.verdict != other.verdict]
    if not turned:
        return "No verdict turns when they are left out."
    first = [pair for pair in deciding if pair in turned] or turned
    words = "; ".join(_turn(one, other) for one, other in first[:TOLD])
    more = len(turned) - min(len(first), TOLD)
    rest_of_them = f"; and {more} more verdicts turn" if more else ""
    return f"What they decide: {words}{rest_of_them}."


def _key(row: Compared) -> tuple[str, str, str, str]:
    return row.baseline, row.modified, row.quantity, row.at


def _turn(one: Compared, other: Compared | None) -> str:
    what = one.quantity.replace("_", " ") + (f" at {one.at}" if one.at else "")
    return f"{what}: {_verdict(one)} with, {_verdict(other)} without"


def _verdict(row: Compared | None) -> str:
    if row is None:
        return "not told"
    if row.change is None or not row.verdict.established:
        return str(row.verdict)
    scale = change_scale(row.scale, row.unit)
    size = with_unit(fixed(scale.of(row.change), 1, signed=True), scale.unit)
    return f"{row.verdict} of {size}"
