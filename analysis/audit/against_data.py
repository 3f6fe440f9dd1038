"""A claim held against the trial's own comparison at the same place.

Nothing is estimated here: the rows are those of the trial's result. Which rows a claim speaks of is
found in `claimed_places`, and what a verdict takes is in `verdict_rules`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from slackwater.analysis.audit import shown
from slackwater.analysis.audit.arithmetic import stated_change
from slackwater.analysis.audit.claimed_places import Rows, rows_of
from slackwater.analysis.audit.consistency import figures_of, implied_difference
from slackwater.analysis.audit.outcome import Reason
from slackwater.analysis.audit.rounding import Span, bounded, in_unit, scaled
from slackwater.analysis.audit.verdict_rules import ClaimWord, Found, Stated, judge
from slackwater.analysis.result.mean import Mean
from slackwater.analysis.verdict.compared import Compared
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.units.quantity import convert

#: Of several places, the verdict of the worst stands.
WORST_FIRST = (
    ClaimWord.CONTRADICTED,
    ClaimWord.REFUTED,
    ClaimWord.OVERSTATED,
    ClaimWord.WITHIN_NOISE,
    ClaimWord.UNTESTABLE,
    ClaimWord.UNDERSTATED,
    ClaimWord.COMPATIBLE,
    ClaimWord.UPHELD,
)
_BEARS = {
    ClaimWord.UPHELD: "so the runs bear it out",
    ClaimWord.COMPATIBLE: "so {what}, and the {size} stated is one of many that the interval leaves open",
    ClaimWord.UNDERSTATED: "so there is a difference, and it is larger than stated",
    ClaimWord.OVERSTATED: "so there is a difference, but it is smaller than stated",
    ClaimWord.WITHIN_NOISE: "so neither what is stated nor no difference at all is ruled out",
    ClaimWord.REFUTED: "so what is stated is ruled out, and no difference is shown",
    ClaimWord.CONTRADICTED: "so the runs show the opposite of what is stated",
}


@dataclass(frozen=True, slots=True)
class Held:
    """A claim held against the data.

    Attributes
    ----------
    verdict : str
        A word of `ClaimWord`, without inconsistent.
    message : str
        What is claimed, what the data say, and what follows, in a sentence.
    row : Compared or None
        The comparison that decides, on the claim's own scale.
    mean : Mean or None
        The mean that a stated value was held against.
    stated : Span or None
        The stated change on the scale of the row.
    times : float or None
        The size stated over the one measured. [1]
    note : str
        How the row was got, where it is not simply the trial's own.
    """

    verdict: str
    message: str
    row: Compared | None = None
    mean: Mean | None = None
    stated: Span | None = None
    times: float | None = None
    note: str = ""

    def reason(self) -> Reason:
        """The check as a reason."""
        return Reason("against-data", str(self.verdict), sentence(self.message))


def sentence(text: str) -> str:
    """The text as a sentence."""
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def hold(
    claim: Claim,
    comparisons: Sequence[Compared],
    rounding: str = "nearest",
    rows: Rows | None = None,
) -> Held:
    """Hold a claim against a trial's comparisons.

    Parameters
    ----------
    claim : Claim
        With a change, a difference or two values stated.
    comparisons : sequence of rows
        Of the result's table of comparisons, whole.
    rounding : str
        "nearest" or "down".
    rows : Rows, optional
        Those that the claim speaks of, where they are none of the table.
    """
    found = rows or rows_of(claim, comparisons)
    if found.missing:
        return Held(ClaimWord.UNTESTABLE, found.missing)
    held = [verdict_on(claim, row, rounding) for row in found.rows]
    if len(held) == 1:
        return replace(held[0], note=found.note)
    return _everywhere(held, found.note)


def stated_on(claim: Claim, row: Compared, rounding: str = "nearest") -> Stated | None:
    """What a claim states of the change, on the scale of a row: a fraction, or a difference.

    "Up to" is taken for the size that it names: that somewhere the change comes to this.
    """
    plain = without_up_to(claim)
    span = _span_on(plain, row, rounding)
    return None if span is None else stated_as(plain, span)


def stated_as(claim: Claim, span: Span) -> Stated:
    """A span of changes with what the claim's words say of it."""
    named = claim.stated.change or claim.stated.difference
    if named is None:
        return Stated(span)
    zero = named.plain and named.low == 0
    return Stated(span, loose=named.about, none=named.none or zero, spread=named.spread)


def _span_on(claim: Claim, row: Compared, rounding: str) -> Span | None:
    figures = figures_of(claim, rounding)
    spans = figures.spans()
    level = None if row.baseline_mean is None else Decimal(repr(row.baseline_mean))
    change = stated_change(claim, rounding)
    if row.scale == "difference":
        own = spans.get("difference") or implied_difference(spans)
        if own is not None:
            return in_unit(own, figures.unit, row.unit or "1")
        return None if change is None or level is None else scaled(change, level / 100)
    if change is not None:
        return scaled(change, Decimal("0.01"))
    difference = spans.get("difference")
    if difference is None or row.baseline_mean is None:
        return None
    base = Decimal(repr(convert(row.baseline_mean, row.unit, figures.unit)))
    return scaled(difference, 1 / base)


def without_up_to(claim: Claim) -> Claim:
    """The claim with "up to" read as the size it names."""
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
    found = Found.of(row)
    if found is None:
        return Held(ClaimWord.UNTESTABLE, f"the trial gives no verdict here: {row.reason}", row)
    stated = stated_on(claim, row, rounding)
    if stated is None:
        message = "the claim states no change that could be tested"
        return Held(ClaimWord.UNTESTABLE, message, row)
    verdict = judge(stated, found)
    unit = "" if row.scale == "ratio" else (row.unit or "1")
    times = _times(stated, found)
    message = (
        f"what is claimed is {_claimed(claim, stated, unit)}; the trial gives "
        f"{shown.change(row.change, unit)}, interval {shown.interval(row.low, row.high, unit)}, "
        + _bears(verdict, stated)
    )
    if times is not None:
        message += f"; stated over measured is {shown.times(times)}"
    return Held(verdict, message, row, stated=stated.span, times=times)


def _claimed(claim: Claim, stated: Stated, unit: str) -> str:
    """What is claimed, as it is printed, and as the comparison has it."""
    figures = claim.stated.figures
    told = ("change", "difference")
    names: list[str] = [n for n in told if n in figures] or list(figures)
    printed = " and ".join(f"'{figures[name]}'" for name in names[:2])
    return f"{printed} ({shown.stated_range(stated.span, unit)})"


def _bears(verdict: ClaimWord, stated: Stated) -> str:
    if verdict is ClaimWord.WITHIN_NOISE and stated.holds_zero:
        return "so more than what is stated is neither shown nor ruled out"
    if verdict is ClaimWord.REFUTED and stated.holds_zero:
        return "so what is stated is ruled out"
    if verdict is ClaimWord.UPHELD and stated.holds_zero:
        return "so the runs rule out anything beyond what is stated"
    what = "a difference is established" if stated.holds_zero else "the direction is established"
    size = "margin" if stated.holds_zero else "size" if bounded(stated.span) else "bound"
    return _BEARS[verdict].format(what=what, size=size)


def _times(stated: Stated, found: Found) -> float | None:
    size = stated.size
    if size is None or found.change == 0:
        return None
    times = float(size / found.change)
    return times if 0 < times < 100 else None


def _everywhere(held: Sequence[Held], note: str) -> Held:
    """A claim for every set point: the worst verdict stands."""
    counts = {word: [h for h in held if h.verdict == word] for word in WORST_FIRST}
    worst = next(word for word in WORST_FIRST if counts[word])
    told = "; ".join(
        f"{word} at {', '.join(str(h.row.at) for h in found if h.row is not None)}"
        for word, found in counts.items()
        if found
    )
    decisive = counts[worst][0]
    message = f"the claim speaks of every set point, {len(held)} in all: {told}; {decisive.message}"
    return Held(
        worst, message, decisive.row, stated=decisive.stated, times=decisive.times, note=note
    )
