"""A claim held against the trial's own comparison at the same place.

The stated size, as an interval of its rounding, is compared with the trial's simultaneous interval.
Nothing is estimated here: the rows are those of the trial's result.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TypeVar

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.arithmetic import stated_change
from slackwater.analysis.audit.consistency import figures_of, implied_difference
from slackwater.analysis.audit.outcome import Reason
from slackwater.analysis.audit.rounding import ENDLESS, Span, in_unit, span_of
from slackwater.analysis.result.mean import Mean
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.verdicts import Word
from slackwater.protocol.catalogue.recipes import at_a_session, changes_as
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.units.quantity import QuantityError, convert, parse_any, same_dimension

Placed = TypeVar("Placed", Compared, Mean)


@dataclass(frozen=True, slots=True)
class Held:
    """A claim held against the data.

    Attributes
    ----------
    verdict : str
        One of upheld, overstated, understated, within noise, contradicted, untestable.
    message : str
        Why, in a sentence.
    row : Compared or None
        The comparison that decides, on the claim's own scale.
    mean : Mean or None
        The mean that a stated value was held against.
    stated : Span or None
        The stated change on the scale of the row.
    note : str
        How the row was got, where it is not simply the trial's own.
    """

    verdict: str
    message: str
    row: Compared | None = None
    mean: Mean | None = None
    stated: Span | None = None
    note: str = ""

    def reason(self) -> Reason:
        """The check as a reason."""
        return Reason("against-data", self.verdict, sentence(self.message))


def sentence(text: str) -> str:
    """The text as a sentence."""
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def hold(claim: Claim, comparisons: Sequence[Compared], rounding: str = "nearest") -> Held:
    """Hold a claim against a trial's comparisons.

    Parameters
    ----------
    claim : Claim
        With a change, a difference or two values stated.
    comparisons : sequence of rows
        Of the result's table of comparisons, whole.
    rounding : str
        "nearest" or "down".
    """
    rows, note = _rows_of(claim, comparisons)
    if isinstance(rows, str):
        return Held("untestable", rows)
    change = claim.stated.change or claim.stated.difference
    bound = "" if change is None else change.bound
    if len(rows) > 1 and bound == "up to":
        rows = [_furthest(rows, change)] if any(r.change is not None for r in rows) else rows[:1]
        note = f"held against {rows[0].at}, where the change is largest" + (
            f"; {note}" if note else ""
        )
    held = [verdict_on(claim, row, rounding) for row in rows]
    if len(held) == 1:
        return replace(held[0], note=note)
    return _whole_sweep(held, note)


def _rows_of(claim: Claim, comparisons: Sequence[Compared]) -> tuple[list[Compared] | str, str]:
    """The rows that a claim speaks of, or why there is none."""
    pair = [r for r in comparisons if (r.baseline, r.modified) == (claim.baseline, claim.modified)]
    if not pair:
        return f"the trial does not compare {claim.modified} with {claim.baseline}", ""
    rows, note = [r for r in pair if r.quantity == claim.quantity], ""
    other, power = changes_as(claim.quantity)
    if not _here(rows, claim) and other != claim.quantity and not at_a_session(claim.quantity):
        turned = power < 0
        rows = [r for r in pair if r.quantity == other]
        title = claim.quantity.replace("_", " ")
        note = f"the {title} changes as the {other} does, whose comparison was taken"
        note += " and turned over" if turned else ""
        rows = [_turned(r) for r in rows] if turned else rows
    if not rows:
        return f"the trial gives no {claim.quantity.replace('_', ' ')}", ""
    found = _here(rows, claim)
    if not found:
        places = ", ".join(dict.fromkeys(str(r.at) for r in rows))
        return f"the trial has nothing at {claim.at}; it compares at {places}", ""
    return found, note


def _here(rows: Sequence[Placed], claim: Claim) -> list[Placed]:
    if claim.at is not None:
        return [r for r in rows if _same_place(r.at, claim)]
    if len(rows) < 2:
        return list(rows)
    # Without a place the whole sweep is meant: the rows of the set points, not those at equal speed.
    first = _unit(rows[0].at)
    return [r for r in rows if _unit(r.at) == first]


def _unit(at: object) -> str:
    try:
        return parse_any(str(at)).unit
    except QuantityError:
        return ""


def _same_place(at: object, claim: Claim) -> bool:
    if claim.at is None:
        return False
    try:
        place = parse_any(str(at))
        if not same_dimension(place.unit, claim.at.unit):
            return False
        value = convert(claim.at.value, claim.at.unit, place.unit)
    except QuantityError:
        return False
    return abs(value - place.value) <= 1e-6 * max(abs(value), 1e-9)


def _turned(row: Compared) -> Compared:
    """The comparison of the inverse of a quantity: exact on the scale of ratios."""

    def inverse(value: float | None) -> float | None:
        return None if value is None else 1 / (1 + value) - 1

    words = {"more": "less", "less": "more"}
    return replace(
        row,
        change=inverse(row.change),
        low=inverse(row.high),
        high=inverse(row.low),
        better=words.get(row.better or "", row.better),
        baseline_mean=None,
        modified_mean=None,
    )


def _furthest(rows: Sequence[Compared], change: Figure | None) -> Compared:
    sign = -1 if change is not None and change.high < 0 else 1
    return max((r for r in rows if r.change is not None), key=lambda r: sign * (r.change or 0.0))


def stated_on(claim: Claim, row: Compared, rounding: str = "nearest") -> Span | None:
    """The change that a claim states, on the scale of a row: a fraction, or a difference.

    "Up to" is taken for the size that it names: that somewhere the change comes to this.
    """
    plain = _without_up_to(claim)
    figures = figures_of(plain, rounding)
    spans = figures.spans()
    hundred = Span(Decimal(100), Decimal(100))
    base = row.baseline_mean
    if row.scale == "difference":
        unit = row.unit or "1"
        own = spans.get("difference") or implied_difference(spans)
        if own is not None:
            return in_unit(own, figures.unit, unit)
        change = stated_change(plain, rounding)
        if change is None or base is None:
            return None
        level = Decimal(repr(base))
        return change / hundred * Span(level, level)
    change = stated_change(plain, rounding)
    if change is not None:
        return change / hundred if abs(change.high) < ENDLESS else Span(change.low / 100, ENDLESS)
    difference = spans.get("difference")
    if difference is None or base is None:
        return None
    level = Decimal(repr(convert(base, row.unit, figures.unit)))
    return difference / Span(level, level)


def _without_up_to(claim: Claim) -> Claim:
    changed = {
        name: replace(figure, bound="")
        for name, figure in claim.stated.figures.items()
        if figure.bound == "up to"
    }
    if not changed:
        return claim
    return claim.model_copy(update={"stated": claim.stated.model_copy(update=changed)})


def verdict_on(claim: Claim, row: Compared, rounding: str = "nearest") -> Held:
    """The verdict on a claim from one comparison of the trial."""
    if row.verdict is Word.UNTESTABLE or row.low is None or row.high is None or row.change is None:
        return Held("untestable", f"the trial gives no verdict here: {row.reason}", row)
    stated = stated_on(claim, row, rounding)
    if stated is None:
        return Held("untestable", "the claim states no change that could be tested", row)
    unit = "" if row.scale == "ratio" else (row.unit or "1")
    found = Span(Decimal(repr(row.low)), Decimal(repr(row.high)))
    verdict, words = judge_stated(stated, found, row.change, row.verdict)
    interval = shown.interval(row.low, row.high, unit)
    message = words.format(
        stated=_stated_words(stated, unit),
        change=shown.change(row.change, unit),
        interval=interval,
        at=row.at,
    )
    return Held(verdict, message, row, stated=stated)


def judge_stated(stated: Span, found: Span, change: float, row_verdict: Word) -> tuple[str, str]:
    """The verdict and its sentence, with places for the figures.

    Parameters
    ----------
    stated : Span
        The stated change with its rounding.
    found : Span
        The trial's interval, on the same scale.
    change : float
        The trial's estimate.
    row_verdict : Word
        The verdict of the trial's own comparison.
    """
    established = row_verdict.established
    if stated.low <= 0 <= stated.high:
        return _no_difference(established, row_verdict)
    sign = 1 if stated.middle > 0 else -1
    if not established:
        tail = (
            "the stated {stated} lies within that, and so does none at all"
            if stated.meets(found)
            else "that does not reach the stated {stated}"
        )
        return "within noise", (
            "the trial cannot tell the difference from noise: {change}, interval {interval}; "
            + tail
        )
    if change * sign < 0:
        return "contradicted", (
            "the trial shows the opposite: {change}, interval {interval}, where {stated} is stated"
        )
    if stated.meets(found):
        inside = found.low <= stated.low and stated.high <= found.high
        where = "lies within it" if inside else "reaches into it"
        return "upheld", (
            "the trial shows {change}, interval {interval}; the stated {stated} " + where
        )
    beyond = stated.low > found.high if sign > 0 else stated.high < found.low
    if beyond:
        return "overstated", (
            "the difference is real, but smaller than stated: {change}, interval {interval}, where "
            "{stated} is stated"
        )
    return "understated", (
        "the difference is real, and larger than stated: {change}, interval {interval}, where "
        "{stated} is stated"
    )


def _no_difference(established: bool, row_verdict: Word) -> tuple[str, str]:
    if established:
        return "contradicted", (
            "no difference is stated, and the trial shows one: {change}, interval {interval}"
        )
    if row_verdict is Word.EQUIVALENT:
        return "upheld", (
            "no difference is stated, and the trial shows that any lies inside what matters: "
            "interval {interval}"
        )
    return "within noise", (
        "no difference is stated, and none is told from noise; but one could hide in the interval "
        "{interval}, so that there is none is not shown"
    )


def _stated_words(stated: Span, unit: str) -> str:
    if abs(stated.high) >= ENDLESS:
        return f"at least {shown.change(float(stated.low), unit)}"
    return shown.interval(float(stated.low), float(stated.high), unit)


def _whole_sweep(held: Sequence[Held], note: str) -> Held:
    """A claim that names no set point speaks of all of them: the worst verdict stands."""
    order = ("contradicted", "overstated", "within noise", "untestable", "understated", "upheld")
    counts = {word: [h for h in held if h.verdict == word] for word in order}
    worst = next(word for word in order if counts[word])
    told = "; ".join(
        f"{word} at {', '.join(str(h.row.at) for h in found if h.row is not None)}"
        for word, found in counts.items()
        if found
    )
    decisive = counts[worst][0]
    message = f"the claim names no set point, so it speaks of all {len(held)}: {told}"
    return Held(worst, message, decisive.row, stated=decisive.stated, note=note)


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
    figure = claim.stated.figures[side]
    name = getattr(claim, side)
    at = claim.at_modified if side == "modified" and claim.at_modified is not None else claim.at
    placed = claim.model_copy(update={"at": at})
    rows = [r for r in set_points if (r.configuration, r.quantity) == (name, claim.quantity)]
    here = _here(rows, placed)
    if len(here) != 1:
        return Held("untestable", f"the trial has no {claim.quantity} of {name} at this place")
    row = here[0]
    unit = row.unit or "1"
    own = replace(figure, bound="") if figure.bound == "up to" else figure
    stated = span_of(own, unit, rounding=rounding)
    if row.low is None or row.high is None or row.sessions < 2:
        message = f"the trial has one session with {name}, whose noise is not known"
        return Held("untestable", message, mean=row, stated=stated)
    found = Span(Decimal(repr(row.low)), Decimal(repr(row.high)))
    back = in_unit(found, unit, figure.unit)
    mean = shown.number(Decimal(repr(convert(row.mean, unit, figure.unit))))
    gives = f"{shown.span(back, figure.unit)} (mean {mean}, {row.sessions} sessions)"
    words = f"the {side} '{figure}' stands beside {gives} in the trial"
    if stated.meets(found):
        return Held("upheld", words, mean=row, stated=stated)
    above = stated.low > found.high
    return Held("overstated" if above else "understated", words, mean=row, stated=stated)
