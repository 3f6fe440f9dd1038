"""A stated value held against the trial's mean at the same place, and what to make of one that is off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.against_data import Held
from slackwater.analysis.audit.claimed_places import here
from slackwater.analysis.audit.rounding import Span, bounded, in_unit, span_of
from slackwater.analysis.audit.slips import other_units, shifted_point, swapped_digits
from slackwater.analysis.audit.verdict_rules import INNER, ClaimWord, within
from slackwater.analysis.result.mean import Mean
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.units.quantity import convert


def hold_value(
    claim: Claim, side: str, set_points: Sequence[Mean], rounding: str = "nearest"
) -> Held:
    """Hold one stated value against the trial's mean at the same place.

    Parameters
    ----------
    claim : Claim
    side : str
        "baseline" or "modified".
    set_points : sequence of rows
        Of the result's table of set points, whole.
    """
    figure, name = claim.stated.figures[side], getattr(claim, side)
    at = claim.at_modified if side == "modified" and claim.at_modified is not None else claim.at
    rows = [r for r in set_points if (r.configuration, r.quantity) == (name, claim.quantity)]
    found = here(rows, at)
    if len(found) != 1:
        message = f"the trial has no {claim.quantity.replace('_', ' ')} of {name} at this place"
        return Held(ClaimWord.UNTESTABLE, message)
    return _against(found[0], figure, side, name, rounding)


def _against(row: Mean, figure: Figure, side: str, name: str, rounding: str) -> Held:
    unit = row.unit or "1"
    own = replace(figure, bound="") if figure.bound == "up to" else figure
    stated = span_of(own, unit, rounding=rounding)
    if row.low is None or row.high is None or row.sessions < 2:
        message = f"the trial has one session with {name}, whose noise is not known"
        return Held(ClaimWord.UNTESTABLE, message, mean=row, stated=stated)
    found = Span(Decimal(repr(row.low)), Decimal(repr(row.high)))
    verdict = _judge(stated, found, Decimal(repr(row.mean)))
    back = in_unit(found, unit, figure.unit)
    mean = shown.number(Decimal(repr(convert(row.mean, unit, figure.unit))))
    gives = f"{shown.span(back, figure.unit)} (mean {mean}, {row.sessions} sessions)"
    message = f"the {side} '{figure}' stands beside {gives} in the trial"
    if verdict in (ClaimWord.OVERSTATED, ClaimWord.UNDERSTATED):
        message += ", outside of its interval" + _slip(own, found, unit, rounding)
    times = float(stated.middle / Decimal(repr(row.mean))) if bounded(stated) and row.mean else None
    return Held(verdict, message, mean=row, stated=stated, times=times)


def _judge(stated: Span, found: Span, mean: Decimal) -> ClaimWord:
    if not stated.meets(found):
        return ClaimWord.OVERSTATED if stated.low > found.high else ClaimWord.UNDERSTATED
    if not bounded(stated):
        return ClaimWord.UPHELD if within(found, stated) else ClaimWord.COMPATIBLE
    inner = Span(mean - (mean - found.low) * INNER, mean + (found.high - mean) * INNER)
    return ClaimWord.UPHELD if stated.meets(inner) else ClaimWord.COMPATIBLE


def _slip(figure: Figure, found: Span, unit: str, rounding: str) -> str:
    """The slip in the figure that would bring it to the runs; empty where none would."""
    for words, readings in (
        ("the unit is another one", other_units(figure)),
        ("the decimal point is one digit off", shifted_point(figure)),
        ("two digits are swapped", swapped_digits(figure)),
    ):
        for read in readings:
            if span_of(read, unit, rounding=rounding).meets(found):
                return f"; it would fit if {words}: {read}"
    return ""
